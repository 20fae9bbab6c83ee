package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"

	"dampstone/server/boltstore"
)

// repairCommand salvages a damaged ledger. It needs no server and changes
// neither the file nor the folder.
func repairCommand(ctx context.Context, args []string, _ io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("repair", flag.ContinueOnError)
	flags.SetOutput(errs)
	flags.Usage = func() {
		fmt.Fprintln(errs, "usage: server repair FILE NEW")
		fmt.Fprintln(errs, "FILE is a damaged ledger, such as journal.bolt or one in ledgers/; NEW must not be there yet. FILE is only read.")
	}
	if err := parse(flags, args, 2); err != nil {
		return err
	}
	from, to := flags.Arg(0), flags.Arg(1)
	got, err := boltstore.Salvage(ctx, from, to)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no file %s", from)
	case errors.Is(err, boltstore.ErrNotOurs):
		return fmt.Errorf("nothing of a Dampstone ledger was found in %s", from)
	case err != nil:
		return err
	}
	fmt.Fprintf(out, "%s holds %d entries.\n", to, got.Entries)
	if got.Missing > 0 {
		fmt.Fprintf(out, "At least %d are missing. Phones that have them offer them again at their next exchange.\n", got.Missing)
	}
	if got.Differ > 0 {
		fmt.Fprintf(out, "Of %d there were copies that differ; the one found most often was taken.\n", got.Differ)
	}
	if !got.Named {
		fmt.Fprintln(out, "Which journal it was could not be read: phones will ask before they go on with it.")
	}
	_, err = fmt.Fprintln(out, "To use it, stop the server, keep the damaged file elsewhere, and put the new one in its place under its name.")
	return err
}
