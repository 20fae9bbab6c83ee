package draw

// side is the build of an insect seen from its left side: the head at x = 0,
// the body 100 long, y downwards.
type side struct {
	top, under []float64 // the outline, both from head to end
	eye        [3]float64
	plates     path
	from       float64 // where the abdomen begins
	rings      int
	legs       path // the three of the near side
	thighs     path
	feelers    path
	tail       [4]float64 // root of the tails, then their reach and rise
}

func (p *side) outline() path {
	v := append([]float64(nil), p.top...)
	for i := len(p.under) - 2; i >= 0; i -= 2 {
		v = append(v, p.under[i], p.under[i+1])
	}
	return loop(v...)
}

// lay are n - 1 lines across the abdomen, bowed if there is room to see it.
func (p *side) lay(n int, bowed bool) path {
	var out path
	for i := 1; i < n; i++ {
		x := p.from + (97-p.from)*float64(i)/float64(n)
		a, b := along(p.top, x), along(p.under, x)
		if !bowed {
			out = append(out, lines(x, a, x, b)...)
			continue
		}
		out = append(out, bezier(x-.6, a, x+1, a+(b-a)*.3, x+1, a+(b-a)*.7, x-.6, b)...)
	}
	return out
}

// tails are seen one above the other.
func (p *side) tails(n int) path {
	x, y, reach, rise := p.tail[0], p.tail[1], p.tail[2], p.tail[3]
	one := func(up float64) path {
		return curve(x, y, x+reach*.45, y-rise*.28*up-up, x+reach*(1.06-.06*up), y-rise*up)
	}
	switch n {
	case 1:
		return one(1)
	case 2:
		return join(one(1.15), one(.75))
	case 3:
		return join(one(1.3), one(.95), one(.6))
	}
	return nil
}

// frame draws all but the wings; the wings of the far side go first.
func (in Insect) frame(s *sketch, p *side, body, dark string) {
	s.view = "side"
	if n := in.tailCount(); n > 0 && p.tail[2] > 0 {
		s.line("tails", p.tails(n), .85)
	}
	if len(p.legs) > 0 {
		// The legs of the far side are half hidden.
		far := p.legs.each(func(a pt) pt { return pt{a.x + 4.5, a.y - .4} })
		s.marks = append(s.marks, mark{class: "legs", path: far, weight: .8, faint: .55})
		s.line("legs", p.legs, 1)
		if !s.coarse() && len(p.thighs) > 0 {
			s.line("thighs", p.thighs, 2.2)
		}
	}
	if len(p.feelers) > 0 {
		s.line("feelers", p.feelers, .75)
	}
	s.fill("body", p.outline(), body, 1)
	if len(p.plates) > 0 {
		s.tint("plate", p.plates, dark, .8)
	}
	if n := s.few(p.rings); n > 1 && !s.coarse() {
		s.etch("ring", p.lay(n, s.large()), body)
	}
	if p.eye[2] > 0 {
		s.fill("eyes", circle(p.eye[0], p.eye[1], p.eye[2]), dark, 1)
	}
}

