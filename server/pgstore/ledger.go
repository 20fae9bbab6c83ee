package pgstore

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"dampstone/flybox/journal"
	"dampstone/server/accounts"
	"dampstone/server/people"
	"dampstone/server/sync"
)

// Ledgers are those of all people in a database.
type Ledgers struct{ *Store }

var _ accounts.Ledgers = Ledgers{}

// Ledger is one of them.
type Ledger struct {
	*Store
	n          int32 // of the table journals
	journal    string
	closed     atomic.Bool
	len, bytes atomic.Int64 // as they were when last seen
}

var (
	_ accounts.Ledger = (*Ledger)(nil)
	_ sync.Linked     = (*Ledger)(nil)
	_ journal.Getter  = (*Ledger)(nil)
)

// Open gives a person's ledger, a new one where there is none.
func (l Ledgers) Open(ctx context.Context, p people.Person) (accounts.Ledger, error) {
	return l.OpenAs(ctx, p.ID, uuid.NewString())
}

// OpenAs is Open with the id of a journal that is made.
func (l Ledgers) OpenAs(ctx context.Context, person, journalID string) (*Ledger, error) {
	none := journal.Link{}
	_, err := l.pool.Exec(ctx, "insert into journals (person, journal, link) values ($1, $2, $3) on conflict do nothing", person, journalID, none[:])
	out := &Ledger{Store: l.Store}
	if err == nil {
		err = l.pool.QueryRow(ctx, "select n, journal from journals where person = $1", person).Scan(&out.n, &out.journal)
	}
	if err == nil {
		err = out.count(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("open ledger of %q: %w", person, explain(err))
	}
	return out, nil
}

// Remove deletes a person's ledger.
func (l Ledgers) Remove(ctx context.Context, p people.Person) error {
	return pgx.BeginFunc(ctx, l.pool, func(tx pgx.Tx) error {
		// The row first: who adds to it meanwhile finds none afterwards.
		var n int32
		err := tx.QueryRow(ctx, "delete from journals where person = $1 returning n", p.ID).Scan(&n)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err == nil {
			_, err = tx.Exec(ctx, "delete from entries where ledger = $1", n)
		}
		return err
	})
}

// Adopt implements accounts.Ledgers.
func (l Ledgers) Adopt(ctx context.Context, old, p people.Person) error {
	_, err := l.pool.Exec(ctx, "update journals set person = $2 where person = $1 and last = 0", old.ID, p.ID)
	return err
}

// Bytes implements accounts.Ledgers.
func (l Ledgers) Bytes(ctx context.Context, p people.Person) (n int64, err error) {
	err = l.pool.QueryRow(ctx, "select bytes from journals where person = $1", p.ID).Scan(&n)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, nil
	}
	return n, err
}

// Name implements accounts.Ledgers.
func (l Ledgers) Name(p people.Person) string { return "ledger of " + p.ID }

// Behind implements accounts.Ledgers.
func (l Ledgers) Behind(ctx context.Context) ([]string, error) {
	rows, err := l.pool.Query(ctx, `
		select j.person from journals j
		join registry looked on looked.bucket = $1 and looked.key = convert_to(j.person, 'UTF8')
		where int8send(j.last) > looked.value`, people.LookedBucket)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// Today implements accounts.Ledgers.
func (l Ledgers) Today(ctx context.Context, person, day string, n int) (today int, err error) {
	if n == 0 {
		err = l.pool.QueryRow(ctx, "select case when day = $2 then day_n else 0 end from journals where person = $1", person, day).Scan(&today)
	} else {
		err = l.pool.QueryRow(ctx, `
			update journals set day = $2, day_n = $3 + case when day = $2 then day_n else 0 end
			where person = $1 returning day_n`, person, day, n).Scan(&today)
	}
	return today, err
}

// Close makes further calls fail.
func (l *Ledger) Close() error {
	l.closed.Store(true)
	return nil
}

// Journal is the random id of the journal.
func (l *Ledger) Journal() string { return l.journal }

// Len implements accounts.Ledger.
func (l *Ledger) Len() int { return int(l.len.Load()) }

// Bytes implements accounts.Ledger.
func (l *Ledger) Bytes() int64 { return l.bytes.Load() }

// count sees how much there is.
func (l *Ledger) count(ctx context.Context) error {
	var last, bytes int64
	if err := l.pool.QueryRow(ctx, "select last, bytes from journals where n = $1", l.n).Scan(&last, &bytes); err != nil {
		return gone(err)
	}
	l.len.Store(last)
	l.bytes.Store(bytes)
	return nil
}

func gone(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return ErrGone
	}
	return err
}

