package draw

// sprawl are the legs of one side of an insect seen from above, from where
// they join the body, w from the axis. reach stretches them.
func sprawl(x1, x2, x3, w, reach float64) (legs, thighs path) {
	leg := func(x float64, v ...float64) {
		p := []float64{x, -w}
		for i := 0; i < len(v); i += 2 {
			n := len(p)
			p = append(p, p[n-2]+v[i]*reach, p[n-1]-v[i+1]*reach)
		}
		legs = append(legs, lines(p...)...)
		thighs = append(thighs, lines(x+(p[2]-x)*.1, -w+(p[3]+w)*.1, x+(p[2]-x)*.93, -w+(p[3]+w)*.93)...)
	}
	leg(x1, -7, 9, -10, 5, -5, 1)
	leg(x2, 3, 12, 4, 10, 5, 4)
	leg(x3, 9, 11, 14, 8, 7, 2)
	return legs, thighs
}

func (p plan) sprawl(x1, x2, x3, w, reach float64) *plan {
	p.legs, p.thighs = sprawl(x1, x2, x3, w, reach)
	return &p
}

var (
	stonefly = plan{
		half:    []float64{0, 0, 2, 6.5, 7, 9.4, 12.5, 7.6, 16, 9.8, 24, 10, 27, 8.6, 33, 10.6, 37, 9.6, 42, 10.4, 47, 9.4, 72, 9.4, 92, 6.8, 99, 3, 100, 0},
		plates:  join(bilateral(15.5, 0, 16.5, 6.5, 23, 6.5, 24, 0), bilateral(3, 0, 6, 4.6, 11, 0)),
		eye:     [3]float64{7, 8.4, 2.1},
		from:    46,
		rings:   10,
		feelers: curve(2, -4.5, -9, -15, -25, -26),
		fold:    folded{29, 8, 12.4, 126},
		fore:    strap,
		hind:    &fan,
		roots:   [2]pt{{28, 8}, {38, 8}},
		size:    [2]float64{100, 84},
		open:    [2]float64{-82, -56},
		tail:    [2]float64{34, 12},
		wax:     .72,
	}.sprawl(20, 32, 42, 9, 1)

	stoneflyNymph = plan{
		half: []float64{0, 0, 2, 7, 7, 10.6, 13, 8.6, 16, 11.6, 24, 11.4, 27, 9.6, 36, 13.6, 39, 10, 46, 13, 49, 9.8, 65, 9.8, 90, 6.4, 98, 3.4, 100, 0},
		plates: join(bilateral(16.5, 0, 17.5, 8.4, 23.5, 8.4, 24, 0), bilateral(3, 0, 6, 5, 11, 0),
			loop(28, -2, 30, -8.5, 37, -12.4, 34, -4).both(), loop(39.5, -2, 41, -8.5, 47, -11.8, 45, -4).both()),
		eye:     [3]float64{7.5, 9, 1.9},
		from:    49,
		rings:   10,
		feelers: curve(2, -5, -9, -14, -24, -22),
		tail:    [2]float64{42, 14},
	}.sprawl(21, 32, 43, 10, 1.05)

	mayflyAbove = &plan{
		half:    []float64{0, 0, 2, 5, 8, 5.2, 11, 4, 17, 7.2, 28, 7.4, 36, 5.2, 70, 4.2, 97, 2.8, 100, 0},
		plates:  bilateral(13, 0, 18, 5, 29, 5, 33, 0),
		eye:     [3]float64{5, 4.4, 3.1},
		from:    37,
		rings:   10,
		feelers: lines(1, -2, -7, -4.5),
		fold:    folded{20, 6, 10, 104},
		fore:    sail,
		hind:    &smallSail,
		roots:   [2]pt{{21, 6}, {30, 5}},
		size:    [2]float64{98, 38},
		open:    [2]float64{-78, -58},
		tail:    [2]float64{100, 36},
		wax:     .5,
		legs:    join(lines(16, -6, 6, -12, -14, -17, -28, -16), lines(24, -6, 30, -15, 38, -21), lines(30, -6, 42, -12, 54, -14)),
	}

	mayflyNymph = plan{
		half:   []float64{0, 0, 2, 7, 8, 8.6, 13, 7.2, 16, 9.4, 23, 9.6, 33, 11.4, 42, 9.6, 47, 7.4, 75, 6.4, 97, 3, 100, 0},
		plates: join(bilateral(16, 0, 17, 6.6, 22, 6.6, 23, 0), loop(25, -1.5, 28, -8, 38, -9.6, 48, -4.5, 38, -1.2).both()),
		eye:    [3]float64{6.5, 7, 2.5},
		from:   47,
		rings:  10,
		// The gills of the abdomen are leaves at its sides.
		extra: func(s *sketch, _, _ string) {
			var leaves path
			n := s.few(7)
			for i := range n {
				x := 50 + 34*float64(i)/float64(n)
				leaves = append(leaves, lines(x, -7.4, x+4.5, -11.2)...)
			}
			s.line("gills", leaves.both(), 1.7)
		},
		feelers: curve(1.5, -4, -10, -10, -22, -13),
		tail:    [2]float64{52, 13},
	}.sprawl(20, 29, 37, 8.5, .85)

	caddisAbove = plan{
		half:    []float64{0, 0, 2, 5, 7, 6, 11.5, 4.6, 17, 7.6, 32, 7.8, 40, 6.6, 65, 7.4, 90, 5.6, 98, 3, 100, 0},
		plates:  join(bilateral(14, 0, 18, 4.6, 27, 4.6, 31, 0), bilateral(3, 0, 6, 3, 10, 0)),
		eye:     [3]float64{5.5, 5.6, 2.1},
		from:    40,
		rings:   9,
		feelers: curve(2, -3, -18, -18, -48, -30),
		fold:    folded{16, 6, 13.5, 132},
		fore:    tent,
		hind:    &fan,
		roots:   [2]pt{{20, 6.5}, {30, 6.5}},
		size:    [2]float64{104, 80},
		open:    [2]float64{-72, -48},
		tail:    [2]float64{20, 8},
		wax:     .75,
	}.sprawl(15, 25, 34, 7, .95)

	caddisLarva = &plan{
		half:   []float64{0, 0, 2, 4.6, 8, 5.2, 10, 4.8, 13, 6.4, 32, 7.6, 60, 8.2, 85, 6.6, 96, 4.6, 100, 0},
		plates: join(bilateral(1.2, 0, 3, 4, 8, 4.2, 9, 0), bilateral(11, 0, 12.5, 5.2, 17, 5.4, 18, 0), bilateral(20.5, 0, 21.5, 5, 25.5, 5.2, 26.5, 0)),
		from:   10,
		rings:  12,
		legs:   join(lines(14, -6, 7, -11, 0, -11.5), lines(22, -6.8, 20, -13, 13, -16.5), lines(29, -7, 30, -14, 24, -19)),
		tail:   [2]float64{12, 4},
		extra: func(s *sketch, _, _ string) {
			s.line("claws", curve(96, -3.2, 103, -5, 105.5, -1.6).both(), 1)
			if s.coarse() {
				return
			}
			var tufts path
			for x := 36.0; x < 84; x += 8 {
				tufts = join(tufts, lines(x, -7.4, x+2.6, -11), lines(x, -7.4, x+4.6, -9.8))
			}
			s.hair("gills", tufts.both())
		},
	}

	midgeAbove = &plan{
		half:   []float64{0, 0, 2, 3.8, 7, 4, 9.5, 3, 14, 7.6, 25, 8.6, 34, 5.4, 60, 4.6, 92, 3.6, 100, 0},
		plates: join(bilateral(14, 0, 17, 2, 27, 2, 30, 0), loop(16, -4, 20, -6.8, 28, -6, 22, -3.6).both()),
		eye:    [3]float64{4, 3.4, 1.8},
		from:   34,
		rings:  8,
		fold:   folded{20, 5.5, 8.4, 88},
		fore:   pane,
		roots:  [2]pt{{21, 6.5}},
		size:   [2]float64{66},
		open:   [2]float64{-68},
		wax:    .5,
		tail:   [2]float64{20, 6},
		feelers: join(curve(1, -2, -8, -6, -19, -7.5), lines(-5, -5, -8, -11), lines(-5, -5, -11, -2.5),
			lines(-10, -6.5, -14, -11.5), lines(-10, -6.5, -16, -4)),
		legs: join(lines(15, -6, 2, -18, -18, -22, -34, -20), lines(22, -7.5, 28, -24, 24, -42), lines(28, -6.5, 46, -20, 68, -30, 78, -29)),
	}

	larva = &plan{ // a legless worm: midge, cranefly
		half:   []float64{0, 0, 1, 2.6, 5, 3, 8, 4, 30, 4.8, 70, 4.8, 92, 4, 98, 2.6, 100, 0},
		plates: bilateral(1, 0, 2, 2.2, 5, 2.4, 6.5, 0),
		from:   6,
		rings:  13,
		tail:   [2]float64{10, 3},
		extra: func(s *sketch, _, _ string) {
			s.line("claws", join(lines(98, -1.6, 103, -3.2), lines(9, -3.6, 7, -7)).both(), 1)
		},
	}

	cranefly = &plan{
		half:    []float64{0, 0, 2, 2.6, 7, 3, 10, 2.4, 15, 6, 25, 6.8, 33, 4.4, 60, 4, 90, 4, 97, 2.4, 100, 0},
		plates:  bilateral(14, 0, 17, 3.4, 25, 3.6, 28, 0),
		eye:     [3]float64{5.5, 2.6, 1.7},
		from:    35,
		rings:   8,
		feelers: curve(1.5, -1.5, -4, -6, -12, -8),
		fold:    folded{20, 5, 8, 112},
		fore:    pane,
		roots:   [2]pt{{21, 5.6}},
		size:    [2]float64{98},
		open:    [2]float64{-62},
		wax:     .55,
		tail:    [2]float64{10, 4},
		legs:    join(lines(16, -5.5, -8, -34, -58, -46, -78, -42), lines(23, -6, 26, -50, -2, -88, -8, -106), lines(29, -5.5, 66, -36, 104, -70, 122, -82)),
		extra: func(s *sketch, _, dark string) {
			s.line("knobs", lines(30, -5, 37, -11).both(), 1)
			s.fill("knobs", circle(38, -11.8, 1.5).both(), dark, 1)
		},
	}

	damselAbove = &plan{
		half:    []float64{0, 0, 1.5, 5, 5, 8, 9, 3.4, 13, 4.4, 22, 5.6, 30, 3.4, 34, 2, 60, 1.8, 92, 2.2, 98, 2.2, 100, 0},
		plates:  join(bilateral(12, 0, 14, 1.6, 27, 1.6, 30, 0), bands(36, 94, 7, 1.8)),
		eye:     [3]float64{4.5, 6.4, 2.9},
		from:    34,
		rings:   9,
		fold:    folded{22, 3, 5, 86},
		fore:    blade,
		hind:    &blade,
		roots:   [2]pt{{20, 4.6}, {26, 4.2}},
		size:    [2]float64{64, 61},
		open:    [2]float64{-78, -58},
		wax:     .4,
		legs:    join(lines(14, -4, 8, -9, 2, -12), lines(20, -5, 16, -12, 8, -17), lines(26, -5, 26, -14, 16, -21)),
		feelers: lines(1, -1.5, -4, -3.5),
		tail:    [2]float64{6, 3},
	}

	damselNymph = plan{
		half:    []float64{0, 0, 1.5, 6.4, 6, 8.6, 10, 5, 14, 5.4, 24, 7, 36, 6.6, 45, 4.8, 75, 4.2, 97, 2.6, 100, 0},
		plates:  loop(26, -1.6, 29, -6, 40, -6.4, 54, -3.6, 42, -1.4).both(),
		eye:     [3]float64{5, 7.4, 2.9},
		from:    44,
		rings:   9,
		feelers: lines(1, -3, -9, -7),
		tail:    [2]float64{30, 17},
		leaves:  true,
	}.sprawl(16, 24, 33, 6, 1)

	dragonfly = &plan{
		half:    []float64{0, 0, 1.5, 5.5, 6, 7.4, 10, 4, 14, 6.6, 23, 9, 33, 7.6, 39, 4.2, 55, 2.9, 80, 3.6, 97, 3, 100, 0},
		plates:  join(loop(14, -1.4, 20, -5.6, 30, -5.4, 33, -2, 24, -1.4).both(), bands(42, 95, 6, 2.6)),
		eye:     [3]float64{5.2, 4.2, 4},
		from:    39,
		rings:   9,
		fold:    folded{20, 6, 10, 88},
		fore:    blade,
		hind:    &blade,
		roots:   [2]pt{{20, 7.4}, {28, 7.4}},
		size:    [2]float64{68, 66},
		open:    [2]float64{-80, -60},
		wax:     .4,
		legs:    join(lines(14, -6, 8, -12, 2, -16), lines(18, -7.5, 12, -16, 3, -21), lines(30, -7.6, 44, -14, 54, -15)),
		feelers: lines(.5, -1.5, -4, -3),
		tail:    [2]float64{6, 3},
	}

	dragonflyNymph = plan{
		half:    []float64{0, 0, 1.5, 5.6, 6, 8, 11, 6.6, 15, 7.6, 26, 9.6, 36, 10.4, 45, 12, 65, 15.6, 82, 12.6, 94, 6, 100, 0},
		plates:  loop(27, -2, 30, -7.4, 42, -9, 55, -7, 44, -2.4).both(),
		eye:     [3]float64{5.5, 6.6, 2.8},
		from:    38,
		rings:   9,
		feelers: lines(1, -2, -5, -4.5),
		tail:    [2]float64{8, 3},
	}.sprawl(17, 26, 35, 8.5, 1.15)

	alderflyLarva = plan{
		half:   []float64{0, 0, 2, 6, 9, 7, 12, 5.6, 15, 7.4, 34, 8.4, 42, 7.4, 65, 6.8, 88, 4.4, 97, 2.6, 100, 0},
		plates: join(bilateral(2, 0, 4, 4.6, 10, 5, 11, 0), bilateral(14.5, 0, 15.5, 5, 22, 5.4, 23, 0), bilateral(25, 0, 26, 5, 31, 5.4, 32, 0)),
		eye:    [3]float64{6, 6.2, 1.4},
		from:   41,
		rings:  9,
		tail:   [2]float64{30, 8},
		extra: func(s *sketch, _, _ string) {
			var side path
			n := s.few(7)
			for i := range n {
				x := 44 + 40*float64(i)/float64(n)
				w := along([]float64{40, 7, 65, 6.6, 90, 4}, x)
				side = append(side, curve(x, -w, x+5, -w-6, x+12, -w-8.5)...)
			}
			s.line("gills", side.both(), .8)
		},
	}.sprawl(18, 27, 35, 7.4, .85)

	ant = plan{
		half:    []float64{0, 0, 2.5, 6.6, 10, 8.8, 18, 6.8, 22, 2.6, 28, 5.6, 40, 5.8, 49, 2.4, 53, 1.4, 56.5, 3, 60, 1.6, 66, 7.6, 78, 10.6, 92, 7, 100, 0},
		eye:     [3]float64{9, 7.8, 1.5},
		from:    62,
		rings:   4,
		feelers: lines(3, -4.5, -4, -15, -20, -21),
		fold:    folded{34, 4, 10, 122},
		fore:    oval,
		hind:    &oval,
		roots:   [2]pt{{34, 5}, {42, 4.4}},
		size:    [2]float64{86, 56},
		open:    [2]float64{-72, -52},
		wax:     .45,
	}.sprawl(28, 36, 45, 5, 1.15)

	beetle = plan{
		half:    []float64{0, 0, 1.5, 6, 9, 9.4, 13, 12, 20, 18, 28, 19.6, 31, 22, 48, 27, 70, 26, 90, 15, 100, 0},
		lines:   join(curve(29, -20.5, 31, 0, 29, 20.5), curve(11, -9.8, 12.5, 0, 11, 9.8)),
		eye:     [3]float64{7, 8, 1.9},
		feelers: curve(3, -5, -5, -10, -10, -18),
		fore:    oval,
		roots:   [2]pt{{34, 18}},
		size:    [2]float64{92},
		open:    [2]float64{-52},
		wax:     .5,
		extra: func(s *sketch, body, _ string) {
			s.etch("seam", lines(30, 0, 100, 0), body)
			if !s.coarse() {
				s.etch("ring", join(curve(33, -9, 60, -11, 93, -5), curve(34, -17, 60, -20, 88, -11)).both(), body)
			}
		},
	}.sprawl(22, 38, 54, 20, .95)

	hopper = &plan{
		half:    []float64{0, 0, 1.5, 5.6, 7, 8.4, 14, 8.6, 20, 9.4, 32, 11, 36, 9.4, 50, 9.6, 78, 7.4, 95, 4, 100, 0},
		plates:  bilateral(15, 0, 16, 4, 25, 4.6, 33, 0),
		lines:   join(curve(14, -8.4, 15.5, 0, 14, 8.4), curve(34.5, -9.8, 37.5, 0, 34.5, 9.8)),
		eye:     [3]float64{5.5, 7.2, 2.3},
		from:    36,
		rings:   9,
		feelers: curve(1, -2.6, -10, -9, -24, -12),
		fold:    folded{35, 7.4, 9, 108},
		fore:    strap,
		hind:    &fan,
		roots:   [2]pt{{34, 8}, {40, 8}},
		size:    [2]float64{78, 70},
		open:    [2]float64{-78, -52},
		wax:     .85,
		legs:    join(lines(18, -9, 11, -17, 1, -20), lines(27, -10, 30, -20, 22, -27), lines(80, -24, 106, -32, 114, -31)),
		thighs:  join(lines(18, -9, 12, -16), lines(27, -10, 30, -19)),
		extra: func(s *sketch, body, _ string) {
			thigh := loop(38, -8.5, 38, -8.5, 52, -17.5, 80, -25, 80, -25, 81, -22.5, 81, -22.5, 58, -11.5, 42, -7.5)
			s.fill("thighs", thigh.both(), body, 1)
			if !s.coarse() {
				s.etch("ring", join(lines(49, -15, 53, -13.2, 53, -10.8), lines(57, -18, 61, -16, 61, -13.4), lines(65, -20.4, 69, -18.6, 69, -16.8)).both(), body)
			}
		},
	}

	other = plan{ // a plain insect
		half:    []float64{0, 0, 2, 5.4, 8, 7, 12, 5.6, 18, 8.6, 36, 9.4, 42, 8.4, 65, 9.6, 90, 6, 100, 0},
		plates:  bilateral(15, 0, 18, 5, 30, 5, 34, 0),
		eye:     [3]float64{6, 6.2, 2.1},
		from:    40,
		rings:   7,
		feelers: curve(2, -4, -10, -12, -26, -16),
		fold:    folded{22, 6, 11, 108},
		fore:    oval,
		hind:    &oval,
		roots:   [2]pt{{22, 7}, {32, 7}},
		size:    [2]float64{86, 64},
		open:    [2]float64{-74, -54},
		wax:     .55,
		tail:    [2]float64{30, 10},
	}.sprawl(18, 27, 36, 8, 1)
)

// bands are dark bands along a thin abdomen of half width w.
func bands(from, to float64, n int, w float64) path {
	var out path
	step := (to - from) / float64(n)
	for i := range n {
		x := from + step*float64(i)
		out = append(out, stroke{straight, true, []pt{{x + step*.55, -w}, {x + step, -w}, {x + step, w}, {x + step*.55, w}}})
	}
	return out
}
