package words

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// CountText says what fish did.
func CountText(t *catalog.Text, c results.Count) string {
	if c.Fish() == 0 {
		return t.S("day.count.none")
	}
	var parts []string
	for _, one := range []struct {
		id string
		n  int
	}{{"day.count.take", c.Takes}, {"day.count.refusal", c.Refusals}, {"day.count.follow", c.Follows}, {"day.count.lost", c.Lost}} {
		if one.n > 0 {
			parts = append(parts, t.N(one.id, one.n, nil))
		}
	}
	return strings.Join(parts, ", ")
}

// ChangeCodes are what a form may be filled in with because of refusals.
var ChangeCodes = []string{"length.long", "length.short", "colour.dark", "colour.pale", "colour.hue", "float.high", "float.low", "shape.other", "wings.other"}

// ChangeLead says why a form of a fly is filled in as it is, "" if it is not.
func ChangeLead(t *catalog.Text, q url.Values) string {
	if !slices.Contains(ChangeCodes, q.Get("why")) {
		return ""
	}
	return t.F("results.change.lead", catalog.Data{"Why": t.S("results.points." + q.Get("why"))})
}

// FishedLines are what fish did to a fly, by what they were on, with the
// revisions before it in a line of their own.
func FishedLines(page views.Page, s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, f flybox.Fly) []views.FishedLine {
	now := map[results.Form]results.Count{}
	var before results.Count
	for cell, c := range box.Results {
		if cell.Rev == f.Rev {
			now[cell.Form] = c
		} else if rev, ok := s.Revision(cell.Rev); ok && rev.ID == f.ID {
			before = before.Plus(c)
		}
	}
	var out []views.FishedLine
	for form, c := range now {
		line := views.FishedLine{Name: FormText(page.T, key, form), Counts: CountText(page.T, c), Href: "/day/results"}
		if form.Hatch != "" {
			line.Href = screen.WithQuery("/day/results", "on="+url.QueryEscape(form.Hatch+"."+form.Form))
		}
		out = append(out, line)
	}
	sortby.Stable(out, func(a, b *views.FishedLine) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.Href, b.Href))
	})
	if before.Fish() > 0 {
		out = append(out, views.FishedLine{Name: page.T.S("results.before"), Counts: CountText(page.T, before), Href: "/day/results"})
	}
	return out
}
