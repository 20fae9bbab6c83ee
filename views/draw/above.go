package draw

// plan is the build of an insect seen from above: the head at x = 0, the body
// 100 long, all widths measured from the axis.
type plan struct {
	half    []float64 // half the outline, from the head to the end of the body
	plates  path      // darker parts of the back
	lines   path      // lines on the back
	eye     [3]float64
	from    float64 // where the abdomen begins
	rings   int     // its segments
	legs    path    // the legs of one side
	thighs  path    // the stronger parts of the legs of one side
	feelers path    // the antenna of one side
	fold    folded
	fore    wing
	hind    *wing
	roots   [2]pt      // of fore and hind wing
	size    [2]float64 // of fore and hind wing
	open    [2]float64 // angles of the spread wings, degrees from straight back
	wax     float64    // how opaque the wings are
	tail    [2]float64 // reach and spread of the tails
	leaves  bool       // the tails are leaf-shaped gills
	extra   func(s *sketch, body, dark string)
}

// width is half the width of the body at x.
func (p *plan) width(x float64) float64 { return along(p.half, x) }

// along gives y at x on a line of points with rising x.
func along(v []float64, x float64) float64 {
	for i := 2; i+1 < len(v); i += 2 {
		if x <= v[i] && v[i] > v[i-2] {
			return v[i-1] + (v[i+1]-v[i-1])*(x-v[i-2])/(v[i]-v[i-2])
		}
	}
	return 0
}

// lay are n - 1 lines across the abdomen, bowed if there is room to see it.
func (p *plan) lay(n int, bowed bool) path {
	var out path
	for i := 1; i < n; i++ {
		x := p.from + (99-p.from)*float64(i)/float64(n)
		w := p.width(x)
		if !bowed {
			out = append(out, lines(x, -w, x, w)...)
			continue
		}
		out = append(out, bezier(x-.8, -w, x+.5, -w*.4, x+.5, w*.4, x-.8, w)...)
	}
	return out
}

// tails are n tails from the end of the body.
func tails(n int, reach, spread float64) path {
	var out path
	side := curve(98, -1.2, 100+reach*.4, -1.5-spread*.3, 100+reach, -2-spread)
	if n == 1 || n == 3 {
		out = lines(99, 0, 100+reach*1.03, 0)
	}
	if n >= 2 {
		out = join(out, side.both())
	}
	return out
}

// leaves are n leaf-shaped gills at the end of the body.
func leaves(n int, reach, spread float64) path {
	leaf := loop(0, 0, 0, 0, .3, -.1, .75, -.12, 1, 0, 1, 0, .75, .1, .3, .08)
	var out path
	if n >= 2 {
		out = leaf.place(98.5, -1.4, -spread, reach).both()
	}
	if n == 1 || n == 3 {
		out = join(out, leaf.place(99, 0, 0, reach*1.04))
	}
	return out
}

// tufts are gills at the end of the body, between the tails.
func tufts() path {
	return join(lines(98, -.6, 108, -1.4), lines(98, -1, 107.5, -4), lines(98, -1.4, 105.5, -6)).both()
}

// tailCount keeps the number of tails to what an insect may have.
func (in Insect) tailCount() int { return min(max(in.Tails, 0), 3) }

// above draws an insect seen from above.
func (in Insect) above(s *sketch, p *plan, wings string) {
	body, pane, dark := hex(in.Body, neutralBody), hex(in.Wing, neutralWing), hex(in.Dark, neutralDark)
	s.view = "above"
	in.limbs(s, p)
	if wings == "spread" || wings == "clear-pair" || wings == "upright" {
		in.outspread(s, p, wings, pane)
	}
	s.fill("body", bilateral(p.half...), body, 1)
	if in.Stage == "egg-layer" && p.rings > 0 {
		w := max(p.width(94), 3.5)
		s.fill("eggs", join(circle(101, 0, w*.5), circle(98, -w*.5, w*.5), circle(98, w*.5, w*.5)), dark, 1)
	}
	if len(p.plates) > 0 {
		s.tint("plate", p.plates, dark, .8)
	}
	if !s.coarse() {
		s.etch("ring", join(p.lay(s.few(p.rings), s.large()), p.lines), body)
	}
	if p.eye[2] > 0 {
		s.fill("eyes", circle(p.eye[0], -p.eye[1], p.eye[2]).both(), dark, 1)
	}
	if p.extra != nil {
		p.extra(s, body, dark)
	}
	switch wings {
	case "flat", "roof":
		if p.fold.x1 > 0 {
			s.folded(p.fold, pane, max(p.wax, .7))
		}
	case "short":
		in.stubs(s, p, pane)
	}
}

// limbs adds what lies under the body: tails, feelers and legs.
func (in Insect) limbs(s *sketch, p *plan) {
	if n := in.tailCount(); n > 0 && p.tail[0] > 0 {
		if p.leaves {
			s.fill("tails", leaves(n, p.tail[0], p.tail[1]), hex(in.Body, neutralBody), .75)
		} else {
			s.line("tails", tails(n, p.tail[0], p.tail[1]), .9)
		}
	}
	if in.Gills {
		s.line("gills", tufts(), .8)
	}
	if len(p.feelers) > 0 {
		s.line("feelers", p.feelers.both(), .75)
	}
	if len(p.legs) > 0 {
		s.line("legs", p.legs.both(), 1)
	}
	if !s.coarse() && len(p.thighs) > 0 {
		s.line("thighs", p.thighs.both(), 2.2)
	}
}

// outspread holds the wings away from the body.
func (in Insect) outspread(s *sketch, p *plan, wings, color string) {
	fore, hind := p.open[0], p.open[1]
	if wings == "clear-pair" {
		fore, hind = fore*.55, hind*.55
	}
	if p.hind != nil {
		s.wing(*p.hind, p.roots[1].x, -p.roots[1].y, hind, p.size[1], true, color, p.wax)
	}
	if p.size[0] > 0 {
		s.wing(p.fore, p.roots[0].x, -p.roots[0].y, fore, p.size[0], true, color, p.wax)
	}
}

// stubs are wings that plainly do not reach past the thorax.
func (in Insect) stubs(s *sketch, p *plan, color string) {
	if p.size[0] == 0 {
		return
	}
	// A lobe points back and a little out, and lies on the side of the back.
	lobe := func(root pt, end float64) path {
		at := func(x, y float64) (float64, float64) { return root.x + (end-root.x)*x, -root.y * y }
		var v []float64
		for _, a := range [][2]float64{{0, .42}, {0, .42}, {.12, .95}, {.55, 1.3}, {.93, 1.32}, {1, 1.1}, {.8, .72}, {.4, .46}} {
			x, y := at(a[0], a[1])
			v = append(v, x, y)
		}
		return loop(v...)
	}
	end := p.from - 1
	lobes := lobe(p.roots[0], p.roots[0].x+(end-p.roots[0].x)*.72)
	if p.hind != nil {
		lobes = join(lobe(p.roots[1], end), lobes)
	}
	s.fill("wing", lobes.both(), color, 1)
}