var (
	mayflySide = side{
		top:    []float64{0, -1, 2, -6.5, 8, -8.6, 12, -7.6, 18, -13, 28, -14, 37, -8.6, 60, -7.6, 84, -12, 97, -18.4, 100, -17},
		under:  []float64{2, 4, 8, 5.6, 16, 9.6, 30, 10.4, 38, 7.4, 60, 3.8, 84, -4, 98, -14},
		eye:    [3]float64{5.2, -3.6, 3.5},
		plates: loop(14, -8.6, 20, -12.4, 31, -11.4, 35, -7, 24, -5.4),
		from:   38,
		rings:  10,
		legs:   join(lines(17, 9, 5, 13, -10, 24, -17, 24), lines(24, 10.4, 19, 24, 12, 36, 6, 37), lines(31, 10, 44, 19, 47, 34, 53, 37)),
		thighs: join(lines(15, 10, 7, 12.5), lines(23.6, 12, 20, 22), lines(33, 11.6, 43, 18)),
		tail:   [4]float64{99, -16.6, 74, 40},
	}
	caddisSide = side{
		top:     []float64{0, 1, 2, -5, 7, -7, 12, -6, 18, -11, 32, -11, 60, -8, 88, -3, 98, 1, 100, 4},
		under:   []float64{1, 6, 6, 8, 13, 7.6, 22, 11.6, 36, 11.4, 60, 11.6, 86, 10.6, 97, 8},
		eye:     [3]float64{4.4, -1, 2.5},
		from:    38,
		rings:   9,
		legs:    join(lines(14, 8.6, 8, 18, -6, 23, -13, 22.6), lines(22, 11.4, 20, 24, 10, 31, 4, 32), lines(31, 11.4, 46, 20, 56, 31, 64, 32)),
		thighs:  join(lines(13.4, 10, 9, 17), lines(22, 13, 20.3, 22.6), lines(33, 13, 45, 19)),
		feelers: join(curve(3, -5.6, -16, -24, -46, -34), curve(2.4, -4.6, -20, -18, -52, -23)),
		tail:    [4]float64{98, 4, 16, 4},
	}
	midgeSide = side{
		top:     []float64{0, 5, 2, 1, 7, 0, 11, -5, 18, -12.4, 28, -13, 37, -6, 60, -3.4, 90, -2.4, 100, .6},
		under:   []float64{2, 8.4, 7, 9, 14, 9.4, 26, 10.4, 37, 6.6, 60, 4.8, 90, 3.4},
		eye:     [3]float64{4.2, 3.4, 2.5},
		plates:  loop(14, -7, 20, -11, 30, -10, 32, -6, 22, -3.4),
		from:    38,
		rings:   8,
		legs:    join(lines(15, 9, 3, 15, -19, 8, -34, 12), lines(22, 10.4, 17, 28, 6, 46, 0, 48), lines(29, 9.6, 46, 15, 55, 41, 62, 48)),
		feelers: join(curve(2, 1.6, -6, -6, -17, -9), lines(-3, -3.8, -3, -11), lines(-3, -3.8, -12, -1.4), lines(-8, -6.8, -9.6, -14), lines(-8, -6.8, -17, -4.6)),
		tail:    [4]float64{99, .6, 14, 4},
	}
	damselSide = side{
		top:     []float64{0, -1, 1.6, -6.4, 6, -7.2, 10, -4, 14, -5.6, 24, -9, 31, -5, 36, -2.4, 65, -1.8, 92, -2.4, 98, -2.6, 100, 0},
		under:   []float64{1.6, 3, 6, 4.4, 11, 3.6, 18, 7, 28, 5.6, 36, 1.8, 65, 1.6, 92, 2.2, 98, 2.4},
		eye:     [3]float64{4, -2.2, 3.3},
		plates:  join(loop(15, -4.6, 24, -7.6, 30, -4, 24, -4.6), loop(17, 1, 26, -2, 29, 1, 21, 4)),
		from:    36,
		rings:   9,
		legs:    join(lines(14, 5, 7, 10, 2, 17), lines(19, 6.8, 15, 15, 9, 22), lines(25, 6.4, 25, 16, 18, 26)),
		feelers: lines(1.4, -4, -4, -7.6),
		tail:    [4]float64{99, 0, 6, 2},
	}
	caddisPupa = side{
		top:     []float64{0, 3, 1.6, -4, 7, -7.4, 14, -7, 24, -12, 38, -12, 62, -10, 84, -5, 96, 2.6, 100, 9},
		under:   []float64{2, 7.4, 8, 9, 18, 9.6, 34, 11, 56, 9.6, 78, 8.4, 94, 10.6},
		eye:     [3]float64{5, -.6, 2.5},
		from:    38,
		rings:   9,
		legs:    join(lines(15, 9, 9, 18, 1, 20), lines(21, 10, 33, 20, 62, 21.6), lines(30, 11, 46, 17.6, 70, 17.4)),
		thighs:  join(lines(22, 11, 32, 19), lines(31, 11.6, 44, 17)),
		feelers: curve(4, -5.6, 2, -13, 24, -16.4, 70, -14.6, 92, -8),
		tail:    [4]float64{98, 8, 6, 0},
	}
	midgePupa = side{
		top:    []float64{0, 1, 2, -8, 12, -13.6, 24, -12, 33, -6, 55, -4.6, 78, -.6, 94, 8.6, 100, 17},
		under:  []float64{4, 8.4, 16, 12, 28, 11, 37, 6.4, 55, 4.6, 75, 8, 90, 16, 97, 20.6},
		eye:    [3]float64{6, 2, 2.2},
		plates: loop(15, -2, 22, -4, 34, 2, 37, 7, 26, 8.4),
		from:   34,
		rings:  9,
		tail:   [4]float64{98, 18, 6, -3},
	}
)

