package match

import (
	"math"
	"slices"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/colour"
)

// Quarry is the insect that a fly is to stand for. Whatever is empty does not
// count. Stage, Group and Water are codes of the key.
type Quarry struct {
	Stage hatchkeys.Stage
	Group hatchkeys.Group
	// Length of the body in mm without tails, as it occurs or as it was seen:
	// any length within is as good.
	Length  hatchkeys.Range
	Colours []string // body colours that occur, #rrggbb, the commonest first
	// Seen is the body colour that was seen, #rrggbb, if it was: then that
	// colour counts, and of the others those that may have been meant by it.
	Seen   string
	Wing   string         // wing colour, #rrggbb
	Wings  flybox.Posture // empty: as usual for its group and stage
	Floats flybox.Float   // empty: as usual for its group and stage
	Water  string         // kind of water
	// Like is what it looks like, a code of the key, where group and stage do
	// not say enough (a beetle among terrestrials).
	Like string
}

// Parts of a score.
const (
	PartLength = "length"
	PartColour = "colour"
	PartShape  = "shape"
	PartFloats = "floats"
	PartWings  = "wings"
	PartWing   = "wing-colour"
	PartWater  = "water"
)

const (
	partLength = iota
	partColour
	partShape
	partFloats
	partWings
	partWing
	partWater
	partCount
)

var partCodes = [partCount]string{PartLength, PartColour, PartShape, PartFloats, PartWings, PartWing, PartWater}

// weights of the parts in the geometric mean. Judgement, no source.
var weights = [partCount]float64{partLength: 3, partColour: 2, partShape: 4, partFloats: 2, partWings: 1, partWing: 0.5, partWater: 0.5}

const (
	// shortSD and longSD are how far, in ln(fly length / body length), a fly
	// may lie outside the range of the insect: a standard deviation each. The
	// trade ties and sells large insects a good deal shorter than they are,
	// and "a size smaller, never larger" is the usual advice (common practice,
	// no source); the figures were chosen so that the hooks of the trade fit
	// their insects, see trade_test.go.
	shortSD = 0.28
	longSD  = 0.17
	// colourSD is the same for the CIEDE2000 distance. Assumed.
	colourSD = 18.0
	// notKnown is the score of a part of which the fly says nothing.
	notKnown = 0.5
	// leastPart is the least that a part can score, so that one misfit does
	// not make all others equal.
	leastPart = 0.01

	// FitScore is the score from which a fly fits, and what its parts must
	// reach besides: FitNear for length (a fifth too long, a third too short)
	// and colour
	// (within about 23), FitPart for shape, float and wings. Judgement, no
	// source.
	FitScore = 0.66
	FitNear  = 0.45
	FitPart  = 0.35
)

// CompiledFly is a fly made ready for scoring.
type CompiledFly struct {
	Fly flybox.Fly

	style    int // in Styles
	lnMM     float64
	mm       float64    // 0 if not known
	seen     colour.Lab // the colour that a fish sees
	wing     colour.Lab
	floats   int // in Floats, -1 if not known
	wings    int // in Postures, -1 if not known
	hasSeen  bool
	hasWing  bool
	seenHex  string
	penned   bool // coloured with a pen to what is wanted
	sunk     bool // weighted or rubbed dry of floatant
	estimate bool // mm is from the hook
}

// CompileFly makes a fly ready for scoring.
func CompileFly(f flybox.Fly) CompiledFly {
	c := CompiledFly{Fly: f, style: slices.Index(flybox.Styles, f.Style)}
	c.mm, c.estimate = LengthMM(f.Pattern)
	c.lnMM = math.Log(c.mm)
	c.floats, c.wings = slices.Index(flybox.Floats, FloatsOf(f.Pattern)), slices.Index(flybox.Postures, wingsOf(f.Pattern))
	c.seenHex = f.Body
	if f.Under != "" && (FloatsOf(f.Pattern) == flybox.High || FloatsOf(f.Pattern) == flybox.Film) {
		c.seenHex = f.Under
	}
	c.seen, c.hasSeen = colour.Parse(c.seenHex)
	c.wing, c.hasWing = colour.Parse(f.Wing)
	return c
}

// CompileFlies makes all of a state's flies ready, in the order of Patterns.
func CompileFlies(s *flybox.State) []CompiledFly {
	flies := s.Patterns()
	out := make([]CompiledFly, len(flies))
	for i, f := range flies {
		out[i] = CompileFly(f)
	}
	return out
}

// CompileForms makes all forms of a key ready, in their order.
func CompileForms(key *hatchkeys.Key) []CompiledQuarry {
	out := make([]CompiledQuarry, key.FormCount())
	for i := range out {
		out[i] = CompileQuarry(Of(key.FormAt(i)))
	}
	return out
}

