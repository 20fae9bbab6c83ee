// Package pgstore keeps people and ledgers in PostgreSQL, for any number of
// servers at once. Nothing is kept in memory that another server may change.
//
// The tables are in migrations/. A connection is asked for with
// synchronous_commit = on: what was confirmed is on the disk of the primary,
// and on that of a standby where the server has synchronous_standby_names
// (PostgreSQL documentation, section 20.5.1 and 27.2.8, from memory).
package pgstore

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"dampstone/flybox/journal"
	"dampstone/server/accounts"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Errors that callers tell apart, beside journal.ErrFull and ErrReadOnly.
var (
	ErrNewer  = errors.New("database was written by a newer version")
	ErrUnsafe = errors.New("database does not keep what it confirms")
	ErrGone   = errors.New("the ledger was taken away")
)

// patience bounds what is done for no request in particular.
const patience = 30 * time.Second

// Keys of advisory locks, which hold off other servers over the same database.
const (
	lockMigrate  = 0x64616d70_01
	lockRegistry = 0x64616d70_02
)

// Store is a database. It is safe for concurrent use.
type Store struct{ pool *pgxpool.Pool }

// Open connects to the database at an address such as
// postgres://user@a,b/dampstone?target_session_attrs=read-write and brings its
// tables to the present layout.
func Open(ctx context.Context, address string) (*Store, error) {
	config, err := pgxpool.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("read address of database: %w", err)
	}
	config.ConnConfig.RuntimeParams["synchronous_commit"] = "on"
	config.ConnConfig.RuntimeParams["application_name"] = "dampstone " + uuid.NewString()
	if config.ConnConfig.ConnectTimeout == 0 {
		config.ConnConfig.ConnectTimeout = 5 * time.Second
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	s := &Store{pool}
	err = s.migrate(ctx)
	if err == nil {
		err = s.checkSafe(ctx)
	}
	if err != nil {
		pool.Close()
		return nil, fmt.Errorf("open database: %w", explain(err))
	}
	return s, nil
}

// Close lets go of all connections.
func (s *Store) Close() error {
	s.pool.Close()
	return nil
}

// checkSafe refuses a server that may lose what it has confirmed when its
// machine stops.
func (s *Store) checkSafe(ctx context.Context) error {
	for _, name := range []string{"fsync", "full_page_writes", "synchronous_commit"} {
		var value string
		if err := s.pool.QueryRow(ctx, "select current_setting($1)", name).Scan(&value); err != nil {
			return err
		}
		if value == "off" {
			return fmt.Errorf("%w: %s is off", ErrUnsafe, name)
		}
	}
	return nil
}

// Standby tells whether what is confirmed is on a standby too, so that it
// outlives the loss of the primary.
func (s *Store) Standby(ctx context.Context) (bool, error) {
	var names string
	err := s.pool.QueryRow(ctx, "select current_setting('synchronous_standby_names')").Scan(&names)
	return strings.TrimSpace(names) != "", err
}

// Others is how many connections others of this program have to the database.
func (s *Store) Others(ctx context.Context) (n int, err error) {
	err = s.pool.QueryRow(ctx, `
		select count(*) from pg_stat_activity
		where datname = current_database() and application_name like 'dampstone %'
			and application_name <> current_setting('application_name')`).Scan(&n)
	return n, err
}

// migrate brings the tables from whatever layout to the present one, each step
// in one transaction; several servers that start at once wait for one another.
func (s *Store) migrate(ctx context.Context) error {
	steps, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock($1)", int64(lockMigrate)); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "create table if not exists layout (version int not null)"); err != nil {
			return err
		}
		var have int
		if err := tx.QueryRow(ctx, "select coalesce(max(version), 0) from layout").Scan(&have); err != nil {
			return err
		}
		if have > len(steps) {
			return fmt.Errorf("%w: layout %d, this version knows %d", ErrNewer, have, len(steps))
		}
		slices.SortFunc(steps, func(a, b string) int { return number(a) - number(b) })
		for _, step := range steps[have:] {
			sql, err := fs.ReadFile(migrations, step)
			if err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, string(sql)); err != nil {
				return fmt.Errorf("%s: %w", step, err)
			}
		}
		if have == len(steps) {
			return nil
		}
		_, err := tx.Exec(ctx, "insert into layout values ($1)", len(steps))
		return err
	})
}

// number is that of a step of migrations.
func number(file string) int {
	n, _ := strconv.Atoi(strings.TrimSuffix(path.Base(file), ".sql"))
	return n
}

// explain adds an error that callers know where the cause is one (PostgreSQL
// documentation, appendix A).
func explain(err error) error {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return err
	}
	switch pg.Code {
	case "53100", "53200", "54000": // disk full, out of memory, a limit
		return fmt.Errorf("%w: %w", journal.ErrFull, err)
	case "25006": // a standby
		return fmt.Errorf("%w: %w", journal.ErrReadOnly, err)
	}
	return err
}

// Elsewhere is what accounts.Open needs of the database.
func (s *Store) Elsewhere() *accounts.Elsewhere {
	return &accounts.Elsewhere{People: Registry{s}, Ledgers: Ledgers{s}, Close: s.Close}
}
