// Command server is Dampstone's binary: it serves the application and keeps
// the ledger.
//
//	server -demo            serve invented data, kept in a folder that is removed at the end
//	server -data FOLDER     serve the ledgers in FOLDER
//	server help             explain the other commands
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
	case errors.Is(err, errUsage):
		os.Exit(2)
	default:
		fmt.Fprintln(os.Stderr, "dampstone:", err)
		os.Exit(1)
	}
}

// errUsage says that the command line was wrong and has been explained.
var errUsage = errors.New("usage")

func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
	if len(args) > 0 {
		if c, ok := commandNamed(args[0]); ok {
			return c.do(ctx, args[1:], in, out, errs)
		}
	}
	return serveCommand(ctx, args, slog.New(slog.NewTextHandler(errs, nil)), errs)
}