// CompiledQuarry is a quarry made ready for scoring.
type CompiledQuarry struct {
	Quarry Quarry // with what is usual filled in

	lnFrom, lnTo float64 // of the length
	colours      []target
	wing         colour.Lab
	hasWing      bool
	floats       int // in Floats, -1 if it does not count
	wings        int // in Postures, -1 if it does not count
	shape        []float64
	water        []float64 // nil if it does not count
	weight       float64   // sum of weights of the parts that count
	counts       [partCount]bool
}

// CompileQuarry makes a quarry ready for scoring. Codes that are not known
// are taken as empty.
func CompileQuarry(q Quarry) CompiledQuarry {
	if !slices.Contains(flybox.Postures, q.Wings) {
		q.Wings = usualWings(q.Group, q.Stage)
	}
	if !slices.Contains(flybox.Floats, q.Floats) {
		q.Floats = usualFloat(q.Group, q.Stage)
	}
	c := CompiledQuarry{Quarry: q, floats: slices.Index(flybox.Floats, q.Floats), wings: slices.Index(flybox.Postures, q.Wings)}
	c.counts[partLength] = q.Length.From > 0 && q.Length.To >= q.Length.From && !math.IsInf(q.Length.To, 1)
	c.lnFrom, c.lnTo = math.Log(q.Length.From), math.Log(q.Length.To)
	c.colours = q.targets()
	c.counts[partColour] = len(c.colours) > 0
	c.wing, c.hasWing = colour.Parse(q.Wing)
	c.counts[partWing] = c.hasWing
	c.counts[partFloats], c.counts[partWings] = c.floats >= 0, c.wings >= 0
	if scores, ok := q.scores(); ok {
		c.counts[partShape] = true
		c.shape = make([]float64, len(flybox.Styles))
		for i, style := range flybox.Styles {
			c.shape[i] = max(scores[style], shapeElse)
		}
	}
	if w := slices.Index(waters, q.Water); w >= 0 {
		c.counts[partWater] = true
		c.water = make([]float64, len(flybox.Styles))
		for i, style := range flybox.Styles {
			c.water[i] = 1
			if by, ok := waterScore[style]; ok {
				c.water[i] = by[w]
			}
		}
	}
	for p, counts := range c.counts {
		if counts {
			c.weight += weights[p]
		}
	}
	return c
}

// parts scores each part, leastPart to 1; what does not count scores 1.
func (c *CompiledQuarry) parts(f *CompiledFly) (part [partCount]float64) {
	for p := range part {
		part[p] = 1
	}
	if c.counts[partLength] {
		part[partLength] = notKnown
		if f.mm > 0 {
			z := c.beyond(f.lnMM)
			part[partLength] = math.Exp(-z * z / 2)
		}
	}
	if c.counts[partColour] {
		part[partColour] = notKnown
		if f.hasSeen {
			_, part[partColour] = c.nearest(f)
		}
	}
	if c.counts[partShape] {
		part[partShape] = shapeElse
		if f.style >= 0 {
			part[partShape] = c.shape[f.style]
		}
	}
	if c.counts[partFloats] {
		part[partFloats] = notKnown
		if f.floats >= 0 {
			part[partFloats] = floatScore[f.floats][c.floats]
		}
	}
	if c.counts[partWings] {
		part[partWings] = notKnown
		if f.wings >= 0 {
			part[partWings] = wingScore[f.wings][c.wings]
		}
	}
	if c.counts[partWing] {
		part[partWing] = notKnown
		if f.hasWing {
			z := colour.DeltaE(f.wing, c.wing) / colourSD
			part[partWing] = math.Exp(-z * z / 2)
		}
	}
	if c.counts[partWater] && f.style >= 0 {
		part[partWater] = c.water[f.style]
	}
	for p := range part {
		part[p] = max(part[p], leastPart)
	}
	return part
}

// score is the weighted geometric mean of the parts.
func (c *CompiledQuarry) score(part *[partCount]float64) float64 {
	if c.weight == 0 {
		return notKnown
	}
	var sum float64
	for p, s := range part {
		if c.counts[p] && s < 1 {
			sum += weights[p] * math.Log(s)
		}
	}
	return math.Exp(sum / c.weight)
}

// fits tells whether a fly with these parts will do.
func (c *CompiledQuarry) fits(score float64, part *[partCount]float64) bool {
	if score < FitScore {
		return false
	}
	return part[partLength] >= FitNear && part[partColour] >= FitNear &&
		part[partShape] >= FitPart && part[partFloats] >= FitPart && part[partWings] >= FitPart
}

// Score is how well a fly stands for a quarry, 0 to 1, whether or not one is
// left. It does not allocate.
func Score(f *CompiledFly, q *CompiledQuarry) float64 {
	part := q.parts(f)
	return q.score(&part)
}

// Utility is what tying a fly on is worth, 0 to 1: its Score, or 0 if none is
// left. It does not allocate.
func Utility(f *CompiledFly, q *CompiledQuarry) float64 {
	if f.Fly.Left <= 0 {
		return 0
	}
	return Score(f, q)
}
