package foam

import (
	"math"
	"strconv"
	"strings"
)

// margin of a drawing around its piece, mm.
const margin = 3

// SVG is the piece on millimetre squares, the head or fold up, one unit of its
// viewBox to the mm. With pxPerMM of 0 it measures itself in mm, for paper;
// otherwise in px for a screen of that scale. Title is its accessible name.
func (p Piece) SVG(pxPerMM float64, title string) string {
	front, back, half := p.Bounds()
	x0 := math.Ceil(half) + margin // where the axis lies: on a line of the grid
	y0 := math.Ceil(-front) + margin
	w, h := 2*x0, y0+math.Ceil(back)+margin
	var b strings.Builder
	open(&b, w, h, pxPerMM, title)
	grid(&b, int(w), int(h))
	path := func(class, d, extra string) {
		b.WriteString(`<path class="` + class + `" d="` + d + `" fill="none" stroke="currentColor" ` + extra + `></path>`)
	}
	at := func(q Point) string { return fmt3(x0+q.Y) + " " + fmt3(y0+q.X) }
	line := func(a, c Point) string { return "M" + at(a) + "L" + at(c) }
	path("axis", line(Point{front - 2, 0}, Point{back + 2, 0}), `stroke-width=".2" stroke-dasharray="3 1 .6 1"`)
	if p.Fold {
		path("foldline", line(Point{0, -half - 2}, Point{0, half + 2}), `stroke-width=".35" stroke-dasharray="1.2 .8"`)
	}
	if p.Shank[1] > p.Shank[0] {
		path("shank", line(Point{p.Shank[0], 0}, Point{p.Shank[1], 0}), `stroke-width=".8" stroke-linecap="round"`)
	}
	for _, x := range p.Ties {
		y := p.halfAt(x)
		path("tiein", line(Point{x, -y}, Point{x, y}), `stroke-width=".2" stroke-dasharray=".6 .6"`)
	}
	for _, l := range p.Legs {
		b.WriteString(`<circle class="leg" cx="` + fmt3(x0+l.Y) + `" cy="` + fmt3(y0+l.X) + `" r=".45" fill="currentColor"></circle>`)
	}
	var d strings.Builder
	for i, q := range p.Outline {
		d.WriteString(string("ML"[min(i, 1)]) + at(q))
	}
	path("cutline", d.String()+"Z", `stroke-width=".3" stroke-linejoin="round"`)
	b.WriteString("</svg>")
	return b.String()
}

// halfAt is half the width of the outline at X.
func (p Piece) halfAt(x float64) (half float64) {
	for i := 1; i < len(p.Outline); i++ {
		a, c := p.Outline[i-1], p.Outline[i]
		if a.Y < 0 || c.Y < 0 {
			break
		}
		if a.X <= x && x <= c.X && c.X > a.X {
			half = math.Max(half, a.Y+(c.Y-a.Y)*(x-a.X)/(c.X-a.X))
		}
	}
	return half
}

// RulerMM is the length of the bar, and the side of the square, that shows
// whether the paper is true to scale.
const RulerMM = 50

// Ruler is a square of 50 mm with its lower side drawn as a bar, to be
// measured along both edges of the paper.
func Ruler(pxPerMM float64, title string) string {
	const m = 2
	var b strings.Builder
	open(&b, RulerMM+2*m, RulerMM+2*m, pxPerMM, title)
	b.WriteString(`<rect class="square" x="2" y="2" width="50" height="50" fill="none" stroke="currentColor" stroke-width=".2"></rect>`)
	b.WriteString(`<rect class="bar" x="2" y="51" width="50" height="1" fill="currentColor"></rect>`)
	var d strings.Builder
	for i := 1; i < RulerMM; i++ {
		long := 1.0
		if i%10 == 0 {
			long = 3
		} else if i%5 == 0 {
			long = 2
		}
		x := strconv.Itoa(m + i)
		d.WriteString("M" + x + " 51V" + fmt3(51-long) + "M2 " + x + "H" + fmt3(2+long))
	}
	b.WriteString(`<path class="ticks" d="` + d.String() + `" fill="none" stroke="currentColor" stroke-width=".15"></path>`)
	b.WriteString(`<text x="27" y="44" text-anchor="middle" font-size="5" fill="currentColor">50 mm</text></svg>`)
	return b.String()
}

// open begins an svg element of w by h mm.
func open(b *strings.Builder, w, h, pxPerMM float64, title string) {
	if pxPerMM > 0 {
		b.WriteString(`<svg class="true onscreen" font-size="` + fmt3(10*pxPerMM) + `" width="` + fmt3(w/10) + `em" height="` + fmt3(h/10) + `em"`)
	} else {
		b.WriteString(`<svg class="onpaper" width="` + fmt3(w) + `mm" height="` + fmt3(h) + `mm"`)
	}
	b.WriteString(` viewBox="0 0 ` + fmt3(w) + " " + fmt3(h) + `" role="img" aria-label="` + escape(title) + `">`)
}

// grid is squares of 1 mm, every fifth and tenth line stronger.
func grid(b *strings.Builder, w, h int) {
	for _, g := range []struct {
		class, width string
		every        int
	}{{"mm1", ".06", 1}, {"mm5", ".1", 5}, {"mm10", ".16", 10}} {
		b.WriteString(`<path class="grid ` + g.class + `" fill="none" stroke="currentColor" stroke-opacity=".55" stroke-width="` + g.width + `" d="`)
		for x := 0; x <= w; x += g.every {
			b.WriteString("M" + strconv.Itoa(x) + " 0V" + strconv.Itoa(h))
		}
		for y := 0; y <= h; y += g.every {
			b.WriteString("M0 " + strconv.Itoa(y) + "H" + strconv.Itoa(w))
		}
		b.WriteString(`"></path>`)
	}
}

// fmt3 writes mm to a thousandth.
func fmt3(x float64) string {
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;").Replace(s)
}
