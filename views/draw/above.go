package draw

// plan is the build of an insect seen from above: the head at x = 0, the body
// 100 long, all widths measured from the axis.
type plan struct {
	half    []float64 // half the outline, from the head to the end of the body
	plates  []path    // darker parts of the back
	eye     [3]float64
	from    float64 // where the abdomen begins
	rings   int     // its segments
	legs    []path  // the legs of one side, front to hind
	thighs  []path  // the leaf-shaped thighs of one side
	feelers path    // the antenna of one side
	fore    wing
	hind    *wing
	roots   [2]pt      // of fore and hind wing
	long    [2]float64 // of fore and hind wing
	folded  float64    // angle of a folded wing, degrees from straight back
	tail    [2]float64 // reach and spread of the tails
	wax     float64    // how opaque the wings are
}

// width is half the width of the body at x.
func (p *plan) width(x float64) float64 {
	h := p.half
	for i := 2; i+1 < len(h); i += 2 {
		if x <= h[i] && h[i] > h[i-2] {
			return h[i-1] + (h[i+1]-h[i-1])*(x-h[i-2])/(h[i]-h[i-2])
		}
	}
	return 0
}

// rings are lines across the abdomen.
func (s *sketch) rings(p *plan) path {
	var out path
	n := s.few(p.rings)
	for i := 1; i < n; i++ {
		x := p.from + (100-p.from)*float64(i)/float64(n)
		w := p.width(x) * 0.97
		out = append(out, curve(x-1.2, -w, x, 0, x-1.2, w)...)
	}
	return out
}

// tails are n tails from the end of the body, in seen order from top to
// bottom.
func tails(n int, reach, spread float64) path {
	var out path
	side := curve(98.5, -2, 100+reach*.4, -2-spread*.35, 100+reach, -2-spread)
	if n == 1 || n == 3 {
		out = curve(99, 0, 100+reach*.5, 0, 100+reach*1.02, 0)
	}
	if n >= 2 {
		out = join(out, side.both())
	}
	return out
}

// tufts are gills at the end of the body, between the tails.
func tufts() path {
	one := join(curve(97, -1, 102, -2.5, 108, -1.5), curve(97, -1, 103, -4, 109, -6), curve(97, -1, 103, -1, 107, .0))
	return one.both()
}

// tailCount keeps the number of tails to what an insect may have.
func (in Insect) tailCount() int { return min(max(in.Tails, 0), 3) }

// above draws an insect seen from above.
func (in Insect) above(s *sketch, p *plan, wings string) {
	body, pane, dark := hex(in.Body, neutralBody), hex(in.Wing, neutralWing), hex(in.Dark, neutralDark)
	in.limbs(s, p)
	back := wings == "spread" || wings == "clear-pair"
	if back {
		in.out(s, p, wings, pane)
	}
	s.fill("body", bilateral(p.half...), body, 1)
	if in.Stage == "egg-layer" && p.rings > 0 {
		w := p.width(94)
		s.fill("eggs", join(circle(98, 0, w*.55), circle(95.5, -w*.5, w*.5), circle(95.5, w*.5, w*.5)), dark, 1)
	}
	if !s.coarse() {
		s.hair("ring", s.rings(p))
	}
	for _, q := range p.plates {
		s.tint("plate", q, dark, .75)
	}
	s.eyes(p, dark)
	switch wings {
	case "flat", "roof":
		in.fold(s, p, pane)
	case "short":
		in.stubs(s, p, pane)
	}
}

// limbs adds what lies under the body: tails, feelers and legs.
func (in Insect) limbs(s *sketch, p *plan) {
	if n := in.tailCount(); n > 0 {
		s.line("tails", tails(n, p.tail[0], p.tail[1]), .9)
	}
	if in.Gills {
		s.hair("gills", tufts())
	}
	if len(p.feelers) > 0 {
		s.line("feelers", p.feelers.both(), .7)
	}
	s.line("legs", join(p.legs...).both(), 1)
	if !s.coarse() && len(p.thighs) > 0 {
		s.fill("thighs", join(p.thighs...).both(), hex(in.Dark, neutralDark), 1)
	}
}

func (s *sketch) eyes(p *plan, dark string) {
	if p.eye[2] > 0 {
		s.fill("eyes", circle(p.eye[0], -p.eye[1], p.eye[2]).both(), dark, 1)
	}
}

// fold lays the wings along the back, hind wings hidden.
func (in Insect) fold(s *sketch, p *plan, color string) {
	s.wing(p.fore, p.roots[0].x, -p.roots[0].y, p.folded, p.long[0], true, color, max(p.wax, .8))
}

// out holds the wings away from the body.
func (in Insect) out(s *sketch, p *plan, wings, color string) {
	fore, hind := -84.0, -62.0
	if wings == "clear-pair" {
		fore, hind = -48, -30
	}
	if p.hind != nil {
		s.wing(*p.hind, p.roots[1].x, -p.roots[1].y, hind, p.long[1], true, color, p.wax)
	}
	s.wing(p.fore, p.roots[0].x, -p.roots[0].y, fore, p.long[0], true, color, p.wax)
}

// stubs are wings that plainly do not reach past the thorax.
func (in Insect) stubs(s *sketch, p *plan, color string) {
	room := p.from - p.roots[0].x
	lobe := func(x, y, size float64) path {
		return loop(0, 0, 0, 0, .35, -.3, .8, -.26, 1, .05, .7, .3, .3, .3).place(x, -y, -14, size)
	}
	lobes := lobe(p.roots[0].x, p.roots[0].y*.75, room*.55)
	if p.hind != nil {
		lobes = join(lobe(p.roots[1].x, p.roots[1].y*.7, (p.from-p.roots[1].x)*.95), lobes)
	}
	s.fill("wing", lobes.both(), color, 1)
}
