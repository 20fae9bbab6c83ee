package hatchkeys_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"dampstone/hatchkeys"
)

// marshRed is an invented hatch: a red insect of 33 mm with an upright sail
// and two tails, in November. No pack has its like.
const marshRed = `{
	"name": {"en": "Invented red drake"}, "group": "mayfly", "abundance": 1,
	"season": [{"from": "11-01", "to": "11-30"}],
	"forms": [{"stage": "dun", "length": {"from": 31, "to": 35}, "colour": {"body": ["#8A4526"]},
		"wings": {"of": {"upright": 1}}, "tails": {"of": {"2": 1}}, "doing": {"of": {"drifting": 1}}, "where": {"of": {"flat": 1}}}]}`

func local(t testing.TB, id, raw string) *hatchkeys.Hatch {
	t.Helper()
	h, bad := hatchkeys.ParseLocal([]byte(raw))
	if len(bad) > 0 {
		t.Fatalf("%v", bad)
	}
	h.ID = hatchkeys.LocalPrefix + id
	return h
}

func TestALocalHatchLeadsForItsOwnEvidence(t *testing.T) {
	line := `{"region":"%s","month":11,"day":12,"length_mm":32,"wings":"upright","tails":2,"colour":"#8a4526","doing":"drifting"}`
	for _, region := range hatchkeys.Regions() {
		t.Run(region, func(t *testing.T) {
			k, err := hatchkeys.ForRegion(region)
			if err != nil {
				t.Fatal(err)
			}
			own, err := k.WithLocal([]*hatchkeys.Hatch{local(t, "x", marshRed)})
			if err != nil {
				t.Fatal(err)
			}
			_, e, err := hatchkeys.ParseJSON(fmt.Appendf(nil, line, region))
			if err != nil {
				t.Fatal(err)
			}
			lead := own.Read(e).Leader()
			if lead == nil || lead.Hatch.ID != "own-x" || lead.Probability < 0.8 {
				t.Errorf("leader %+v", lead)
			}
			if lead := k.Read(e).Leader(); lead != nil && lead.Probability > 0.8 {
				t.Errorf("without it the pack is sure of %s, so this shows nothing", lead.Hatch.ID)
			}
			// The pack it was added to is as it was.
			if k.Hatch("own-x") != nil || k.FormCount() != own.FormCount()-1 {
				t.Error("the built-in key has changed")
			}
			var sum float64
			r := own.Read(e)
			for _, h := range r.Ranked {
				sum += h.Probability
			}
			if math.Abs(sum+r.Unknown-1) > 1e-9 {
				t.Errorf("probabilities sum to %g", sum+r.Unknown)
			}
		})
	}
}

func TestALocalHatchIsCompletedByItsGroupAndStage(t *testing.T) {
	own, err := western(t).WithLocal([]*hatchkeys.Hatch{local(t, "x", marshRed)})
	if err != nil {
		t.Fatal(err)
	}
	h := own.Hatch("own-x")
	f := &h.Forms[0]
	if !h.Local || f.ID != "dun" || f.Share <= 0 || f.Fed <= 0 || len(f.Tactics) == 0 || f.Shucks == nil || f.Fish == nil {
		t.Errorf("not completed: %+v", f)
	}
	if f.Wings.Of["upright"] != 1 || len(f.Wings.Of) != 1 || f.Tails.Of["2"] != 1 {
		t.Errorf("what was seen of wings and tails is watered down: %v, %v", f.Wings.Of, f.Tails.Of)
	}
	// By hand: three quarters own, a quarter of packs/defaults/mayfly.yaml, where
	// 65 of 100 duns drift.
	if got, want := f.Doing.Of["drifting"], 0.75+0.25*0.65; math.Abs(got-want) > 1e-12 {
		t.Errorf("drifting %g, want %g", got, want)
	}
	ids := h.SourceIDs()
	if ids[0] != hatchkeys.OwnSource || len(ids) < 2 {
		t.Errorf("sources %v", ids)
	}
	for _, id := range ids {
		if _, ok := own.Pack.Sources[id]; !ok {
			t.Errorf("source %q is not in the pack", id)
		}
	}
	if own.Pack.Sources[hatchkeys.OwnSource].Standing != hatchkeys.OwnStanding {
		t.Error("own observation does not say so")
	}
}

