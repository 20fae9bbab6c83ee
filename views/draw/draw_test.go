package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden drawings")

var (
	groups = []string{"stonefly", "mayfly", "caddis", "midge", "damsel", "dragonfly", "cranefly", "alderfly", "hopper", "ant", "beetle", "moth", "boatman", "crayfish", "scud", "other", ""}
	stages = []string{"nymph", "nymph-ashore", "crawling-nymph", "larva", "pupa", "emerger", "shuck", "dun", "adult", "egg-layer", "spent", ""}
	wings  = []string{"upright", "flat", "roof", "short", "none", "clear-pair", "spread", ""}
	floats = []string{"high", "film", "under", "deep", ""}
)

func styleNames() []string {
	names := []string{"no-such-style"}
	for name := range styles {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// drawing is what both insects and flies are.
type drawing interface {
	SVG(io.Writer, Options) error
}

// element is one element of a drawing as it was read back.
type element struct {
	name string
	attr map[string]string
}

func (e element) is(class string) bool {
	return slices.Contains(strings.Fields(e.attr["class"]), class)
}

func (e element) number(t *testing.T, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(e.attr[name], 64)
	if err != nil {
		t.Fatalf("attribute %s: %v", name, err)
	}
	return x
}

// read reads a drawing back with an XML parser.
func read(t *testing.T, svg []byte) []element {
	t.Helper()
	var all []element
	dec := xml.NewDecoder(bytes.NewReader(svg))
	depth := 0
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{token.Name.Local, map[string]string{}}
			for _, a := range token.Attr {
				if _, twice := e.attr[a.Name.Local]; twice {
					t.Fatalf("attribute %s stands twice", a.Name.Local)
				}
				e.attr[a.Name.Local] = a.Value
			}
			all = append(all, e)
			depth++
		case xml.EndElement:
			depth--
		case xml.CharData:
			t.Fatalf("text in the drawing: %q", token)
		}
	}
	if depth != 0 || len(all) < 2 || all[0].name != "svg" {
		t.Fatalf("not one drawing: %s", svg)
	}
	return all
}

var tokens = regexp.MustCompile(`[A-Za-z]|-?(?:\d+\.?\d*|\.\d+)`)

// follow reads path data and gives the ends of its segments, stroke by stroke,
// and the rectangle around all of it.
func follow(t *testing.T, d string) (strokes [][]pt, around box) {
	t.Helper()
	around = empty()
	list := tokens.FindAllString(d, -1)
	var at, start, handle pt
	var command string
	take := func() float64 {
		if len(list) == 0 {
			t.Fatalf("path ends early: %s", d)
		}
		x, err := strconv.ParseFloat(list[0], 64)
		if err != nil {
			t.Fatalf("path data %q: %v", d, err)
		}
		list = list[1:]
		return x
	}
	point := func() pt { return pt{at.x + take(), at.y + take()} }
	visit := func(p pt) {
		around.add(p.x, p.y)
		strokes[len(strokes)-1] = append(strokes[len(strokes)-1], p)
	}
	bend := func(a, b, c pt) {
		const steps = 200
		for i := 1; i < steps; i++ {
			s := float64(i) / steps
			u := 1 - s
			around.add(u*u*u*at.x+3*u*u*s*a.x+3*u*s*s*b.x+s*s*s*c.x, u*u*u*at.y+3*u*u*s*a.y+3*u*s*s*b.y+s*s*s*c.y)
		}
		handle, at = b, c
		visit(at)
	}
	for len(list) > 0 {
		if c := list[0]; c >= "A" {
			command, list = c, list[1:]
			if command == "z" {
				at = start
				continue
			}
		}
		switch command {
		case "M":
			at = pt{take(), take()}
			start, handle = at, at
			strokes = append(strokes, nil)
			visit(at)
		case "l":
			at = point()
			visit(at)
		case "c":
			a, b, c := point(), point(), point()
			bend(a, b, c)
		case "s":
			a := pt{2*at.x - handle.x, 2*at.y - handle.y}
			b, c := point(), point()
			bend(a, b, c)
		case "a": // only half circles stand in the drawings, from side to side
			r := take()
			if take() != r || take() != 0 || take() != 1 || take() != 0 {
				t.Fatalf("unexpected arc in %s", d)
			}
			around.add(at.x, at.y-r)
			around.add(at.x, at.y+r)
			at = point()
			visit(at)
		default:
			t.Fatalf("unexpected command %q in %s", command, d)
		}
	}
	return strokes, around
}

