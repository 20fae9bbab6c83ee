package accounts

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"dampstone/flybox/journal"
	"dampstone/server/boltstore"
	"dampstone/server/people"
)

// Ledger is where one person's journal is kept.
type Ledger interface {
	journal.Store
	// Fresh are those of the entries that the journal does not hold yet.
	Fresh(ctx context.Context, entries []journal.Entry) ([]journal.Entry, error)
	// Last is the number of the newest entry, 0 if there is none.
	Last(ctx context.Context) (uint64, error)
	Len() int        // entries, as far as they are known
	Bytes() int64    // what they take where they are kept, likewise
	Journal() string // random id of the journal
	Close() error
}

// Ledgers is where the ledgers of all people are kept.
type Ledgers interface {
	Open(ctx context.Context, p people.Person) (Ledger, error)
	Remove(ctx context.Context, p people.Person) error
	// Adopt gives the ledger of one person, which is empty, to another.
	Adopt(ctx context.Context, old, p people.Person) error
	Bytes(ctx context.Context, p people.Person) (int64, error)
	Name(p people.Person) string // where it is, to be said in messages
	// Behind are those in whose ledgers may stand what was not looked at for
	// the crew.
	Behind(ctx context.Context) ([]string, error)
	// Today adds n to what a person has written on a day, and says what that
	// comes to.
	Today(ctx context.Context, person, day string, n int) (int, error)
}

// folder keeps each ledger in a file.
type folder struct{ *Service }

// file is a ledger in a file.
type file struct {
	*boltstore.Store
	path string
}

func (f file) Bytes() int64 { return fileSize(f.path) }

func (f folder) Name(p people.Person) string { return LedgerFile(f.Folder, p) }

// LedgerFile is the file of a person's ledger in a data folder.
func LedgerFile(folder string, p people.Person) string {
	if p.Owner {
		return filepath.Join(folder, JournalFile)
	}
	return filepath.Join(folder, ledgersDir, p.ID+".bolt")
}

func (f folder) Open(_ context.Context, p people.Person) (Ledger, error) {
	path := f.Name(p)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("make folder of ledgers: %w", err)
	}
	store, err := f.OpenStore(path)
	if err != nil {
		return nil, err
	}
	return file{store, path}, nil
}

func (f folder) Remove(_ context.Context, p people.Person) error {
	if err := os.Remove(f.Name(p)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// Adopt has nothing to do: the file of the owner is the owner's, whoever that
// is.
func (f folder) Adopt(context.Context, people.Person, people.Person) error { return nil }

func (f folder) Bytes(_ context.Context, p people.Person) (int64, error) {
	return fileSize(f.Name(p)), nil
}

// Behind is the whole crew: a file has to be opened to see.
func (f folder) Behind(context.Context) (ids []string, err error) {
	everybody, err := f.people.People()
	for _, p := range everybody {
		if p.Shares {
			ids = append(ids, p.ID)
		}
	}
	return ids, err
}

// Today is kept in memory: a new start of the server forgets the day.
func (f folder) Today(_ context.Context, person, day string, n int) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.today.add(day, person, n), nil
}

// fileSize is 0 where there is no file.
func fileSize(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return info.Size()
}