// A stage that nobody described for a group is no reason to refuse a hatch.
func TestEveryGroupAndStageCanBeAdded(t *testing.T) {
	var list []*hatchkeys.Hatch
	for _, g := range hatchkeys.Groups {
		for _, s := range hatchkeys.Stages {
			raw := fmt.Sprintf(`{"name":{"es":"Inventado"},"group":%q,"season":[{"from":"12-20","to":"01-10"}],"forms":[{"stage":%q,"length":{"from":9,"to":9},"colour":{"body":["#111111"]}}]}`, g, s)
			h := local(t, string(g)+"-"+string(s), raw)
			if h.Name("en") != "Inventado" {
				t.Errorf("no name in English: %v", h.Names)
			}
			list = append(list, h)
		}
	}
	own, err := western(t).WithLocal(list)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range list {
		months := own.Months(own.Hatch(h.ID))
		if months[0] <= months[2] || months[11] <= months[9] {
			t.Fatalf("a season over the new year is lost: %v", months)
		}
	}
}

func TestParseLocalSaysWhatIsWrong(t *testing.T) {
	with := func(old, new string) string {
		s := strings.Replace(marshRed, old, new, 1)
		if s == marshRed {
			t.Fatalf("%q is not in the sample", old)
		}
		return s
	}
	rows := []struct{ name, raw, field, code string }{
		{"nothing", ``, "hatch", "not-json"},
		{"null", `null`, "hatch", "not-json"},
		{"a list", `[]`, "hatch", "not-json"},
		{"text for a length", with(`31`, `"long"`), "hatch", "not-json"},
		{"too large", with(`"mayfly"`, `"mayfly", "x": "`+strings.Repeat("y", hatchkeys.MaxLocalBytes)+`"`), "hatch", "too-long"},
		{"no name", with(`"Invented red drake"`, `"  "`), "name", "required"},
		{"name too long", with(`Invented`, strings.Repeat("ñ", 121)), "name", "too-long"},
		{"name with a bell", with(`Invented`, `\u0007`), "name", "control-character"},
		{"no group", with(`"mayfly"`, `""`), "group", "required"},
		{"unknown group", with(`"mayfly"`, `"kraken"`), "group", "unknown-value"},
		{"too common", with(`"abundance": 1`, `"abundance": 50`), "abundance", "out-of-range"},
		{"less than never", with(`"abundance": 1`, `"abundance": -1`), "abundance", "out-of-range"},
		{"no season", with(`{"from": "11-01", "to": "11-30"}`, ``), "season", "required"},
		{"31 November", with(`11-30`, `11-31`), "season.to", "not-a-date"},
		{"a script for a day", with(`11-01`, `<script>`), "season.from", "not-a-date"},
		{"five seasons", with(`"season": [`, `"season": [`+strings.Repeat(`{"from": "01-01", "to": "01-02"},`, 4)), "season", "out-of-range"},
		{"no form", with(`"forms": [`, `"forms": [], "x": [`), "forms", "required"},
		{"unknown stage", with(`"dun"`, `"ghost"`), "forms.0.stage", "unknown-value"},
		{"unknown sex", with(`"dun"`, `"dun", "sex": "both"`), "forms.0.sex", "unknown-value"},
		{"no length", with(`"length": {"from": 31, "to": 35}, `, ``), "forms.0.length.from", "out-of-range"},
		{"longer than any insect", with(`35`, `350`), "forms.0.length.to", "out-of-range"},
		{"ends before it starts", with(`35`, `30`), "forms.0.length.to", "does-not-add-up"},
		{"no colour", with(`"#8A4526"`, ``), "forms.0.colour", "required"},
		{"a colour that is none", with(`#8A4526`, `red`), "forms.0.colour", "not-a-colour"},
		{"weight below none", with(`"upright": 1`, `"upright": -1`), "forms.0.wings", "out-of-range"},
		{"looks below none", with(`"upright": 1}`, `"upright": 1}}, "looks": {"of": {"ant": -5}`), "forms.0.looks", "out-of-range"},
		{"hour 25", with(`"dun"`, `"dun", "hours": {"from": 25, "to": 2}`), "forms.0.hours.from", "out-of-range"},
		{"the same form twice", with(`"forms": [`, `"forms": [{"stage": "dun", "length": {"from": 1, "to": 2}, "colour": {"body": ["#000000"]}},`), "forms.1.stage", "does-not-add-up"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			h, bad := hatchkeys.ParseLocal([]byte(row.raw))
			if h != nil || len(bad) == 0 || bad[0].Field != row.field || bad[0].Code != row.code {
				t.Errorf("got %v and %v, want %s %s", h, bad, row.field, row.code)
			}
		})
	}
}

