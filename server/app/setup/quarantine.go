package setup

import (
	"cmp"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
	"dampstone/server/app/screen"
	"dampstone/server/backup"
	"dampstone/server/sync"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Addresses of the screen of what was set aside, and of its file.
const (
	QuarantinePath     = "/setup/quarantine"
	QuarantineFilePath = "/setup/quarantine/lines"
)

// quarantines are all entries that hold up nothing and are not lost, but of which
// somebody should know.
type quarantines struct {
	refused, untaken, broken []sync.Refused
	newer                    int // entries of a newer version, kept and passed on
}

func (s quarantines) none() bool {
	return len(s.refused)+len(s.untaken)+len(s.broken)+s.newer == 0
}

// count is how many entries a person should look at.
func (s quarantines) count() int { return len(s.refused) + len(s.untaken) + len(s.broken) }

// quarantines gathers them. What the server refuses because it cannot be read is
// named once.
func quarantinesOf(st *flybox.State, status *screen.SyncStatus) (s quarantines) {
	broken := st.BrokenIDs()
	s.newer = st.Newer()
	if status != nil {
		s.untaken = status.Untaken
		for _, x := range status.Refused {
			if _, here := broken[x.ID]; !here {
				s.refused = append(s.refused, x)
			}
		}
	}
	for id, code := range broken {
		s.broken = append(s.broken, sync.Refused{ID: id, Code: code})
	}
	sortby.Stable(s.broken, func(a, b *sync.Refused) int { return cmp.Compare(a.ID, b.ID) })
	return s
}

// records finds the entries by their ids.
func (a *section) records(r *http.Request, lists ...[]sync.Refused) (map[journal.ID]journal.Entry, error) {
	found := map[journal.ID]journal.Entry{}
	for _, list := range lists {
		for _, x := range list {
			found[x.ID] = journal.Entry{}
		}
	}
	if len(found) == 0 {
		return found, nil
	}
	all, err := a.Ledger.Store().Load(r.Context())
	if err != nil {
		return nil, fmt.Errorf("find what was set aside: %w", err)
	}
	for _, e := range all {
		if _, wanted := found[e.ID]; wanted {
			found[e.ID] = e
		}
	}
	return found, nil
}

func (a *section) quarantine(r *http.Request, p screen.Asked) (screen.Result, error) {
	t := catalog.For(p.Lang)
	page := a.View(r, p, "setup", t.S("quarantine.title"))
	s := quarantinesOf(p.State, a.syncStatus(r))
	records, err := a.records(r, s.refused, s.broken)
	if err != nil {
		return screen.Result{}, err
	}
	v := views.QuarantineView{Page: page, Nothing: s.none(), SyncDo: a.Sync != nil && len(s.refused)+len(s.untaken) > 0}
	if s.newer > 0 {
		v.Newer = t.N("quarantine.newer", s.newer, nil)
	}
	for _, g := range []struct {
		name string
		list []sync.Refused
	}{{"refused", s.refused}, {"untaken", s.untaken}, {"broken", s.broken}} {
		if len(g.list) == 0 {
			continue
		}
		group := views.QuarantineGroup{Title: t.S("quarantine." + g.name), Hint: t.S("quarantine." + g.name + ".hint")}
		for _, x := range g.list {
			group.Items = append(group.Items, quarantineItem(page, x, records[x.ID]))
		}
		v.Groups = append(v.Groups, group)
	}
	if len(s.refused)+len(s.broken) > 0 {
		v.File = a.quarantineName()
	}
	return screen.Show(views.Quarantine(v)), nil
}

const quarantineText = 2000 // characters of a record that are shown

func quarantineItem(page views.Page, x sync.Refused, e journal.Entry) views.QuarantineItem {
	t := page.T
	item := views.QuarantineItem{What: t.F("quarantine.entry", catalog.Data{"ID": string(x.ID)}), Why: quarantineWhy(t, x.Code)}
	if e.Readable() {
		if id := "quarantine.kind." + string(e.Kind); t.Has(id) {
			item.What = t.S(id)
		}
		item.When = screen.DayTime(page, e.At.Time())
	}
	if raw := strings.ToValidUTF8(string(e.Raw()), "\uFFFD"); raw != "" {
		if utf8.RuneCountInString(raw) > quarantineText {
			raw = string([]rune(raw)[:quarantineText]) + "…"
		}
		item.Raw = raw
	}
	return item
}

func quarantineWhy(t *catalog.Text, code string) string {
	if id := "quarantine.why." + code; t.Has(id) {
		return t.S(id)
	}
	return t.F("quarantine.why", catalog.Data{"Code": screen.Clip(code)})
}

func (a *section) quarantineName() string {
	return "dampstone-quarantine-" + a.Now().Format("2006-01-02") + ".jsonl"
}

// quarantineFile is what was set aside here, as it is written, a record a line.
func (a *section) quarantineFile(r *http.Request, p screen.Asked) (screen.Result, error) {
	s := quarantinesOf(p.State, a.syncStatus(r))
	records, err := a.records(r, s.refused, s.broken)
	if err != nil {
		return screen.Result{}, err
	}
	return screen.Result{File: &screen.File{Name: a.quarantineName(), Mime: backup.Type, Write: func(w io.Writer) error {
		for _, x := range slices.Concat(s.refused, s.broken) {
			if raw := records[x.ID].Raw(); raw != nil {
				if _, err := fmt.Fprintf(w, "%s\n", raw); err != nil {
					return err
				}
			}
		}
		return nil
	}}}, nil
}