// bodyBox is the rectangle around the parts of class body.
func bodyBox(t *testing.T, all []element) box {
	t.Helper()
	b := empty()
	for _, e := range all {
		if e.is("body") {
			_, around := follow(t, e.attr["d"])
			b.add(around.x0, around.y0)
			b.add(around.x1, around.y1)
		}
	}
	return b
}

func svgOf(t *testing.T, d drawing, opt Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := d.SVG(&b, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// eachDrawing visits every group, stage and posture, and every style and way
// to float.
func eachDrawing(mm float64, visit func(name string, d drawing)) {
	for _, g := range groups {
		for _, s := range stages {
			for _, w := range wings {
				in := Insect{Group: g, Stage: s, Wings: w, Tails: 2, LengthMM: mm, Body: "#b5662f", Wing: "#7d6a52", Dark: "#2f2a26", Gills: true}
				visit(fmt.Sprintf("%s/%s/%s/%g", g, s, w, mm), in)
			}
		}
	}
	for _, s := range styleNames() {
		for _, f := range floats {
			visit(fmt.Sprintf("%s/%s/%g", s, f, mm), Fly{Style: s, GapeMM: 5.04, LengthMM: mm, Body: "#8f9a4b", Wing: "#f0ece0", Under: "#8a8478", Floats: f})
		}
	}
}

// rounding is how far a coordinate may be off for standing in the file with
// two decimals.
const rounding = 0.01 + 1e-6

func TestBodyIsExactlyAsLongAsTheData(t *testing.T) {
	for _, mm := range []float64{1, 4, 22, 55, 120} {
		for _, scale := range []float64{1, 4} {
			if scale > 1 && mm > 4 {
				continue // as fine already
			}
			eachDrawing(mm, func(name string, d drawing) {
				b := bodyBox(t, read(t, svgOf(t, d, Options{Scale: scale})))
				if math.Abs(b.x0) > rounding || math.Abs(b.x1-mm) > rounding {
					t.Errorf("%s at %gx: body from %g to %g mm, want 0 to %g", name, scale, b.x0, b.x1, mm)
				}
			})
		}
	}
}

func TestLookingUpTurnsTheBody(t *testing.T) {
	for _, mm := range []float64{5, 45} {
		eachDrawing(mm, func(name string, d drawing) {
			b := bodyBox(t, read(t, svgOf(t, d, Options{HeadUp: true})))
			if math.Abs(b.y0) > rounding || math.Abs(b.y1-mm) > rounding {
				t.Errorf("%s: body from %g to %g mm down, want 0 to %g", name, b.y0, b.y1, mm)
			}
		})
	}
}

func TestNothingIsCutOff(t *testing.T) {
	for _, up := range []bool{false, true} {
		eachDrawing(14, func(name string, d drawing) {
			all := read(t, svgOf(t, d, Options{HeadUp: up}))
			var v [4]float64
			if _, err := fmt.Sscan(all[0].attr["viewBox"], &v[0], &v[1], &v[2], &v[3]); err != nil {
				t.Fatal(err)
			}
			for _, e := range all[1:] {
				_, b := follow(t, e.attr["d"])
				if b.x0 < v[0]-rounding || b.y0 < v[1]-rounding || b.x1 > v[0]+v[2]+rounding || b.y1 > v[1]+v[3]+rounding {
					t.Errorf("%s: %s reaches from %+v, outside of %v", name, e.attr["class"], b, v)
				}
			}
		})
	}
}

func TestSizeOnTheScreenIsTrue(t *testing.T) {
	tests := []struct {
		name          string
		opt           Options
		pxPerMM, zoom float64
	}{
		{"usual screen", Options{}, 96 / 25.4, 1}, // 96 px to the inch: CSS Values and Units
		{"calibrated screen", Options{PxPerMM: 6.3}, 6.3, 1},
		{"four times as large", Options{PxPerMM: 5, Scale: 4}, 5, 4},
		{"negative settings are as if not given", Options{PxPerMM: -3, Scale: -1}, 96 / 25.4, 1},
		{"no number", Options{PxPerMM: math.NaN(), Scale: math.NaN()}, 96 / 25.4, 1},
		{"beyond the limits", Options{PxPerMM: 1e9, Scale: 1e9}, 100, 20},
		{"infinite", Options{PxPerMM: math.Inf(1), Scale: math.Inf(1)}, 100, 20},
		{"below the limits", Options{PxPerMM: 1e-9, Scale: 1e-9}, 0.5, 0.1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			root := read(t, svgOf(t, Insect{Group: "stonefly", LengthMM: 22}, tt.opt))[0]
			var v [4]float64
			if _, err := fmt.Sscan(root.attr["viewBox"], &v[0], &v[1], &v[2], &v[3]); err != nil {
				t.Fatal(err)
			}
			// An em is a centimetre of this screen.
			if got, want := root.number(t, "font-size"), 10*tt.pxPerMM; math.Abs(got-want) > 0.01 {
				t.Errorf("a centimetre is %g px, want %g", got, want)
			}
			for side, box := range map[string]float64{"width": v[2], "height": v[3]} {
				text, ok := strings.CutSuffix(root.attr[side], "em")
				got, err := strconv.ParseFloat(text, 64)
				if want := box * tt.zoom / 10; !ok || err != nil || math.Abs(got-want) > rounding {
					t.Errorf("%s = %q, want %gem", side, root.attr[side], want)
				}
			}
		})
	}
}

func TestLengthsOutsideTheLimits(t *testing.T) {
	tests := []struct {
		mm, want float64
		unknown  bool
	}{
		{0, UnknownMM, true},
		{-3, UnknownMM, true},
		{math.NaN(), UnknownMM, true},
		{math.Inf(-1), UnknownMM, true},
		{1e-9, MinMM, false},
		{500, MaxMM, false},
		{math.MaxFloat64, MaxMM, false},
		{math.Inf(1), MaxMM, false},
		{20, 20, false},
	}
	for _, tt := range tests {
		eachDrawing(tt.mm, func(name string, d drawing) {
			all := read(t, svgOf(t, d, Options{}))
			if b := bodyBox(t, all); math.Abs(b.x1-b.x0-tt.want) > rounding {
				t.Errorf("%s: %g mm, want %g", name, b.x1-b.x0, tt.want)
			}
			if got := all[0].attr["data-length"] == "unknown"; got != tt.unknown {
				t.Errorf("%s: marked as unknown %v, want %v", name, got, tt.unknown)
			}
		})
	}
}

func TestTheGapeIsDrawn(t *testing.T) {
	deep := func(gape float64) float64 {
		for _, e := range read(t, svgOf(t, Fly{Style: "nymph", GapeMM: gape, LengthMM: 11}, Options{})) {
			if e.is("hook") {
				_, b := follow(t, e.attr["d"])
				return b.y1 - b.y0
			}
		}
		t.Fatal("no hook")
		return 0
	}
	if !(deep(6.1) > deep(4.2)) {
		t.Errorf("a gape of 6.1 mm is %g mm, one of 4.2 mm %g mm", deep(6.1), deep(4.2))
	}
	for _, gape := range []float64{-1e300, -5, 0, 400, 1e300, math.NaN(), math.Inf(1)} {
		if g := deep(gape); !(g > 2 && g < 11) {
			t.Errorf("gape %g on a fly of 11 mm is drawn %g mm deep", gape, g)
		}
	}
}

func TestViewIsWhatTheAnglerSees(t *testing.T) {
	tests := []struct{ group, stage, wings, want string }{
		{"stonefly", "adult", "flat", "above"},
		{"stonefly", "adult", "short", "above"},
		{"stonefly", "nymph-ashore", "none", "above"},
		{"stonefly", "shuck", "none", "above"},
		{"stonefly", "spent", "spread", "above"},
		{"mayfly", "dun", "upright", "side"},
		{"mayfly", "adult", "upright", "side"},
		{"mayfly", "spent", "spread", "above"},
		{"mayfly", "nymph", "none", "above"},
		{"caddis", "adult", "roof", "side"},
		{"caddis", "pupa", "none", "side"},
		{"caddis", "spent", "spread", "above"},
		{"midge", "adult", "clear-pair", "side"},
		{"midge", "pupa", "none", "side"},
		{"damsel", "adult", "upright", "side"},
		{"damsel", "nymph", "none", "above"},
		{"hopper", "adult", "flat", "above"},
		{"beetle", "adult", "none", "above"},
		{"ant", "adult", "none", "above"},
	}
	for _, tt := range tests {
		got := read(t, svgOf(t, Insect{Group: tt.group, Stage: tt.stage, Wings: tt.wings, LengthMM: 12}, Options{}))[0].attr["data-view"]
		if got != tt.want {
			t.Errorf("%s %s %s is seen from %q, want %q", tt.group, tt.stage, tt.wings, got, tt.want)
		}
	}
}

func TestOutlineFromAboveIsSymmetric(t *testing.T) {
	seen := 0
	eachDrawing(22, func(name string, d drawing) {
		all := read(t, svgOf(t, d, Options{}))
		if all[0].attr["data-view"] != "above" {
			return
		}
		seen++
		for _, e := range all {
			if !e.is("body") && !e.is("wing") && !e.is("tails") && !(e.is("legs") && strings.Count(name, "/") == 3) {
				continue
			}
			strokes, b := follow(t, e.attr["d"])
			if math.Abs(b.y0+b.y1) > rounding {
				t.Errorf("%s: %s reaches from %g to %g about the axis", name, e.attr["class"], b.y0, b.y1)
			}
			points := slices.Concat(strokes...)
			for _, p := range points {
				if !slices.ContainsFunc(points, func(q pt) bool { return math.Hypot(p.x-q.x, p.y+q.y) < rounding }) {
					t.Errorf("%s: %s has no mirror image of %v", name, e.attr["class"], p)
				}
			}
		}
	})
	if seen < 300 {
		t.Errorf("only %d drawings from above", seen)
	}
}

func countStrokes(t *testing.T, all []element, class string) int {
	t.Helper()
	n := 0
	for _, e := range all {
		if e.is(class) {
			strokes, _ := follow(t, e.attr["d"])
			n += len(strokes)
		}
	}
	return n
}

func TestTailsAreCounted(t *testing.T) {
	for _, tt := range []struct{ tails, want int }{{0, 0}, {1, 1}, {2, 2}, {3, 3}, {-4, 0}, {99, 3}} {
		for _, in := range []Insect{
			{Group: "mayfly", Stage: "dun", Wings: "upright"},
			{Group: "mayfly", Stage: "spent", Wings: "spread"},
			{Group: "mayfly", Stage: "emerger", Wings: "short"},
			{Group: "mayfly", Stage: "nymph"},
			{Group: "mayfly", Stage: "shuck"},
			{Group: "stonefly", Stage: "adult", Wings: "short"},
			{Group: "stonefly", Stage: "nymph-ashore"},
			{Group: "damsel", Stage: "nymph"},
			{Group: "alderfly", Stage: "larva"},
			{Group: "other", Stage: "adult", Wings: "flat"},
		} {
			for _, mm := range []float64{4, 25} {
				in.Tails, in.LengthMM = tt.tails, mm
				if got := countStrokes(t, read(t, svgOf(t, in, Options{})), "tails"); got != tt.want {
					t.Errorf("%s %s of %g mm with %d tails is drawn with %d, want %d", in.Group, in.Stage, mm, tt.tails, got, tt.want)
				}
			}
		}
	}
}

func TestInsectsHaveSixLegs(t *testing.T) {
	for _, g := range groups {
		for _, w := range wings {
			for _, s := range []string{"adult", "dun", "egg-layer", "spent"} {
				all := read(t, svgOf(t, Insect{Group: g, Stage: s, Wings: w, LengthMM: 20}, Options{}))
				if got := countStrokes(t, all, "legs"); got != 6 {
					t.Errorf("%s %s %s has %d legs", g, s, w, got)
				}
			}
		}
	}
}

// reach is how far back the wings go, as a share of the body.
func reach(t *testing.T, in Insect) float64 {
	t.Helper()
	in.LengthMM = 20
	far := math.Inf(-1)
	for _, e := range read(t, svgOf(t, in, Options{})) {
		if e.is("wing") {
			_, b := follow(t, e.attr["d"])
			far = max(far, b.x1/20)
		}
	}
	return far
}

func TestWingsShowTheirPosture(t *testing.T) {
	for _, g := range []string{"stonefly", "mayfly", "caddis", "hopper", "other"} {
		if got := reach(t, Insect{Group: g, Stage: "adult", Wings: "short"}); !(got > 0.2 && got < 0.47) {
			t.Errorf("short wings of a %s reach to %.2f of the body", g, got)
		}
		if got := reach(t, Insect{Group: g, Stage: "adult", Wings: "none"}); !math.IsInf(got, -1) {
			t.Errorf("a wingless %s has wings", g)
		}
	}
	for _, g := range []string{"stonefly", "caddis", "alderfly", "hopper"} {
		if got := reach(t, Insect{Group: g, Stage: "adult"}); got <= 1.02 {
			t.Errorf("folded wings of a %s reach to %.2f of the body, not past it", g, got)
		}
	}
	for _, w := range wings {
		if got := reach(t, Insect{Group: "stonefly", Stage: "nymph", Wings: w}); !math.IsInf(got, -1) {
			t.Errorf("a nymph said to have wings %q has wings", w)
		}
	}
}

func TestGillTufts(t *testing.T) {
	for _, gills := range []bool{false, true} {
		all := read(t, svgOf(t, Insect{Group: "stonefly", Stage: "shuck", Tails: 2, LengthMM: 28, Gills: gills}, Options{}))
		if got := countStrokes(t, all, "gills") > 0; got != gills {
			t.Errorf("gills drawn %v, want %v", got, gills)
		}
	}
}

func TestShuckIsHollowAndSplit(t *testing.T) {
	for _, g := range []string{"stonefly", "mayfly", "caddis", "midge", "damsel", "dragonfly"} {
		all := read(t, svgOf(t, Insect{Group: g, Stage: "shuck", LengthMM: 20, Body: "#d8bf86"}, Options{}))
		split := false
		for _, e := range all {
			split = split || e.is("split")
			if e.is("body") && (e.attr["stroke-dasharray"] == "" || e.number(t, "fill-opacity") > 0.5) {
				t.Errorf("the shuck of a %s is not hollow: %v", g, e.attr)
			}
		}
		if !split {
			t.Errorf("the shuck of a %s is not split", g)
		}
	}
}

func TestFliesOfDifferentStylesDiffer(t *testing.T) {
	seen := map[string]string{}
	for _, name := range styleNames() {
		svg := string(svgOf(t, Fly{Style: name, LengthMM: 20}, Options{}))
		if other, twice := seen[svg]; twice {
			t.Errorf("%s is drawn as %s", name, other)
		}
		seen[svg] = name
	}
}

// allowed are the attributes that may stand in a drawing: presentation only.
var allowed = strings.Fields(`xmlns class viewBox width height font-size data-view data-length role aria-label aria-hidden
	fill fill-opacity stroke stroke-width stroke-opacity stroke-linecap stroke-linejoin stroke-dasharray d`)

var color = regexp.MustCompile(`^(none|currentColor|#[0-9a-fA-F]{3}|#[0-9a-fA-F]{6})$`)

func checkPlain(t *testing.T, name string, all []element) {
	t.Helper()
	for i, e := range all {
		if i == 0 != (e.name == "svg") || i > 0 && e.name != "path" {
			t.Errorf("%s: element %s", name, e.name)
		}
		for a, v := range e.attr {
			if !slices.Contains(allowed, a) {
				t.Errorf("%s: attribute %s", name, a)
			}
			if (a == "fill" || a == "stroke") && !color.MatchString(v) {
				t.Errorf("%s: %s=%q", name, a, v)
			}
			if (strings.Contains(v, "NaN") || strings.Contains(v, "Inf")) && a != "aria-label" {
				t.Errorf("%s: %s=%q", name, a, v)
			}
		}
	}
}

func TestDrawingsAreShapesOnly(t *testing.T) {
	for _, mm := range []float64{4, 40} {
		eachDrawing(mm, func(name string, d drawing) {
			checkPlain(t, name, read(t, svgOf(t, d, Options{Class: "to-scale", Title: name})))
		})
	}
}

func TestHostileText(t *testing.T) {
	hostile := []string{
		`"><script>alert(1)</script>`,
		`red" onload="alert(1)`,
		`url(http://example.org/x)`,
		`#12345`, `#1234567`, `#xyzxyz`, `#`, "#ab\x00", `#ff0000;`, `#ＦＦＦ`,
		`javascript:alert(1)`, `currentColor`, "\xff\xfe", `'&amp;<!--`,
	}
	for _, h := range hostile {
		for _, d := range []drawing{
			Insect{Group: h, Stage: h, Wings: h, LengthMM: 10, Body: h, Wing: h, Dark: h},
			Insect{Group: "midge", Stage: "shuck", LengthMM: 10, Body: h, Wing: h, Dark: h},
			Fly{Style: h, Floats: h, LengthMM: 10, Body: h, Wing: h, Under: h},
			Fly{Style: "bushy-dry", Floats: "film", LengthMM: 10, Body: h, Wing: h, Under: h},
		} {
			svg := svgOf(t, d, Options{Title: h, Class: h})
			all := read(t, svg)
			checkPlain(t, h, all)
			if got := all[0].attr["aria-label"]; got != clean(h) {
				t.Errorf("title %q became %q", h, got)
			}
			for _, e := range all[1:] {
				for name, v := range e.attr {
					if v == h && v != "currentColor" {
						t.Errorf("%s=%q came through", name, v)
					}
				}
			}
		}
	}
}

func TestTitle(t *testing.T) {
	root := read(t, svgOf(t, Insect{LengthMM: 9}, Options{Title: "Dun & shuck < 9 mm \"small\"\x01", Class: "a b"}))[0]
	if root.attr["role"] != "img" || root.attr["aria-label"] != `Dun & shuck < 9 mm "small"` || root.attr["class"] != "a b" {
		t.Errorf("got %v", root.attr)
	}
	root = read(t, svgOf(t, Insect{LengthMM: 9}, Options{Title: " "}))[0]
	if root.attr["aria-hidden"] != "true" || root.attr["role"] != "" {
		t.Errorf("without a title: %v", root.attr)
	}
}

func TestColoursOfTheDataAreUsed(t *testing.T) {
	for _, in := range []Insect{
		{Group: "stonefly", Stage: "adult", Wings: "flat"},
		{Group: "mayfly", Stage: "dun"},
		{Group: "caddis", Stage: "pupa"},
	} {
		in.LengthMM, in.Body, in.Wing, in.Dark = 15, "#a1B2c3", "#0a0b0c", "#123"
		svg := string(svgOf(t, in, Options{}))
		for _, want := range []string{in.Body, in.Wing, in.Dark} {
			if !strings.Contains(svg, `fill="`+want+`"`) {
				t.Errorf("%s %s does not use %s", in.Group, in.Stage, want)
			}
		}
	}
}

func TestLuminance(t *testing.T) {
	// Ends of the scale: WCAG 2.2 "relative luminance". The share of green is
	// its coefficient there (from memory).
	for color, want := range map[string]float64{"#000000": 0, "#fff": 1, "#00ff00": 0.7152} {
		if got := luminance(color); math.Abs(got-want) > 1e-9 {
			t.Errorf("luminance of %s = %g, want %g", color, got, want)
		}
	}
}

func TestDrawingsAreCompact(t *testing.T) {
	for _, tt := range []struct {
		mm, scale    float64
		most, median int
	}{
		{4, 1, 2700, 1800},
		{12, 1, 4200, 2400},
		{26, 1, 4400, 2500},
		{55, 1, 5000, 2800},
		{26, 4, 4800, 2800},
		{120, 20, 5200, 2900},
	} {
		var sizes []int
		eachDrawing(tt.mm, func(name string, d drawing) {
			n := len(svgOf(t, d, Options{Scale: tt.scale}))
			if n > tt.most {
				t.Errorf("%s at %gx: %d bytes, want no more than %d", name, tt.scale, n, tt.most)
			}
			sizes = append(sizes, n)
		})
		slices.Sort(sizes)
		if m := sizes[len(sizes)/2]; m > tt.median {
			t.Errorf("%g mm at %gx: median %d bytes, want no more than %d", tt.mm, tt.scale, m, tt.median)
		}
		t.Logf("%g mm at %gx: median %d, most %d bytes", tt.mm, tt.scale, sizes[len(sizes)/2], sizes[len(sizes)-1])
	}
}

func TestSmallDrawingsAreSimpler(t *testing.T) {
	in := Insect{Group: "mayfly", Stage: "dun", Tails: 3, LengthMM: 4}
	small, large := svgOf(t, in, Options{}), svgOf(t, in, Options{Scale: 4})
	if bytes.Contains(small, []byte(`"vein"`)) || !bytes.Contains(large, []byte(`"vein"`)) {
		t.Error("veins should show when a small drawing is enlarged, and only then")
	}
}

func TestSameDataSameDrawing(t *testing.T) {
	// Drawing leaves the builds as they were: the second round is like the
	// first.
	first := map[string]string{}
	for round := range 2 {
		eachDrawing(17, func(name string, d drawing) {
			svg := string(svgOf(t, d, Options{}))
			if round == 0 {
				first[name] = svg
			} else if first[name] != svg {
				t.Errorf("%s changed", name)
			}
		})
	}
}

func TestRandomData(t *testing.T) {
	const seed = 20260811
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	pick := func(list []string) string { return list[r.IntN(len(list))] }
	text := func() string {
		b := make([]byte, r.IntN(9))
		for i := range b {
			b[i] = byte(r.IntN(256))
		}
		return string(b)
	}
	for range 2000 {
		mm := math.Exp(r.NormFloat64()*4) * float64(r.IntN(3)-1)
		opt := Options{PxPerMM: r.NormFloat64() * 10, Scale: r.NormFloat64() * 5, Title: text(), Class: text(), HeadUp: r.IntN(2) == 0}
		in := Insect{pick(groups), pick(stages), pick(wings), r.IntN(9) - 3, mm, text(), "#" + text(), text(), r.IntN(2) == 0}
		checkPlain(t, fmt.Sprintf("%#v", in), read(t, svgOf(t, in, opt)))
		f := Fly{pick(styleNames()), r.Float64()*60 - 20, mm, text(), "#" + text(), text(), pick(floats), pick([]string{"", "glass", "brass", "tungsten", "?"}), r.Float64()*12 - 2}
		checkPlain(t, fmt.Sprintf("%#v", f), read(t, svgOf(t, f, opt)))
	}
}

type brokenWriter struct{}

var errBroken = errors.New("broken")

func (brokenWriter) Write([]byte) (int, error) { return 0, errBroken }

func TestWriterErrorIsReturned(t *testing.T) {
	if err := (Insect{LengthMM: 9}).SVG(brokenWriter{}, Options{}); !errors.Is(err, errBroken) {
		t.Errorf("insect: %v", err)
	}
	if err := (Fly{LengthMM: 9}).SVG(brokenWriter{}, Options{}); !errors.Is(err, errBroken) {
		t.Errorf("fly: %v", err)
	}
}

func TestGoldenDrawings(t *testing.T) {
	for name, d := range map[string]drawing{
		"short-winged-stonefly": Insect{Group: "stonefly", Stage: "adult", Wings: "short", Tails: 2, LengthMM: 20, Body: "#d2a04a", Wing: "#6b5a44", Dark: "#4a3a28"},
		"mayfly-dun":            Insect{Group: "mayfly", Stage: "dun", Wings: "upright", Tails: 3, LengthMM: 12, Body: "#8f9a4b", Wing: "#8d949a", Dark: "#4d5230"},
		"parachute-dun":         Fly{Style: "parachute-dun", GapeMM: 4.165, LengthMM: 9, Body: "#8f9a4b", Wing: "#f0ece0", Under: "#8a8478", Floats: "film"},
	} {
		t.Run(name, func(t *testing.T) {
			// A line each, to be read in a diff.
			got := bytes.ReplaceAll(svgOf(t, d, Options{Title: name}), []byte("><"), []byte(">\n<"))
			got = append(got, '\n')
			file := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.MkdirAll("testdata", 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				g, w := strings.Split(string(got), "\n"), strings.Split(string(want), "\n")
				for i := range max(len(g), len(w)) {
					if i >= len(g) || i >= len(w) || g[i] != w[i] {
						t.Fatalf("line %d differs; look at the drawing, then run go test ./views/draw -update\ngot  %s\nwant %s", i+1, slices.Concat(g, []string{"(end)"})[min(i, len(g))], slices.Concat(w, []string{"(end)"})[min(i, len(w))])
					}
				}
			}
		})
	}
}

func BenchmarkInsect(b *testing.B) {
	in := Insect{Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2, LengthMM: 30, Body: "#d2a04a"}
	for b.Loop() {
		if err := in.SVG(io.Discard, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