// What a newer version may add is passed over rather than refused.
func TestParseLocalPassesOverWhatItDoesNotKnow(t *testing.T) {
	raw := strings.NewReplacer(`"upright": 1`, `"folded-twice": 3`, `"group"`, `"glow": {"of": {"faint": 1}}, "like": "unheard-of", "group"`,
		`"dun"`, `"dun", "tactics": ["sing-to-it", "twitch"]`).Replace(marshRed)
	h := local(t, "x", raw)
	if f := h.Forms[0]; f.Wings != nil || h.Like != "" || len(f.Tactics) != 1 {
		t.Errorf("kept what is not known: %+v", h)
	}
	if _, err := western(t).WithLocal([]*hatchkeys.Hatch{h}); err != nil {
		t.Error(err)
	}
}

func TestNoLocalHatchTakesThePlaceOfAnother(t *testing.T) {
	k := western(t)
	thief := local(t, "x", marshRed)
	thief.ID = "salmonfly"
	twin := local(t, "x", marshRed)
	for _, list := range [][]*hatchkeys.Hatch{{thief}, {twin, twin}} {
		if _, err := k.WithLocal(list); err == nil {
			t.Errorf("%s was let in", list[0].ID)
		}
	}
	if same, err := k.WithLocal(nil); err != nil || same != k {
		t.Errorf("no local hatches make another key (%v)", err)
	}
}

// Whatever ParseLocal lets through makes a key that gives finite odds.
func FuzzParseLocal(f *testing.F) {
	f.Add([]byte(marshRed))
	f.Add([]byte(`{"name":{"en":"x"},"group":"other","season":[{"from":"02-29","to":"02-28","weight":0.01}],"waters":{"of":{"stillwater":1e6}},"forms":[{"stage":"spent","sex":"male","share":100,"fed":1,"length":{"from":0.5,"to":90},"hours":{"from":24,"to":0},"colour":{"body":["#000000","#ffffff"]},"tails":{"of":{"0":1e-300}},"doing":{"of":{"hopping":1e6}}}]}`))
	k, err := hatchkeys.ForRegion("south")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		h, bad := hatchkeys.ParseLocal(raw)
		if (h == nil) == (len(bad) == 0) {
			t.Fatalf("%v with %v", h, bad)
		}
		if h == nil {
			return
		}
		if again, err := json.Marshal(h); err != nil {
			t.Fatal(err)
		} else if len(again) <= hatchkeys.MaxLocalBytes {
			if _, bad := hatchkeys.ParseLocal(again); len(bad) > 0 {
				t.Fatalf("written and read again: %v", bad)
			}
		}
		h.ID = "own-x"
		own, err := k.WithLocal([]*hatchkeys.Hatch{h})
		if err != nil {
			t.Fatal(err)
		}
		_, e, err := hatchkeys.ParseJSON([]byte(`{"region":"south","month":2,"tails":0,"doing":"hopping","wings":"flat","water":"stillwater","hour":3,"colour":"#202020"}`))
		if err != nil {
			t.Fatal(err)
		}
		for _, ranked := range own.Read(e).Ranked {
			if p := ranked.Probability; !(p > 0 && p < 1) {
				t.Fatalf("%s has probability %g", ranked.Hatch.ID, p)
			}
		}
	})
}

func BenchmarkWithLocal(b *testing.B) {
	k, err := hatchkeys.ForRegion("europe")
	if err != nil {
		b.Fatal(err)
	}
	var list []*hatchkeys.Hatch
	for i := range 20 {
		list = append(list, local(b, fmt.Sprint(i), marshRed))
	}
	for b.Loop() {
		if _, err := k.WithLocal(list); err != nil {
			b.Fatal(err)
		}
	}
}