// beside draws an insect with its wings as they show from the side: upright,
// roof (which is closed along the back where the group does not hold a roof)
// or none.
func (in Insect) beside(s *sketch, p *side, wings string) {
	body, glass, dark := hex(in.Body, neutralBody), hex(in.Wing, neutralWing), hex(in.Dark, neutralDark)
	switch {
	case p == &damselSide:
		up := -12.0
		in.frame(s, p, body, dark)
		if wings == "none" {
			return
		}
		for _, w := range []struct{ x, turn, size float64 }{{28, up, 60}, {25, up - 5, 64}} {
			s.wing(blade, w.x, -6.4, w.turn, w.size, false, glass, .45)
			if s.fine() {
				s.tint("plate", stigma.place(w.x, -6.4, w.turn, w.size), dark, 1)
			}
		}
	case p == &midgeSide:
		in.frame(s, p, body, dark)
		switch wings {
		case "none":
		case "upright":
			s.wing(pane, 25, -11, -62, 62, false, glass, .55)
		default:
			s.wing(pane, 25, -9.4, -4, 64, false, glass, .6)
		}
	case wings == "roof" || wings == "flat":
		in.frame(s, p, body, dark)
		in.roof(s, glass)
	default:
		// The wings of a dun are dull, those of a spinner clear.
		near, far := .35, .2
		if in.Stage == "dun" {
			near, far = .7, .5
		}
		if wings != "none" {
			s.wing(sail, 26, -12, -66, 100, false, glass, far)
		}
		in.frame(s, p, body, dark)
		if wings != "none" {
			s.wing(smallSail, 31, -11, -42, 36, false, glass, near)
			s.wing(sail, 22, -12, -76, 102, false, glass, near)
		}
	}
	if in.Stage == "egg-layer" {
		x, y := p.top[len(p.top)-2], p.top[len(p.top)-1]
		s.fill("eggs", join(circle(x+1.5, y+2, 3), circle(x-2.6, y+4, 3)), dark, 1)
	}
}

// roof is the near wing of a pair held like a tent.
func (in Insect) roof(s *sketch, color string) {
	s.fill("wing", loop(15, -7.6, 15, -7.6, 30, -14.6, 70, -19, 112, -19, 131, -2, 131, -2, 118, 6.4, 75, 7, 32, 5.4, 18, -.6), color, .92)
	if s.coarse() {
		return
	}
	veins := join(curve(22, -6, 60, -10, 110, -11, 124, -8), curve(24, -2, 70, -3.4, 127, -2.6), curve(27, 1.6, 70, 2.4, 120, 3.6))
	if s.fine() {
		veins = join(veins, curve(80, -10.8, 100, -6.6, 126, -5.4), curve(78, -3.3, 98, .4, 124, .6))
	}
	s.veins(veins, color, 1)
}