func (l *Ledger) open(ctx context.Context) error {
	if l.closed.Load() {
		return ErrGone
	}
	return ctx.Err()
}

// Append implements journal.Store. Where the connection breaks while the
// database confirms, entries may be there in spite of the error.
func (l *Ledger) Append(ctx context.Context, entries []journal.Entry) (added []journal.ID, err error) {
	if err = l.open(ctx); err == nil && len(entries) > 0 {
		added, err = l.append(ctx, entries)
	}
	if err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(entries), explain(err))
	}
	return added, nil
}

// many is from how many rows on COPY is quicker than an insert.
const many = 64

func (l *Ledger) append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	tx, err := l.pool.Begin(ctx)
	if err != nil {
		return nil, err
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) // does nothing once it is done
	ids := make([][]byte, len(entries))
	for i, e := range entries {
		if e.ID == "" || len(e.ID) > journal.MaxIDBytes || e.Raw() == nil {
			return nil, fmt.Errorf("entry %q has no id or no record", e.ID)
		}
		ids[i] = []byte(e.ID)
	}
	var last, bytes int64
	var kept []byte
	known := map[journal.ID]bool{}
	// Both questions in one go; the second is asked once the first has the lock.
	var batch pgx.Batch
	batch.Queue("select last, bytes, link from journals where n = $1 for update", l.n)
	batch.Queue("select id from entries where ledger = $1 and id = any($2)", l.n, ids)
	results := tx.SendBatch(ctx, &batch)
	err = gone(results.QueryRow().Scan(&last, &bytes, &kept))
	if err == nil {
		var rows pgx.Rows
		if rows, err = results.Query(); err == nil {
			var here [][]byte
			here, err = pgx.CollectRows(rows, pgx.RowTo[[]byte])
			for _, id := range here {
				known[journal.ID(id)] = true
			}
		}
	}
	if err = errors.Join(err, results.Close()); err != nil {
		return nil, err
	}
	link := journal.Link(kept)
	var added []journal.ID
	var rows [][]any
	for _, e := range entries {
		if known[e.ID] {
			continue
		}
		known[e.ID] = true
		last++
		bytes += int64(len(e.Raw()))
		link = link.Next(e.Raw())
		here := link
		added = append(added, e.ID)
		rows = append(rows, []any{l.n, last, []byte(e.ID), e.Raw(), here[:]})
	}
	if len(added) == 0 {
		return nil, nil
	}
	if len(rows) >= many {
		_, err = tx.CopyFrom(ctx, pgx.Identifier{"entries"}, []string{"ledger", "seq", "id", "raw", "link"}, pgx.CopyFromRows(rows))
	} else {
		batch = pgx.Batch{}
		for _, row := range rows {
			batch.Queue("insert into entries (ledger, seq, id, raw, link) values ($1, $2, $3, $4, $5)", row...)
		}
		err = tx.SendBatch(ctx, &batch).Close()
	}
	if err == nil {
		_, err = tx.Exec(ctx, "update journals set last = $2, bytes = $3, link = $4 where n = $1", l.n, last, bytes, link[:])
	}
	if err == nil {
		err = ctx.Err() // the last moment at which it can be called off
	}
	if err != nil {
		return nil, err
	}
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	if err := tx.Commit(end); err != nil {
		return nil, err
	}
	l.len.Store(last)
	l.bytes.Store(bytes)
	return added, nil
}

