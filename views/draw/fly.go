package draw

import (
	"math"
	"slices"
)

// sketch draws the fly.
func (f Fly) sketch(s *sketch) {
	d := dressing{
		sketch: s,
		body:   hex(f.Body, neutralBody),
		wing:   hex(f.Wing, neutralWing),
		under:  hex(f.Under, neutralDark),
	}
	style, ok := styles[f.Style]
	if !ok {
		style = styles["upright-dun"]
		style.dress = plainFly
	}
	s.view = "side"
	if style.top {
		s.view = "above"
	}
	d.bare(f, style)
	style.dress(&d)
	d.bead(f)
	d.surface(f.Floats, style)
}

// beadColours are about what is sold most.
var beadColours = map[string]string{"glass": "#7f9fb0", "brass": "#c9a13c", "tungsten": "#8a8478"}

// bead sits behind the eye.
func (d *dressing) bead(f Fly) {
	c, ok := beadColours[f.Bead]
	if !ok {
		return
	}
	r := 7.0 // of 100, where its size is not known
	if f.BeadMM > 0 && d.mm > 0 {
		r = min(max(50*f.BeadMM/d.mm, 4), 16)
	}
	d.fill("body bead", circle(3+r, 0, r), c, 1)
	d.line("body bead", circle(3+r, 0, r), .8)
}

// style is how a kind of fly is built.
type style struct {
	// shank is where the bend begins, of 100 from the eye; less than 100 where
	// a body runs on past it.
	shank float64
	// gape is that of the usual hook, for a fly of unknown hook size.
	gape float64
	bent bool // a curved shank
	top  bool // seen from above, when no gape shows
	// level is how far the surface is below the shank where the fly stands on
	// it or hangs in it.
	level float64
	dress func(*dressing)
}

// dressing is a fly on its way: the shank lies at y = 0 with the eye at 0.
type dressing struct {
	*sketch
	body, wing, under string
	gape              float64
	shank             float64 // where the bend begins
}

// bare is the hook.
func (d *dressing) bare(f Fly, st style) {
	d.gape = st.gape
	if f.GapeMM > 0 {
		d.gape = 100 * f.GapeMM / d.mm
	}
	d.gape = min(max(d.gape, st.gape*.7), st.gape*1.4)
	g := d.gape
	d.shank = st.shank
	end := d.shank + g*.42
	switch {
	case st.top:
		d.line("hook", lines(4, 0, d.shank, 0), 1.6)
	case st.bent:
		end = d.shank + g*.16
		d.line("hook", bezier(3.5, 0, 26, -2.5, 66, -7, 86, 2, 95, 6, end, 13, end, 4+g*.7, end, g*1.06, end-g*.2, g*1.32, end-g*.5, g*1.3, end-g*.7, g*1.28, end-g*.85, g*1.14, end-g, 2+g*.92), 1.6)
	default:
		d.line("hook", bezier(3.5, 0, d.shank*.3, 0, d.shank*.7, 0, d.shank, 0, d.shank+g*.24, 0, end, g*.24, end, g*.5, end, g*.8, end-g*.2, g, end-g*.48, g, end-g*.66, g, end-g*.86, g*.94, end-g*1.02, g*.84), 1.6)
	}
	d.line("body eye", circle(2.2, 0, 2.2), 1)
}

// surface shows where the water is.
func (d *dressing) surface(floats string, st style) {
	var y float64
	switch {
	case st.top:
		return
	case floats == "high":
		y = st.level
	case floats == "film":
		y = st.level * .35
	case floats == "under":
		all := empty()
		for _, m := range d.marks {
			all.addPath(m.path)
		}
		y = all.y0 - 4
	default:
		return
	}
	d.marks = slices.Insert(d.marks, 0, mark{class: "surface", path: lines(-14, y, 120, y), weight: .7, faint: .4})
}

// fibres radiate from a point: n lines from one angle to another, in degrees
// from straight back and turning to the right, with ends that are not all
// alike.
func fibres(x, y, from, to float64, n int, reach float64) path {
	var out path
	for i := range n {
		t := .5
		if n > 1 {
			t = float64(i) / float64(n-1)
		}
		sin, cos := math.Sincos((from + (to-from)*t) * math.Pi / 180)
		r := reach * uneven[i%len(uneven)]
		out = append(out, lines(x, y, x+cos*r, y+sin*r)...)
	}
	return out
}

// uneven are the lengths of fibres, as a share of the longest.
var uneven = [...]float64{1, .9, .97, .86, .95, .88, 1, .92}
