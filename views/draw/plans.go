package draw

// sprawl are the legs of one side of an insect seen from above, from where
// they join the body, and their thighs. reach stretches them.
func sprawl(x1, x2, x3, w, reach float64) (legs, thighs []path) {
	leg := func(x, kx, ky, fx, fy, tx, ty float64) {
		k := pt{x + kx*reach, -w - ky*reach}
		f := pt{k.x + fx*reach, k.y - fy*reach}
		t := pt{f.x + tx*reach, f.y - ty*reach}
		legs = append(legs, lines(x, -w, k.x, k.y, f.x, f.y, t.x, t.y))
		dx, dy := (k.y+w)*.13, (k.x-x)*.13
		mx, my := x+(k.x-x)*.45, -w+(k.y+w)*.45
		thighs = append(thighs, loop(x, -w, x, -w, mx-dx, my+dy, k.x, k.y, k.x, k.y, mx+dx, my-dy))
	}
	leg(x1, -7, 9, -10, 5, -5, 1)
	leg(x2, 3, 12, 4, 10, 5, 4)
	leg(x3, 9, 11, 14, 8, 7, 2)
	return legs, thighs
}

var stonefly = func() plan {
	p := plan{
		half:    []float64{0, 0, 1.5, 5, 5.5, 9, 10, 9.2, 13, 7.2, 15, 9.4, 19, 10.6, 24, 10.2, 26, 8.2, 29, 10.6, 33, 11.2, 36, 9.4, 39, 10.8, 43, 10.4, 46, 9.4, 58, 9.8, 72, 9.4, 86, 8, 95, 5.8, 99, 3, 100, 0},
		plates:  []path{bilateral(15.5, 0, 16, 6, 19.5, 7.6, 23, 6.6, 24, 0), bilateral(2.5, 0, 4, 4, 8, 5, 11, 3, 12, 0)},
		eye:     [3]float64{7, 8.6, 2.1},
		from:    45,
		rings:   10,
		feelers: curve(2, -4.5, -10, -13, -26, -20, -42, -23),
		fore:    strap,
		hind:    &fan,
		roots:   [2]pt{{28, 8}, {38, 8}},
		long:    [2]float64{100, 84},
		folded:  1,
		tail:    [2]float64{32, 13},
		wax:     .55,
	}
	p.legs, p.thighs = sprawl(20, 32, 42, 9.5, 1)
	return p
}()
