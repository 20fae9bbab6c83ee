package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"runtime"
	"runtime/debug"
	"slices"
	"text/tabwriter"

	"dampstone/static"
)

// subcommand is what a first word on the command line does.
type subcommand struct {
	name, args, does string
	do               func(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error
}

// commands lists them in the order in which they are explained. It is a
// function because help is one of them.
func commands() []subcommand {
	list := []subcommand{
		{"key", "", "read JSON lines of evidence, write ranked hatches",
			func(_ context.Context, args []string, in io.Reader, out, errs io.Writer) error {
				return keyCommand(args, in, out, errs)
			}},
		{"plan", "", "read a trip as JSON, write its plan",
			func(_ context.Context, args []string, in io.Reader, out, errs io.Writer) error {
				return planCommand(args, in, out, errs)
			}},
	}
	for _, k := range keeping {
		list = append(list, subcommand{k.name, k.args, k.does, func(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
			return keepCommand(ctx, k, args, in, out, errs)
		}})
	}
	return append(list,
		subcommand{"repair", "FILE NEW", "write what a damaged ledger file still holds to a new file", repairCommand},
		subcommand{"move", "FROM TO", "bring people and ledgers from a data folder into a database, or back", moveCommand},
		subcommand{"version", "", "say which version this is", versionCommand},
		subcommand{"help", "[COMMAND]", "explain the commands, or one of them", helpCommand})
}

// parse reads the flags of a command that wants so many words after them.
func parse(flags *flag.FlagSet, args []string, want int) error {
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return errUsage
	}
	if flags.NArg() != want {
		flags.Usage()
		return errUsage
	}
	return nil
}

// commandNamed is the command of that name.
func commandNamed(name string) (subcommand, bool) {
	list := commands()
	i := slices.IndexFunc(list, func(c subcommand) bool { return c.name == name })
	if i < 0 {
		return subcommand{}, false
	}
	return list[i], true
}

// commandNames lists the names of all.
func commandNames() (names []string) {
	for _, c := range commands() {
		names = append(names, c.name)
	}
	return names
}

func helpCommand(ctx context.Context, args []string, in io.Reader, out, _ io.Writer) error {
	switch len(args) {
	case 0:
		w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
		fmt.Fprintln(w, "usage: server [FLAGS]           serve; server -h lists the flags")
		fmt.Fprintln(w, "       server COMMAND [FLAGS]")
		fmt.Fprintln(w)
		for _, c := range commands() {
			fmt.Fprintf(w, "  %s %s\t%s\n", c.name, c.args, c.does)
		}
		return w.Flush()
	case 1:
		c, ok := commandNamed(args[0])
		if !ok {
			return fmt.Errorf("there is no command %q; help lists all", args[0])
		}
		if c.name == "help" || c.name == "version" {
			_, err := fmt.Fprintf(out, "usage: server %s %s\n%s\n", c.name, c.args, c.does)
			return err
		}
		fmt.Fprintln(out, c.does)
		if err := c.do(ctx, []string{"-h"}, in, out, out); !errors.Is(err, flag.ErrHelp) {
			return err
		}
		return nil
	}
	return errUsage
}

// releaseName is set by the script that builds releases.
var releaseName string

// versionCommand says what was built, from which state of the source, and with
// what.
func versionCommand(_ context.Context, args []string, _ io.Reader, out, errs io.Writer) error {
	if len(args) > 0 {
		fmt.Fprintln(errs, "usage: server version")
		return errUsage
	}
	_, release, err := makeRelease(context.Background(), slog.New(slog.DiscardHandler))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "Dampstone %s\nscreens and engine %s (%s)\n%s %s/%s\n", source(), release.Version(), packing(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}

// packing says how the engine is packed.
func packing() string {
	switch static.Packing() {
	case "best":
		return "packed for a release"
	case "quick":
		return "packed quickly"
	}
	return "no engine"
}

// source names the version: what the release script said, or the state of the
// source as the go command knows it.
func source() string {
	if releaseName != "" {
		return releaseName
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of unknown source"
	}
	name, changed := "from source", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			name = s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", changed"
		}
	}
	return name + changed
}
