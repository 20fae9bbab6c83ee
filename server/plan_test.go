package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/server/app/trip"
)

const someTrip = `{"region":"west-na","from":"2026-08-13","to":"2026-08-15","today":"2026-08-11","rods":4,"waters":[{"type":"tailwater","altitude_m":1300}],"slots":12,
	"flies":[{"id":"a","name":"Short stubs","style":"short-wing-stone","hook":8,"length_mm":21,"body":"#a98545","left":3},
	         {"id":"b","name":"Tan hopper","style":"hopper","hook":8,"length_mm":24,"body":"#c2a468","left":40,"take":5}],
	"history":[{"gone":12,"rod_days":5}],"seen":[{"hatch":"claassenia","date":"2025-08-14"}]}`

func runPlan(t *testing.T, in string, args ...string) (trip.PlanOutput, error) {
	t.Helper()
	var out, errs bytes.Buffer
	err := run(t.Context(), append([]string{"plan"}, args...), strings.NewReader(in), &out, &errs)
	var p trip.PlanOutput
	if err == nil {
		if err := json.Unmarshal(out.Bytes(), &p); err != nil {
			t.Fatalf("output is no JSON: %v\n%s", err, out.String())
		}
	}
	return p, err
}

func TestPlanCommand(t *testing.T) {
	p, err := runPlan(t, someTrip)
	if err != nil {
		t.Fatal(err)
	}
	// By hand: 4 rods, 3 days of 8 h; Gamma(2+12, 1+5) has mean 2.3333.
	if len(p.Days) != 3 || p.RodDays != 12 || p.Assumed || p.Rate < 2.33333 || p.Rate > 2.33334 || p.Expected != 28 || p.SlotsUsed > 12 || *p.Slots != 12 || p.Tying.Evenings != 2 {
		t.Errorf("%+v", p)
	}
	lines := map[journal.ID]trip.PlanLine{}
	for _, l := range p.Lines {
		lines[l.ID] = l
	}
	if l := lines["b"]; l.Take != 5 || l.Reason != "fixed" || !strings.Contains(l.Text, "You decided") {
		t.Errorf("the decided line: %+v", l)
	}
	if l := lines["a"]; len(l.For) == 0 || l.For[0].Hatch != "claassenia" || l.Left != 3 || l.Take > 3+l.InTime {
		t.Errorf("the stonefly: %+v", l)
	}
	if spanish, err := runPlan(t, someTrip, "-lang", "es"); err != nil || !strings.Contains(spanish.Cautions[0], "agua") {
		t.Errorf("%v %v", err, spanish.Cautions)
	}
	again, err := runPlan(t, someTrip)
	a, _ := json.Marshal(p)
	if b, _ := json.Marshal(again); err != nil || !bytes.Equal(a, b) {
		t.Error("the same trip has another plan")
	}
}

func TestPlanCommandRefusesWhatItCannotUse(t *testing.T) {
	change := func(old, new string) string { return strings.Replace(someTrip, old, new, 1) }
	for _, c := range []struct{ in, want string }{
		{"", "read trip"},
		{"[]", "read trip"},
		{someTrip + someTrip, "more than one JSON value"},
		{change(`"rods":4`, `"rodds":4`), "rodds"},
		{change(`"rods":4`, `"rods":0`), "rods: Must be from 1 to 100."},
		{change("west-na", "moon"), "use one of"},
		{change("2026-08-15", "2026-08-01"), "to: The last day is before the first."},
		{change("2026-08-15", "2028-08-01"), "to: At most 366 days"},
		{change("tailwater", "lava"), "waters[0].type: That choice is not known."},
		{change(`"id":"b"`, `"id":"a"`), "flies[1].id"},
		{change(`"style":"hopper"`, `"style":"sofa"`), "flies[1].style: That choice is not known."},
		{change(`"left":3`, `"left":-3`), "flies[0].left"},
		{change(`"rod_days":5`, `"rod_days":0`), "history[0]"},
		{change("2025-08-14", "then"), "seen[0].date: “then” is not a date."},
		{change("2026-08-11", "soon"), "today: “soon” is not a date."},
		{strings.Repeat(" ", maxTrip+1), "more than"},
	} {
		if _, err := runPlan(t, c.in); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.80s: error %v, want %q", c.in, err, c.want)
		}
	}
	for _, args := range [][]string{{"-lang", "xx"}, {"more"}, {"-what"}} {
		if _, err := runPlan(t, someTrip, args...); !errors.Is(err, errUsage) {
			t.Errorf("%v: %v", args, err)
		}
	}
}
