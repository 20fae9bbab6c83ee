package plan

import (
	"fmt"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/kept"
)

// What the examples leave open stays as it was: trips over the invented
// season.
func TestPlansAreAsKept(t *testing.T) {
	three, half := 3, 0.2
	height := 1800.0
	var got []any
	for _, change := range []func(*flybox.Trip){
		nil,
		func(b *flybox.Trip) { b.Skill, b.Rods = "novice", 2 },
		func(b *flybox.Trip) { b.Skill, b.Hours, b.Level, b.PerSlot = "practised", 5, 0.8, 4 },
		func(b *flybox.Trip) { b.From, b.To, b.Evenings = "2026-06-08", "2026-06-14", &three },
		func(b *flybox.Trip) { b.Working, b.Blind, b.Rates = 5, &half, &flybox.TripRates{Dry: 1, Sunk: 4} },
		func(b *flybox.Trip) {
			b.Waters = []flybox.TripWater{{Type: "freestone", Altitude: &height}, {Type: "stillwater"}, {}}
			b.EveningHours, b.TieMinutes = 3, 20
		},
	} {
		p := Make(demoRequest(t, change))
		type line struct {
			Fly, Uses, Reason                          string
			Need, Want, Take, Tie, ByThen, AtHand, Way int
			Mean, Size, Enough                         float64
		}
		type hatch struct {
			ID                           string
			Chance                       []float64
			Best                         int
			Share, Pull, RodDays, Spread float64
		}
		all := struct {
			Lines        []line
			Hatches      []hatch
			Stands       []string
			All          Demand
			RodDays      float64
			Used         int
			Tying        Tying
			Blind        float64
			GoneBy       [ways]float64
			Needs        []Material
			Missed, Days int
		}{All: p.All, RodDays: p.RodDays, Used: p.Used, Tying: p.Tying, Blind: p.Blind, GoneBy: p.GoneBy, Needs: p.Needs(), Missed: len(p.Missed()), Days: len(p.Days)}
		for _, l := range p.Lines {
			uses := ""
			for _, u := range l.Uses {
				name := string(u.Blind)
				if u.Hatch != nil {
					name = u.Hatch.ID + " " + u.Form.ID
				}
				uses += fmt.Sprintf("%s %.6f %.6f; ", name, u.Flies, u.Score)
			}
			all.Lines = append(all.Lines, line{l.Fly.Name, uses, string(l.Reason), l.Need, l.Want, l.Take, l.Tie, l.ByThen, l.AtHand, int(l.Way), l.Demand.Mean, l.Demand.Size, l.Enough()})
		}
		for _, o := range p.Hatches {
			all.Hatches = append(all.Hatches, hatch{o.Hatch.ID, o.Chance, o.Best, o.Share, o.pull, o.rodDays, o.spread})
		}
		for _, s := range p.Stands {
			all.Stands = append(all.Stands, fmt.Sprintf("%s %s %.6f %d of %d", s.Hatch.ID, s.Form.ID, s.Chance, s.Have, s.Number))
		}
		got = append(got, all)
	}
	kept.Same(t, "plans.jsonl", got...)
}
