package hatchkeys_test

import (
	"math"
	"testing"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/feeding"
)

func western(t *testing.T) *hatchkeys.Key {
	t.Helper()
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestOwnSightingsSharpenTheCalendar(t *testing.T) {
	k := western(t)
	var seen []hatchkeys.Seen
	for day := 1; day <= 12; day++ {
		seen = append(seen, hatchkeys.Seen{Hatch: "salmonfly", Month: 7, Day: day})
	}
	own := k.WithSightings(seen)
	in := func(k *hatchkeys.Key, month, day int) float64 {
		return k.Read(hatchkeys.Evidence{Month: month, Day: day}).Find("salmonfly").Probability
	}
	if before, after := in(k, 7, 8), in(own, 7, 8); after <= before*1.5 {
		t.Errorf("where it was seen: %.4f before, %.4f after", before, after)
	}
	if before, after := in(k, 6, 1), in(own, 6, 1); after >= before {
		t.Errorf("where it was not seen: %.4f before, %.4f after", before, after)
	}
	for _, h := range []string{"baetis", "claassenia"} {
		a := k.Months(k.Hatch(h))
		if b := own.Months(own.Hatch(h)); a != b {
			t.Errorf("%s changed too", h)
		}
	}
}

func TestThreeDaysOfNotesDoNotDrownThePack(t *testing.T) {
	k := western(t)
	own := k.WithSightings([]hatchkeys.Seen{{"salmonfly", 9, 3}, {"salmonfly", 9, 4}, {"salmonfly", 9, 5}})
	before, after := k.Months(k.Hatch("salmonfly")), own.Months(own.Hatch("salmonfly"))
	// By hand: with 20 days' worth of pack and 3 of notes, a half month without
	// notes keeps 20/23 of its presence.
	if got, want := after[5]/before[5], 20.0/23; math.Abs(got-want) > 1e-9 {
		t.Errorf("June keeps %.4f of its presence, want %.4f", got, want)
	}
	if after[8] <= before[8] || after[8] >= before[5] {
		t.Errorf("September %.4f after notes; want more than %.4f and less than June's %.4f", after[8], before[8], before[5])
	}
}

func TestNotesOnOneDayCountOnceAndStrangeOnesNotAtAll(t *testing.T) {
	k := western(t)
	one := k.WithSightings([]hatchkeys.Seen{{"salmonfly", 6, 3}})
	same := k.WithSightings([]hatchkeys.Seen{{"salmonfly", 6, 3}, {"salmonfly", 6, 3}, {"kraken", 6, 3}, {"salmonfly", 0, 3}, {"salmonfly", 6, 99}})
	if one.Months(one.Hatch("salmonfly")) != same.Months(same.Hatch("salmonfly")) {
		t.Error("a repeated or strange note counts")
	}
	if k.WithSightings(nil) != k {
		t.Error("no notes make another key")
	}
}

func TestABigInsectMasksASmallOne(t *testing.T) {
	line := `{"region":"west-na","month":6,"day":15,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"fluttering","shucks":"dry-rocks","fish":"sipping"}`
	r := read(t, line)
	if f := feeding.Judge(r); f.Reason != feeding.Masked || f.On() {
		t.Errorf("feeding %+v, want masked and off", f)
	}
	if small := feeding.Small(r); small == nil || small.Form.Length.To > 9 {
		t.Errorf("small hatch %+v", small)
	}
}

// However often a hatch is noted where the pack has next to none, the pack's
// chance grows by a bounded factor: a season of notes by one reader is no
// proof.
func TestWhatIsLearnedIsBounded(t *testing.T) {
	k := western(t)
	h := k.Hatch("salmonfly")
	worst := 0.0
	for month := 1; month <= 12; month++ {
		var seen []hatchkeys.Seen
		for day := 1; day <= 28; day++ {
			seen = append(seen, hatchkeys.Seen{Hatch: h.ID, Month: month, Day: day})
		}
		own := k.WithSightings(seen)
		before, after := k.Months(h), own.Months(own.Hatch(h.ID))
		for m := range before {
			if before[m] > 0 {
				worst = max(worst, after[m]/before[m])
			}
		}
	}
	t.Logf("a month's presence grew by at most %.2f", worst)
	if worst > hatchkeys.MaxLearn+1e-9 {
		t.Errorf("by %.2f, more than %v", worst, hatchkeys.MaxLearn)
	}
	if worst < 2 {
		t.Errorf("notes hardly count: %.2f", worst)
	}
}
