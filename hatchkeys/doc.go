// Package hatchkeys holds what is known about hatches and the inference that
// turns what an angler can see into ranked hatches with reasons.
//
// A hatch (a taxon as an angler names it) has forms: a life stage, and a sex
// where it shows. The form is the latent variable and answers are taken as
// independent only given the form:
//
//	P(hatch, form | answers) ~ P(hatch | region, water, date, temperature)
//	                         * P(form | hatch)
//	                         * product of P(answer | form)
//
// Every likelihood carries human error (see observer.go), so no candidate is
// ever at probability zero, and a background candidate, "something this key
// does not hold", competes with the rest.
//
// The package does no I/O and compiles for GOOS=js. Region packs are embedded
// as compiled from the hand-edited files under packs/ (see packfile, compact).
package hatchkeys

//go:generate go run ./build
