package foam

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

// plain is a body of usual measures.
func plain() Spec {
	return Spec{Length: 24, Width: 6, Segments: 6, Taper: 0.4, Head: 4, Thick: 2, Layers: 2, Legs: 3, Hook: 8, Shank: match.XLong(2), Wire: Standard, Water: 12}
}

// randomSpecs calls f with specs that have no problems.
func randomSpecs(t *testing.T, seed uint64, n int, f func(t *testing.T, s Spec)) {
	t.Helper()
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	for tried := 0; n > 0; tried++ {
		if tried > 100000 {
			t.Fatal("no spec without problems comes up")
		}
		s := Spec{
			Length: between(MinLength, MaxLength), Width: between(MinWidth, MaxWidth), Segments: 1 + rng.IntN(MaxSegments), Taper: between(0, MaxTaper),
			Head: between(MinHead, 20), Thick: between(MinThick, MaxThick), Layers: 1 + rng.IntN(MaxLayers), Step: between(0, 1.5) * float64(rng.IntN(2)),
			Fold: rng.IntN(2) == 0, Legs: rng.IntN(MaxLegs + 1), Hook: flybox.MinHook + rng.IntN(20), Shank: between(0.8, 1.5), Wire: Wires[rng.IntN(3)], Water: between(0, 25),
		}
		if len(s.Check()) > 0 {
			continue
		}
		n--
		f(t, s)
		if t.Failed() {
			t.Fatalf("spec %+v", s)
		}
	}
}

// mirrors tells how far a closed outline is from its mirror image: for each
// point the nearest of the other side.
func mirrors(outline []Point, flip func(Point) Point) float64 {
	worst := 0.0
	for _, p := range outline {
		q, best := flip(p), math.Inf(1)
		for _, r := range outline {
			best = math.Min(best, math.Hypot(q.X-r.X, q.Y-r.Y))
		}
		worst = math.Max(worst, best)
	}
	return worst
}

func TestPiecesAreTheirOwnMirrorImages(t *testing.T) {
	across := func(p Point) Point { return Point{p.X, -p.Y} }
	along := func(p Point) Point { return Point{-p.X, p.Y} }
	randomSpecs(t, 11, 150, func(t *testing.T, s Spec) {
		for _, p := range s.Pieces() {
			if d := mirrors(p.Outline, across); d > 1e-12 {
				t.Errorf("layers %v: left and right differ by %g mm", p.Layers, d)
			}
			if p.Fold {
				if d := mirrors(p.Outline, along); d > 1e-12 {
					t.Errorf("the halves of the fold differ by %g mm", d)
				}
			}
			if len(p.Legs) > 0 {
				if d := mirrors(p.Legs, across); d > 1e-12 {
					t.Errorf("legs differ by %g mm", d)
				}
			}
		}
	})
}

// The area by the shoelace formula against the areas of the parts: for the
// polygon exactly (a sector of an inscribed polygon is half the sine of its
// angle), and for the true curves to a thousandth.
func TestAreaIsThatOfItsParts(t *testing.T) {
	randomSpecs(t, 12, 400, func(t *testing.T, s Spec) {
		s.Step, s.Fold = 0, false
		for _, fold := range []bool{false, s.Layers > 1} {
			s.Fold = fold
			front := 0.0
			if fold {
				front = foldShare * s.Width / 2
			}
			half, tail := s.Width/2, s.tailHalf()
			parts := func(quarter float64) float64 { // of the unit circle
				head := front*s.Head + (half-front)*s.Head*quarter
				body := (s.Length - s.Head - tail) * (half + tail) / 2
				return 2 * (head + body + tail*tail*quarter)
			}
			polygon, curve := parts(arcs*math.Sin(math.Pi/2/arcs)/2), parts(math.Pi/4)
			want, about := polygon, curve
			if fold { // twice, and the strip that is bent
				strip := 2 * front * s.FoldAllowance()
				want, about = 2*polygon+strip, 2*curve+strip
			}
			got := Area(s.Pieces()[0].Outline)
			if math.Abs(got-want) > 1e-9*want {
				t.Errorf("fold %v: area %v, want %v", fold, got, want)
			}
			if math.Abs(got-about) > 1e-3*about {
				t.Errorf("fold %v: area %v, of the curves %v", fold, got, about)
			}
		}
	})
}

func TestLayersNest(t *testing.T) {
	randomSpecs(t, 13, 300, func(t *testing.T, s Spec) {
		edges := s.edges()
		for i := 1; i < len(edges); i++ {
			step := s.Step
			if s.Fold && i == 1 {
				step = 0
			}
			for _, p := range edges[i] {
				if got := HalfWidth(edges[i-1], p.X); p.Y > math.Max(got-step, 0)+1e-9 {
					t.Errorf("layer %d is %v wide at %v, that beneath %v", i+1, p.Y, p.X, got)
				}
			}
			if first := edges[i][0].X - edges[i-1][0].X; first < step-1e-9 {
				t.Errorf("layer %d begins %v behind that beneath, want %v", i+1, first, step)
			}
			if len(edges[i]) < 3 || Area(mirrored(edges[i])) <= 0 {
				t.Errorf("layer %d has no area", i+1)
			}
		}
	})
}

