package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"dampstone/server/accounts"
	"dampstone/server/admin"
	"dampstone/server/backup"
	"dampstone/server/people"
	"dampstone/server/pgstore"
)

// keeping are the commands over a data folder. They go through the server
// where one has the folder open, and open it themselves otherwise.
var keeping = []keepingCommand{
	{"people", "", "list people and their devices", false, listPeople},
	{"pair", "NAME", "show a link that pairs a device with a person, who is added if new", true, pairDevice},
	{"revoke", "DEVICE", "shut a device out", false, revokeDevice},
	{"purge", "PERSON", "take a person off the server for good, with their ledger", false, purge},
	{"backup", "FILE", "write all ledgers to a file, also while they are served", false, backUp},
	{"restore", "FILE", "merge such a file into the ledgers, likewise", true, restore},
}

type keepingCommand struct {
	name  string
	args  string // what follows the name
	does  string
	makes bool // may make a folder that is not there
	do    func(ctx context.Context, k admin.Keeper, arg string, in io.Reader, out io.Writer) error
}

func keepCommand(ctx context.Context, command keepingCommand, args []string, in io.Reader, out, errs io.Writer) error {
	name := command.name
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	flags.SetOutput(errs)
	folder := flags.String("data", defaultFolder, "folder of the ledgers")
	store := flags.String("store", "", storeUsage)
	flags.Usage = func() {
		fmt.Fprintf(errs, "usage: server %s [-data FOLDER | -store ADDRESS] %s\n", name, command.args)
		flags.PrintDefaults()
	}
	want := 0
	if command.args != "" {
		want = 1
	}
	if err := parse(flags, args, want); err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(errs, &slog.HandlerOptions{Level: slog.LevelWarn}))
	var keeper admin.Keeper
	var end func() error
	var err error
	if *store != "" {
		var h *accounts.Service
		if h, _, err = openStore(ctx, *store, accountsConfig("", nil, "", log)); err == nil {
			keeper, end = h, h.Close
		}
	} else {
		keeper, end, err = openKeeper(ctx, *folder, command.makes, log)
	}
	if err != nil {
		return err
	}
	return errors.Join(command.do(ctx, keeper, flags.Arg(0), in, out), end())
}

// openKeeper is the server that has the folder open, or else the folder.
func openKeeper(ctx context.Context, folder string, makes bool, log *slog.Logger) (k admin.Keeper, end func() error, err error) {
	nothing := func() error { return nil }
	// Only where the folder is locked does a server have it: what else listens
	// at the address that a killed one left behind is somebody else.
	if people.InUse(filepath.Join(folder, accounts.PeopleFile)) {
		if c, err := admin.Dial(ctx, folder); err == nil {
			return c, nothing, nil
		} else if !errors.Is(err, admin.ErrNoServer) {
			return nil, nil, err
		}
	}
	if !makes && !holds(folder, accounts.PeopleFile) && !holds(folder, accounts.JournalFile) {
		return nil, nil, fmt.Errorf("%s holds no ledger of Dampstone; name its folder with -data", folder)
	}
	h, err := accounts.Open(ctx, accountsConfig(folder, nil, "", log))
	if errors.Is(err, people.ErrInUse) {
		return nil, nil, fmt.Errorf("%s is open in another Dampstone that does not answer; stop it and try again", folder)
	}
	if err != nil {
		return nil, nil, explainFolder(folder, err)
	}
	if err := admin.Forget(folder); err != nil {
		log.Warn("remove what a server left behind", "err", err)
	}
	return h, h.Close, nil
}

// openStore opens what is kept in a database: any number of servers and
// commands may use it meanwhile.
func openStore(ctx context.Context, address string, config accounts.Config) (*accounts.Service, *pgstore.Store, error) {
	store, err := pgstore.Open(ctx, address)
	if err != nil {
		return nil, nil, explainStore(err)
	}
	config.Elsewhere = store.Elsewhere()
	h, err := accounts.Open(ctx, config)
	if err != nil {
		return nil, nil, explainStore(errors.Join(err, store.Close()))
	}
	return h, store, nil
}

// storeUsage explains the flag -store.
const storeUsage = "address of a PostgreSQL database that keeps people and ledgers instead of the folder, for several servers at once, such as postgres://dampstone@db1,db2/dampstone?target_session_attrs=read-write; its password is best in a password file"

// explainStore says what to do about a database that cannot be used.
func explainStore(err error) error {
	switch {
	case errors.Is(err, pgstore.ErrUnsafe):
		return fmt.Errorf("%w: set it on, or entries that a phone believes to be safe may be gone", err)
	case errors.Is(err, pgstore.ErrNewer), errors.Is(err, people.ErrNewer):
		return fmt.Errorf("%w; use that version", err)
	case errors.Is(err, people.ErrMoving):
		return fmt.Errorf("%w; run the command move again", err)
	}
	return err
}

func holds(folder, file string) bool {
	_, err := os.Stat(filepath.Join(folder, file))
	return err == nil
}

// explainName says what to do about a name that is not right.
func explainName(err error) error {
	switch {
	case errors.Is(err, people.ErrUnknown):
		return fmt.Errorf("%w; the command people lists all", err)
	case errors.Is(err, people.ErrTwo):
		return fmt.Errorf("%w; the command people lists ids, which tell them apart", err)
	case errors.Is(err, people.ErrName):
		return fmt.Errorf("%w; write 1 to %d letters", err, people.MaxName)
	}
	return err
}

