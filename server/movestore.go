package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"

	"dampstone/server/boltstore"
	"dampstone/server/move"
	"dampstone/server/people"
)

// moveCommand brings all that is kept at one place to another.
func moveCommand(ctx context.Context, args []string, _ io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("move", flag.ContinueOnError)
	flags.SetOutput(errs)
	flags.Usage = func() {
		fmt.Fprintln(errs, "usage: server move FROM TO")
		fmt.Fprintln(errs, "Each is a data folder or the address of a database, such as postgres://dampstone@db.local/dampstone.")
		fmt.Fprintln(errs, "Stop the servers first. FROM is left as it is; a move that broke off is finished by the same command.")
	}
	if err := parse(flags, args, 2); err != nil {
		return err
	}
	r, err := move.Move(ctx, flags.Arg(0), flags.Arg(1), func(p people.Person, entries int) {
		fmt.Fprintf(out, "%s: %d entries, compared\n", p.Name, entries)
	})
	switch {
	case errors.Is(err, people.ErrInUse), errors.Is(err, move.ErrInUse), errors.Is(err, boltstore.ErrInUse):
		return fmt.Errorf("%w; stop all servers that use either place, and try again", err)
	case errors.Is(err, people.ErrOthers):
		return fmt.Errorf("%w; name a place that is empty", err)
	case errors.Is(err, boltstore.ErrDamaged):
		return fmt.Errorf("%w; mend the file with the command repair, and try again", err)
	case err != nil:
		return err
	}
	_, err = fmt.Fprintf(out, "%d people with %d entries are there, %d of them new. Start the servers over the new place, and keep the old one until all is well.\n", r.People, r.Entries, r.Added)
	return err
}
