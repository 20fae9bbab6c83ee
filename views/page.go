// Package views draws the screens. A component takes a view model shaped like
// its screen: numbers formatted, names in the reader's language. Fixed labels
// come from the message catalogue by id; nothing else is looked up here.
package views

import (
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

//go:generate go tool templ generate

// Page is what every screen needs.
type Page struct {
	T       *catalog.Text
	U       measure.Units
	Title   string
	Section string // "bank", "box", "day", "bench", "trip", "setup": which tab is current
	// Trend tilts the waterline: "dropping", "falling", "steady", "rising" or "".
	Trend string
	// Asset gives the address of a static file.
	Asset func(name string) string
	// PxPerMM is the calibrated size of a millimetre in CSS pixels; 0 if the
	// screen was never calibrated.
	PxPerMM  float64
	Exchange Exchange
	// Shell is set on prerendered documents that the phone's engine fills.
	Shell string
	// NoStore says that nothing can be kept on this device.
	NoStore bool
	// Flash is a sentence about what was just done, "" for none.
	Flash string
	// FlashUnseen keeps it for screen readers, where the screen itself shows
	// what was done and has no room to spare.
	FlashUnseen bool
	// Demo says that the data is invented.
	Demo bool
}

// NominalPxPerMM is the size of a CSS millimetre: 96 px to the inch. On a
// screen it is only nominal, hence the calibration.
const NominalPxPerMM = 96 / 25.4

// Scale is the size of a millimetre in CSS pixels.
func (p Page) Scale() float64 {
	if p.PxPerMM > 0 {
		return p.PxPerMM
	}
	return NominalPxPerMM
}
