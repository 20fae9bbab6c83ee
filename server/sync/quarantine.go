package sync

import (
	"dampstone/flybox/journal"
	"slices"
)

// Quarantine is what exchanges have set aside, so that the rest could go on.
type Quarantine struct {
	Refused []Refused `json:"refused,omitempty"` // entries of here that the server does not take
	Untaken []Refused `json:"untaken,omitempty"` // entries of the server that are not taken here
}

// maxUntaken bounds how many entries of the server are remembered; they are
// read once and do not come again.
const maxUntaken = 100

// After is what is set aside once a round has ended. A round that ended well
// (whole) has offered everything, so what it did not name is refused no more.
// has tells whether an entry is here, as after an update of the program.
func (a Quarantine) After(report Report, whole bool, has func(id journal.ID) bool) Quarantine {
	next := Quarantine{}
	if !whole {
		next.Refused = slices.Clone(a.Refused)
	}
	for _, r := range report.Refused {
		next.Refused = withOnce(next.Refused, r)
	}
	for _, x := range a.Untaken {
		if !has(x.ID) {
			next.Untaken = append(next.Untaken, x)
		}
	}
	for _, b := range report.Bad {
		next.Untaken = withOnce(next.Untaken, Refused{ID: b.ID, Code: b.Code()})
	}
	next.Untaken = next.Untaken[max(0, len(next.Untaken)-maxUntaken):]
	return next
}

// Equal tells whether the same entries were set aside, for the same reasons.
func (a Quarantine) Equal(b Quarantine) bool {
	return slices.Equal(a.Refused, b.Refused) && slices.Equal(a.Untaken, b.Untaken)
}

func withOnce(list []Refused, x Refused) []Refused {
	if i := slices.IndexFunc(list, func(y Refused) bool { return y.ID == x.ID }); i >= 0 {
		list[i] = x
		return list
	}
	return append(list, x)
}
