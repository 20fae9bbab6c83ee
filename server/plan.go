package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"

	"dampstone/server/app/trip"
	"dampstone/views/catalog"
)

// maxTrip bounds a trip as JSON, in bytes.
const maxTrip = 4 << 20

// planCommand reads a trip as one JSON object and writes its plan as one.
func planCommand(args []string, in io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("plan", flag.ContinueOnError)
	flags.SetOutput(errs)
	flags.Usage = func() {
		fmt.Fprintln(errs, "plan reads a trip as a JSON object, such as")
		fmt.Fprintln(errs, `  {"region":"west-na","from":"2026-08-13","to":"2026-08-15","rods":4,"waters":[{"type":"tailwater"}],"slots":48,`)
		fmt.Fprintln(errs, `   "flies":[{"id":"a","name":"Short stubs","style":"short-wing-stone","hook":8,"length_mm":21,"body":"#a98545","left":3}]}`)
		fmt.Fprintln(errs, "and writes its plan as a JSON object.")
		flags.PrintDefaults()
	}
	lang := flags.String("lang", "en", "language of names and sentences")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return errUsage
	}
	if flags.NArg() > 0 || !slices.Contains(catalog.Languages, *lang) {
		flags.Usage()
		return errUsage
	}
	raw, err := io.ReadAll(io.LimitReader(in, maxTrip+1))
	if err != nil {
		return fmt.Errorf("read trip: %w", err)
	}
	if len(raw) > maxTrip {
		return fmt.Errorf("read trip: more than %d bytes", maxTrip)
	}
	p, err := trip.PlanTrip(raw, *lang)
	if err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(p); err != nil {
		return fmt.Errorf("write plan: %w", err)
	}
	return nil
}
