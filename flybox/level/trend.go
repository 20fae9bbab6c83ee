package level

import "time"

// Windows are the spans before now that a trend is given for, in hours.
var Windows = []int{2, 6, 24, 72}

// fewest readings that a trend is said of: with four, no order is rare enough.
const fewest = 5

// Sure is the chance of error that a trend or a step is said with.
const Sure = 0.05

// Verdict is what a trend comes to.
type Verdict string

// The verdicts. There is none for "safe".
const (
	Few     Verdict = "few"     // readings too few to tell
	Unclear Verdict = "unclear" // no trend that the readings carry
	Rising  Verdict = "rising"
	Falling Verdict = "falling"
)

// Trend is what the water did in a window.
type Trend struct {
	Hours   int
	N       int   // readings in it
	PerHour Slope // metres per hour; nothing where the verdict is Few
	Kendall
	Verdict Verdict
}

// Trends are those of the windows before now, by readings in order of time.
func Trends(readings []Reading, now time.Time) (out []Trend) {
	for _, hours := range Windows {
		x, y := within(readings, now, hours)
		t := Trend{Hours: hours, N: len(y), Verdict: Few}
		if len(y) >= fewest {
			if slope, ok := TheilSen(x, y); ok {
				t.PerHour, t.Kendall, t.Verdict = slope, MannKendall(y), Unclear
				switch {
				case t.P < Sure && slope.Mid > 0 && slope.Low >= 0:
					t.Verdict = Rising
				case t.P < Sure && slope.Mid < 0 && slope.High <= 0:
					t.Verdict = Falling
				}
			}
		}
		out = append(out, t)
	}
	return out
}

// within are hours before now and levels of the readings of a window.
func within(readings []Reading, now time.Time, hours int) (x, y []float64) {
	from := now.Add(-time.Duration(hours) * time.Hour)
	for _, r := range readings {
		if !r.At.Before(from) && !r.At.After(now) {
			x = append(x, r.At.Sub(now).Hours())
			y = append(y, r.M)
		}
	}
	return x, y
}

const (
	stepHours = 72
	// stepLeast is the least jump that is said, metres: less is a wave on the
	// staff. Judgement, no source.
	stepLeast = 0.03
)

// Jump is a step of the last days.
type Jump struct {
	Before, After time.Time // of the readings on both sides
	Metres        float64
}

// LastJump is a sudden step in the readings of the last three days, as from a
// release; ok is false if they show none. A steady rise or fall is none: the
// step has to be most of what the level did.
func LastJump(readings []Reading, now time.Time) (j Jump, ok bool) {
	x, y := within(readings, now, stepHours)
	s, ok := Pettitt(y)
	if !ok || s.P >= Sure || s.At == 0 || max(s.Size, -s.Size) < stepLeast {
		return j, false
	}
	across := y[s.At] - y[s.At-1]
	if max(across, -across) < max(s.Size, -s.Size)/2 {
		return j, false
	}
	at := func(i int) time.Time { return now.Add(time.Duration(x[i] * float64(time.Hour))).Round(time.Second) }
	return Jump{Before: at(s.At - 1), After: at(s.At), Metres: s.Size}, true
}

const (
	riseHours = 24
	// riseLeast is a rise that is more than misreading a staff, metres.
	// Judgement, no source.
	riseLeast = 0.01
)

// Rose tells whether the newest reading stands above the one before it, where
// both are of the last day: whatever a test says of so few, who wades should
// know.
func Rose(readings []Reading, now time.Time) bool {
	_, y := within(readings, now, riseHours)
	n := len(y)
	return n >= 2 && y[n-1]-y[n-2] >= riseLeast
}
