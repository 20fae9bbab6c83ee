package pgstore

import (
	"context"
	"errors"
	"fmt"
	"iter"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"dampstone/server/people"
)

// Registry is where people, codes and what a crew shares are kept.
type Registry struct{ *Store }

var _ people.KV = Registry{}

// querier is a connection or a transaction.
type querier interface {
	Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error)
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// tx is a look or a change.
type tx struct {
	ctx context.Context
	querier
	err error // the first that reading came to
}

// View implements people.KV. Each question is answered as the database stands
// then.
func (r Registry) View(f func(people.Tx) error) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return r.pool.AcquireFunc(ctx, func(c *pgxpool.Conn) error {
		t := &tx{ctx: ctx, querier: c}
		return explain(t.run(f))
	})
}

// Update implements people.KV. One runs at a time, over all servers.
func (r Registry) Update(f func(people.Tx) error) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := pgx.BeginFunc(ctx, r.pool, func(db pgx.Tx) error {
		if _, err := db.Exec(ctx, "select pg_advisory_xact_lock($1)", int64(lockRegistry)); err != nil {
			return err
		}
		t := &tx{ctx: ctx, querier: db}
		return t.run(f)
	})
	return explain(err)
}

func (t *tx) run(f func(people.Tx) error) error {
	err := f(t)
	if t.err != nil {
		return t.err // whatever f made of what it could not read
	}
	return err
}

// Alone implements people.KV.
func (r Registry) Alone() bool { return false }

// Close has nothing to do: the Store is closed for itself.
func (r Registry) Close() error { return nil }

func (t *tx) failed(err error) {
	if t.err == nil {
		t.err = fmt.Errorf("read registry: %w", err)
	}
}

func (t *tx) Bucket(name []byte) people.Bucket { return bucket{t, string(name)} }

type bucket struct {
	*tx
	name string
}

func (b bucket) Get(key []byte) (value []byte) {
	err := b.QueryRow(b.ctx, "select value from registry where bucket = $1 and key = $2", b.name, key).Scan(&value)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		b.failed(err)
	}
	return value
}

func (b bucket) Put(key, value []byte) error {
	_, err := b.Exec(b.ctx, `
		insert into registry (bucket, key, value) values ($1, $2, $3)
		on conflict (bucket, key) do update set value = excluded.value`, b.name, key, value)
	return err
}

func (b bucket) Delete(key []byte) error {
	_, err := b.Exec(b.ctx, "delete from registry where bucket = $1 and key = $2", b.name, key)
	return err
}

// page is how many records are read in one go.
const page = 500

func (b bucket) From(key []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		if key == nil {
			key = []byte{}
		}
		for than := ">="; ; than = ">" {
			rows, err := b.Query(b.ctx, "select key, value from registry where bucket = $1 and key "+than+" $2 order by key limit $3", b.name, key, page)
			if err != nil {
				b.failed(err)
				return
			}
			type record struct{ Key, Value []byte }
			list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[record])
			if err != nil {
				b.failed(err)
				return
			}
			for _, r := range list {
				if !yield(r.Key, r.Value) {
					return
				}
			}
			if len(list) < page {
				return
			}
			key = list[len(list)-1].Key
		}
	}
}

func (b bucket) Sequence() uint64 {
	var n int64
	err := b.QueryRow(b.ctx, "select n from sequences where bucket = $1", b.name).Scan(&n)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		b.failed(err)
	}
	return uint64(n)
}

func (b bucket) SetSequence(n uint64) error {
	_, err := b.Exec(b.ctx, `
		insert into sequences (bucket, n) values ($1, $2)
		on conflict (bucket) do update set n = excluded.n`, b.name, int64(n))
	return err
}

func (b bucket) NextSequence() (uint64, error) {
	var n int64
	err := b.QueryRow(b.ctx, `
		insert into sequences (bucket, n) values ($1, 1)
		on conflict (bucket) do update set n = sequences.n + 1 returning n`, b.name).Scan(&n)
	return uint64(n), err
}