func cross(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

func TestOutlinesDoNotCrossThemselves(t *testing.T) {
	randomSpecs(t, 14, 60, func(t *testing.T, s Spec) {
		for _, p := range s.Pieces() {
			o := p.Outline
			for i := range o {
				a, b := o[i], o[(i+1)%len(o)]
				for j := i + 2; j < len(o); j++ {
					if i == 0 && j == len(o)-1 {
						continue // neighbours
					}
					c, d := o[j], o[(j+1)%len(o)]
					if cross(a, b, c)*cross(a, b, d) < 0 && cross(c, d, a)*cross(c, d, b) < 0 {
						t.Errorf("layers %v: %v-%v crosses %v-%v", p.Layers, a, b, c, d)
					}
				}
			}
		}
	})
}

// inside tells whether a point is within a closed outline, by counting how
// often a ray leaves it.
func inside(o []Point, p Point) bool {
	in := false
	for i := range o {
		a, b := o[i], o[(i+1)%len(o)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}

func TestStationsLieInside(t *testing.T) {
	randomSpecs(t, 15, 300, func(t *testing.T, s Spec) {
		for i, p := range s.Pieces() {
			for _, l := range p.Legs {
				if !inside(p.Outline, l) {
					t.Errorf("layers %v: leg at %v is outside", p.Layers, l)
				}
			}
			front, back, _ := p.Bounds()
			for _, x := range p.Ties {
				if x <= front || x >= back {
					t.Errorf("layers %v: thread at %v is outside", p.Layers, x)
				}
			}
			if want := 2 * s.Legs; i == 0 && !s.Fold && len(p.Legs) != want {
				t.Errorf("%d stations, want %d", len(p.Legs), want)
			}
		}
	})
}

func TestFoldLeavesRoomForTheBend(t *testing.T) {
	s := plain()
	s.Fold = true
	p := s.Pieces()
	if len(p) != 1 || !p[0].Fold || len(p[0].Layers) != 2 {
		t.Fatalf("pieces %+v, want one of two layers", p)
	}
	front, back, half := p[0].Bounds()
	// By hand: 24 + 24 + half a circle of radius 1 = 48 + 3.14159.
	if got := back - front; math.Abs(got-51.141592653589793) > 1e-9 {
		t.Errorf("length %v", got)
	}
	if half != 3 || len(p[0].Ties) != 12 || len(p[0].Legs) != 12 {
		t.Errorf("half width %v, %d ties, %d legs", half, len(p[0].Ties), len(p[0].Legs))
	}
	// By hand: 9.7 x 1.1^4 x 1.1^2 = 17.184 of shank, behind the fold.
	if got := p[0].Shank[1] - p[0].Shank[0]; math.Abs(got-17.1841) > 1e-3 || p[0].Shank[0] != s.FoldAllowance()/2 {
		t.Errorf("shank %v", p[0].Shank)
	}
}

func TestSegmentsAreEqual(t *testing.T) {
	s := plain()
	want := []float64{4, 4 + 20./6, 4 + 40./6, 14, 4 + 80./6, 4 + 100./6} // by hand: 20 mm in six
	for i, x := range s.Ties() {
		if math.Abs(x-want[i]) > 1e-12 {
			t.Errorf("thread %d at %v, want %v", i, x, want[i])
		}
	}
}

var (
	cutline = regexp.MustCompile(`class="cutline" d="([^"]*)"`)
	legs    = regexp.MustCompile(`<circle class="leg" cx="([^"]*)" cy="([^"]*)"`)
	numbers = regexp.MustCompile(`-?[0-9.]+`)
)

func decimal(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// What is drawn is what was worked out, to half a thousandth of a mm, with the
// axis and the front on lines of the grid.
func TestDrawingIsTheGeometry(t *testing.T) {
	randomSpecs(t, 16, 100, func(t *testing.T, s Spec) {
		for _, p := range s.Pieces() {
			text := p.SVG(0, `a "piece" <1>`)
			front, back, half := p.Bounds()
			x0, y0 := math.Ceil(half)+margin, math.Ceil(-front)+margin
			if !strings.Contains(text, `aria-label="a &#34;piece&#34; &lt;1&gt;"`) {
				t.Error("the name is not escaped")
			}
			w, h := 2*x0, y0+math.Ceil(back)+margin
			for _, want := range []string{`width="` + fmt3(w) + `mm"`, `height="` + fmt3(h) + `mm"`, `viewBox="0 0 ` + fmt3(w) + " " + fmt3(h) + `"`} {
				if !strings.Contains(text, want) {
					t.Errorf("the drawing has no %s", want)
				}
			}
			list := numbers.FindAllString(cutline.FindStringSubmatch(text)[1], -1)
			if len(list) != 2*len(p.Outline) {
				t.Fatalf("%d numbers drawn, want %d", len(list), 2*len(p.Outline))
			}
			for i, q := range p.Outline {
				if x, y := decimal(t, list[2*i])-x0, decimal(t, list[2*i+1])-y0; math.Abs(x-q.Y) > 5.0001e-4 || math.Abs(y-q.X) > 5.0001e-4 {
					t.Errorf("point %d is drawn at %v, %v, want %v, %v", i, x, y, q.Y, q.X)
				}
			}
			drawn := legs.FindAllStringSubmatch(text, -1)
			if len(drawn) != len(p.Legs) {
				t.Fatalf("%d legs drawn, want %d", len(drawn), len(p.Legs))
			}
			for i, l := range p.Legs {
				if math.Abs(decimal(t, drawn[i][1])-x0-l.Y) > 5.0001e-4 || math.Abs(decimal(t, drawn[i][2])-y0-l.X) > 5.0001e-4 {
					t.Errorf("leg %d is drawn at %v, want %v", i, drawn[i][1:], l)
				}
			}
		}
	})
	screen := plain().Pieces()[0].SVG(5, "x")
	if !strings.Contains(screen, `font-size="50"`) || !strings.Contains(screen, `width="1.2em"`) {
		t.Errorf("on a screen: %.200s", screen)
	}
	if r := Ruler(0, "r"); !strings.Contains(r, `width="54mm"`) || !strings.Contains(r, `class="bar" x="2" y="51" width="50"`) {
		t.Errorf("ruler: %.200s", r)
	}
}

func TestPiecesFitOnASheet(t *testing.T) {
	// A4 is 210 by 297 mm (ISO 216), letter 215.9 by 279.4 (ANSI/ASME Y14.1):
	// within margins of 12 mm on both, side by side above the square.
	const wide, high = 210 - 24, 279.4 - 24
	randomSpecs(t, 17, 300, func(t *testing.T, s Spec) {
		w, h := 0.0, 0.0
		for _, p := range s.Pieces() {
			front, back, half := p.Bounds()
			w += 2 * (math.Ceil(half) + margin)
			h = math.Max(h, math.Ceil(-front)+math.Ceil(back)+2*margin)
		}
		if w > wide || h+RulerMM+4 > high {
			t.Errorf("%v by %v mm with the square", w, h+RulerMM+4)
		}
	})
}

func TestWhatCannotBeCut(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Spec)
		want   string
	}{
		"usual":               {func(*Spec) {}, ""},
		"too long":            {func(s *Spec) { s.Length = 81 }, "length " + journal.CodeRange},
		"no number":           {func(s *Spec) { s.Length = math.NaN() }, "length " + journal.CodeRange},
		"wider than long":     {func(s *Spec) { s.Length, s.Width = 10, 11 }, "width " + journal.CodeRange},
		"no segment":          {func(s *Spec) { s.Segments = 0 }, "segments " + journal.CodeRange},
		"all taper":           {func(s *Spec) { s.Taper = 1 }, "taper " + journal.CodeRange},
		"all head":            {func(s *Spec) { s.Head = 13 }, "head " + journal.CodeRange},
		"head meets the tail": {func(s *Spec) { s.Width, s.Head, s.Taper = 24, 12, 0 }, "head " + CodeHeadTooLong},
		"one layer folded":    {func(s *Spec) { s.Layers, s.Fold = 1, true }, "layers " + CodeNothingToFold},
		"more legs than ties": {func(s *Spec) { s.Segments = 2 }, "legs " + CodeMoreLegs},
		"nothing left on top": {func(s *Spec) { s.Step = 2.6 }, "step " + CodeNothingLeft},
		"unknown wire":        {func(s *Spec) { s.Wire = "barbed" }, "wire " + journal.CodeUnknown},
		"foam of lead":        {func(s *Spec) { s.Density = 11 }, "density " + journal.CodeRange},
	} {
		s := plain()
		c.change(&s)
		got := ""
		if p := s.Check(); len(p) > 0 {
			got = p[0].Field + " " + p[0].Code
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestEveryFlyHasABodyToStartFrom(t *testing.T) {
	for _, style := range flybox.Styles {
		for _, mm := range []float64{0, flybox.MinLengthMM, 9, 22, 64, flybox.MaxLengthMM} {
			for _, hook := range []int{0, flybox.MinHook, 12, flybox.MaxHook} {
				s := For(flybox.Pattern{Style: style, Length: mm, Hook: hook})
				if p := s.Check(); len(p) > 0 {
					t.Errorf("%s of %v mm on a %d: %v", style, mm, hook, p)
				}
			}
		}
	}
}