func listPeople(ctx context.Context, k admin.Keeper, _ string, _ io.Reader, out io.Writer) error {
	list, err := k.List(ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	for _, l := range list {
		what := ""
		if l.Person.Given != "" && l.Person.Given != l.Person.Name {
			what = ", given the name " + l.Person.Given
		}
		if l.Person.Owner {
			what += " (owner)"
		}
		if l.Person.Shares {
			what += " (shares sightings)"
		}
		size := fmt.Sprintf("%.1f MB", float64(l.Bytes)/(1<<20))
		if l.Used > 0 {
			size += fmt.Sprintf(", %.0f %% of the share", 100*l.Used)
		}
		fmt.Fprintf(w, "%s%s\t%s\t%s\n", l.Person.Name, what, size, l.Person.ID)
		for _, d := range l.Devices {
			at := "paired " + d.Paired.Local().Format("2006-01-02 15:04")
			if !d.Seen.IsZero() {
				at += ", last here " + d.Seen.Format("2006-01-02")
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\n", d.Name, at, d.ID)
		}
	}
	return w.Flush()
}

func pairDevice(ctx context.Context, k admin.Keeper, name string, _ io.Reader, out io.Writer) error {
	inv, err := k.Pair(ctx, name)
	if err != nil {
		return explainName(err)
	}
	if inv.New {
		fmt.Fprintf(out, "%s is new here and gets a ledger of their own.\n", inv.Person)
	}
	return showInvitation(out, inv)
}

// showInvitation shows a link as a picture and as text.
func showInvitation(out io.Writer, inv accounts.Invitation) error {
	until := inv.Until.Local().Format("15:04")
	if inv.Link == "" {
		_, err := fmt.Fprintf(out, "Code for %s: %s\nStart the server, open the address /pair there, and type the code. It works once, until %s.\n", inv.Person, inv.Code, until)
		return err
	}
	picture, err := accounts.QRText(inv.Link)
	if err != nil {
		return fmt.Errorf("draw link: %w", err)
	}
	_, err = fmt.Fprintf(out, "%sPair a device of %s: %s\nThe link works once, until %s. Whoever opens it reads and writes that ledger.\n", picture, inv.Person, inv.Link, until)
	return err
}

func revokeDevice(ctx context.Context, k admin.Keeper, name string, _ io.Reader, out io.Writer) error {
	d, err := k.Revoke(ctx, name)
	if err != nil {
		return explainName(err)
	}
	_, err = fmt.Fprintf(out, "%s is shut out. What it holds stays on it.\n", d.Name)
	return err
}

func purge(ctx context.Context, k admin.Keeper, name string, in io.Reader, out io.Writer) error {
	fmt.Fprintf(out, "This deletes the ledger of %s here for good; what is on their phones stays there. Type the name again to go on: ", name)
	again, _ := bufio.NewReader(in).ReadString('\n')
	if strings.TrimSpace(again) != name {
		return errors.New("nothing was deleted")
	}
	p, err := k.Purge(ctx, name)
	if errors.Is(err, accounts.ErrOwner) {
		return errors.New("the owner of the server cannot be taken off; remove the data folder instead")
	}
	if err != nil {
		return explainName(err)
	}
	_, err = fmt.Fprintf(out, "%s is taken off.\n", p.Name)
	return err
}

// backUp writes beside the file first: a backup that breaks off never takes
// the place of one that is whole. "-" is standard output. A link is followed,
// and what is no file, such as a pipe, is written to as it is. Where ledgers
// are damaged the others are in the file, and it is an error.
func backUp(ctx context.Context, k admin.Keeper, file string, _ io.Reader, out io.Writer) error {
	if file == "-" {
		return k.Backup(ctx, out)
	}
	if target, err := filepath.EvalSymlinks(file); err == nil {
		file = target
	}
	if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(file, os.O_WRONLY, 0)
		if err != nil {
			return fmt.Errorf("back up: %w", err)
		}
		return errors.Join(k.Backup(ctx, f), f.Close())
	}
	f, err := os.CreateTemp(filepath.Dir(file), ".backup-") // mode 0600
	if err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	defer os.Remove(f.Name()) // fails once it has its own name
	err = k.Backup(ctx, f)
	var lacks error
	if errors.Is(err, accounts.ErrPartly) {
		lacks, err = err, nil
	}
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("back up: %w", errors.Join(err, lacks))
	}
	if err := os.Rename(f.Name(), file); err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	info, err := os.Stat(file)
	if err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	if lacks != nil {
		fmt.Fprintf(out, "%s holds the other ledgers, %d bytes.\n", file, info.Size())
		return lacks
	}
	_, err = fmt.Fprintf(out, "%s holds all ledgers, %d bytes. Paired devices are not in it.\n", file, info.Size())
	return err
}

func restore(ctx context.Context, k admin.Keeper, file string, in io.Reader, out io.Writer) error {
	from := in
	if file != "-" {
		f, err := os.Open(file)
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("there is no file %s", file)
		}
		if err != nil {
			return fmt.Errorf("restore: %w", err)
		}
		defer f.Close()
		from = f
	}
	report, err := k.Restore(ctx, from)
	switch {
	case errors.Is(err, backup.ErrNotOurs):
		return fmt.Errorf("%s is not a file of Dampstone; nothing was read", file)
	case errors.Is(err, backup.ErrNewer):
		return fmt.Errorf("%s was written by a newer Dampstone; use that version", file)
	}
	fmt.Fprintf(out, "%d entries were read, %d of them new here.\n", report.Read, report.Added)
	if report.Missing > 0 {
		fmt.Fprintf(out, "The file was cut off: %d entries are missing.\n", report.Missing)
	}
	if report.BadCount > 0 {
		fmt.Fprintf(out, "%d lines cannot be right and were set aside:\n", report.BadCount)
		for _, b := range report.Bad {
			fmt.Fprintf(out, "  line %d %s %s\n", b.Line, b.ID, b.Code)
		}
	}
	return err
}
