// Package e2e tries the real program: the built binary as a process of its
// own, and a real browser as the phone. The tests wait for what a person would
// wait for, never for a time; patience only bounds a failure.
//
//	go test ./e2e                                   everything, some minutes
//	go test -short ./e2e                            only what needs no browser
//	go test ./e2e -run TestLayout -shots FOLDER     also keep pictures of the screens
//	go test ./e2e -run '^$' -bench . -benchtime 1x  sizes and times
package e2e