// Fresh implements accounts.Ledger.
func (l *Ledger) Fresh(ctx context.Context, entries []journal.Entry) (fresh []journal.Entry, err error) {
	if err = l.open(ctx); err == nil {
		err = l.count(ctx)
	}
	if err != nil || len(entries) == 0 {
		return nil, explain(err)
	}
	ids := make([][]byte, len(entries))
	for i, e := range entries {
		ids[i] = []byte(e.ID)
	}
	rows, err := l.pool.Query(ctx, "select id from entries where ledger = $1 and id = any($2)", l.n, ids)
	var here [][]byte
	if err == nil {
		here, err = pgx.CollectRows(rows, pgx.RowTo[[]byte])
	}
	if err != nil {
		return nil, fmt.Errorf("look for entries: %w", explain(err))
	}
	known := map[journal.ID]bool{}
	for _, id := range here {
		known[journal.ID(id)] = true
	}
	for _, e := range entries {
		if !known[e.ID] {
			fresh = append(fresh, e)
		}
	}
	return fresh, nil
}

// GetAll implements journal.Getter.
func (l *Ledger) GetAll(ctx context.Context, ids []journal.ID) (map[journal.ID]journal.Entry, error) {
	keys := make([][]byte, len(ids))
	for i, id := range ids {
		keys[i] = []byte(id)
	}
	all := map[journal.ID]journal.Entry{}
	err := l.open(ctx)
	if err == nil && len(ids) > 0 {
		var rows pgx.Rows
		if rows, err = l.pool.Query(ctx, "select id, raw from entries where ledger = $1 and id = any($2)", l.n, keys); err == nil {
			var id, raw []byte
			_, err = pgx.ForEachRow(rows, []any{&id, &raw}, func() error {
				all[journal.ID(id)] = journal.StoredEntry(journal.ID(id), raw)
				raw = nil
				return nil
			})
		}
	}
	if err != nil {
		return nil, fmt.Errorf("read %d entries: %w", len(ids), explain(err))
	}
	return all, nil
}

// Load implements journal.Store.
func (l *Ledger) Load(ctx context.Context) ([]journal.Entry, error) {
	entries, _, err := l.After(ctx, 0, 0)
	return entries, err
}

// Get implements journal.Store.
func (l *Ledger) Get(ctx context.Context, id journal.ID) (e journal.Entry, ok bool, err error) {
	var raw []byte
	if err = l.open(ctx); err == nil {
		err = l.pool.QueryRow(ctx, "select raw from entries where ledger = $1 and id = $2", l.n, []byte(id)).Scan(&raw)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return e, false, nil
	}
	if err != nil {
		return e, false, fmt.Errorf("read entry %q: %w", id, explain(err))
	}
	return journal.StoredEntry(id, raw), true, nil
}

// After implements journal.Store.
func (l *Ledger) After(ctx context.Context, seq uint64, limit int) (entries []journal.Entry, last uint64, err error) {
	last = seq
	var most any // no limit
	if limit > 0 {
		most = limit
	}
	if err = l.open(ctx); err == nil && seq < math.MaxInt64 {
		var rows pgx.Rows
		rows, err = l.pool.Query(ctx, "select seq, id, raw from entries where ledger = $1 and seq > $2 order by seq limit $3", l.n, int64(seq), most)
		if err == nil {
			var n int64
			var id, raw []byte
			_, err = pgx.ForEachRow(rows, []any{&n, &id, &raw}, func() error {
				entries, last = append(entries, journal.StoredEntry(journal.ID(id), raw)), uint64(n)
				raw = nil // the entry keeps it
				return nil
			})
		}
	}
	if err != nil {
		return nil, seq, fmt.Errorf("read entries after %d: %w", seq, explain(err))
	}
	return entries, last, nil
}

// Last implements accounts.Ledger.
func (l *Ledger) Last(ctx context.Context) (uint64, error) {
	if err := l.open(ctx); err != nil {
		return 0, err
	}
	if err := l.count(ctx); err != nil {
		return 0, fmt.Errorf("find last entry: %w", explain(err))
	}
	return uint64(l.len.Load()), nil
}

// Link implements sync.Linked.
func (l *Ledger) Link(ctx context.Context, seq uint64) (link journal.Link, ok bool, err error) {
	if seq > math.MaxInt64 {
		return link, false, nil
	}
	var kept []byte
	if err = l.open(ctx); err == nil {
		err = l.pool.QueryRow(ctx, "select link from entries where ledger = $1 and seq = $2", l.n, int64(seq)).Scan(&kept)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return link, false, nil
	}
	if err != nil {
		return link, false, fmt.Errorf("read mark %d: %w", seq, explain(err))
	}
	return journal.Link(kept), true, nil
}
