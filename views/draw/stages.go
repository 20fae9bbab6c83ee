package draw

// pupa draws a pupa from the side.
func (in Insect) pupa(s *sketch) {
	body, dark := hex(in.Body, neutralBody), hex(in.Dark, neutralDark)
	if in.Group == "midge" || in.Group == "cranefly" {
		in.frame(s, &midgePupa, body, dark)
		s.line("gills", join(lines(4, -8, -3, -17), lines(4, -8, 1.6, -19), lines(4, -8, 6.6, -18)), .8)
		return
	}
	in.frame(s, &caddisPupa, body, dark)
	s.fill("pads", loop(19, -4, 19, -4, 30, -5, 52, 5, 57, 12, 46, 11, 28, 6), hex(in.Wing, neutralDark), 1)
}

// shuck draws the empty skin: pale and see-through, split along the back.
func (in Insect) shuck(s *sketch) {
	from := len(s.marks)
	switch in.Group {
	case "stonefly", "mayfly", "damsel", "dragonfly":
		p := in.young()
		in.above(s, p, "none")
		end := p.from * .92
		hollow(s, from)
		split := bilateral(9, 0, 9, 0, end*.55, 4.2, end, 0, end, 0)
		s.fill("split", split, "none", 1)
		if s.fine() {
			// The white threads are the torn linings of the air tubes.
			s.hair("threads", curve(end*.6, -1, end*.75, -2.4, end*.9, -.8).both())
		}
	default:
		in.pupa(s)
		hollow(s, from)
		s.line("split", curve(3, -6, 14, -9.4, 32, -7), 1.3)
	}
}

// hollow turns what was drawn from a mark on into an empty skin.
func hollow(s *sketch, from int) {
	for i := from; i < len(s.marks); i++ {
		m := &s.marks[i]
		switch {
		case isBody(m.class):
			m.cover, m.dashed = .3, true
		case m.fill != "":
			m.cover = .16
		}
		m.faint *= .75
	}
}

// emerger draws an insect that is half out of its skin, from the side where
// it hangs in the film.
func (in Insect) emerger(s *sketch) {
	body, pane, dark := hex(in.Body, neutralBody), hex(in.Wing, neutralWing), hex(in.Dark, neutralDark)
	p, tail := mayflySide, 8.0
	switch in.Group {
	case "caddis", "alderfly":
		p, tail = caddisSide, 7
		p.feelers = curve(3, -5.6, -16, -16, -36, -18)
	case "midge", "cranefly":
		p, tail = midgeSide, 5
	case "mayfly":
		p.top = []float64{0, -1, 2, -6.5, 8, -8.6, 12, -7.6, 18, -13, 28, -14, 37, -8.6, 60, -7, 84, -5.6, 97, -3, 100, 0}
		p.under = []float64{2, 4, 8, 5.6, 16, 9.6, 30, 10.4, 38, 7.4, 60, 5.4, 84, 4.4, 97, 2.6}
	default:
		in.above(s, in.grown(), "short")
		return
	}
	n := in.tailCount()
	p.tail = [4]float64{}
	skin := loop(70, -tail*.7, 78, -tail*1.15, 110, -tail*.95, 138, -1.4, 141, .6, 138, 2.4, 110, tail, 78, tail*1.15, 70, tail*.7, 74, 0)
	s.marks = append(s.marks, mark{class: "skin", path: skin, fill: body, cover: .28, weight: .8, faint: .8, dashed: true})
	if n > 0 {
		q := side{tail: [4]float64{140, .6, 34, 10}}
		s.marks = append(s.marks, mark{class: "tails", path: q.tails(n), weight: .8, faint: .7})
	}
	in.frame(s, &p, body, dark)
	// The wings are still crumpled.
	crumpled := loop(18, -11, 18, -11, 22, -23, 34, -29, 50, -26, 56, -17, 48, -12, 34, -9)
	s.fill("wing", crumpled, pane, .85)
	if !s.coarse() {
		s.veins(join(curve(23, -13, 32, -21, 46, -23), curve(25, -11.6, 36, -16, 50, -18)), pane, .85)
	}
}
