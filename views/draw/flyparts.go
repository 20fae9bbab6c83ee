package draw

// head is the finished thread behind the eye.
func (d *dressing) head(size float64) {
	d.fill("head", loop(3.8, -.8, 8, -size, 13, -size*.9, 13, size*.9, 8, size, 3.8, .8), d.under, 1)
}

// dubbed is a body of dubbing or thread from the bend to x, thickest in front.
func (d *dressing) dubbed(front, thick float64, ribs int) {
	a, b := d.shank, front
	at := func(t float64) float64 { return b + (a-b)*t }
	top := []float64{at(0), -thick * .7, at(.25), -thick, at(.7), -thick * .72, at(1), -thick * .34}
	d.fill("body", loop(at(0), 0, at(0), -thick*.7, at(.25), -thick, at(.7), -thick*.72, at(1), -thick*.34, a, 0,
		at(1), thick*.34, at(.7), thick*.72, at(.25), thick, at(0), thick*.7), d.body, 1)
	d.ribs(ribs, front, a, func(x float64) float64 { return -along(top, x) })
}

// ribs are slanting turns of thread over a body of half width w.
func (d *dressing) ribs(n int, from, to float64, w func(x float64) float64) {
	if n == 0 || d.coarse() {
		return
	}
	n = d.few(n)
	var out path
	for i := 1; i <= n; i++ {
		x := from + (to-from)*float64(i)/float64(n+1)
		out = append(out, lines(x-.8, -w(x-.8)*.96, x+1.6, w(x+1.6)*.96)...)
	}
	d.etch("ribs", out, d.body)
}

// tailFibres is a tail of n fibres from the bend.
func (d *dressing) tailFibres(n int, reach, spread float64) {
	d.line("tails", fibres(d.shank-2, -1.5, -spread, spread*.2, max(d.few(n), 2), reach), .8)
}

// collar is a hackle wound around the shank, seen edge on.
func (d *dressing) collar(x, wide, reach float64, n int) {
	n = max(d.few(n), 4)
	d.hackle(join(
		fibres(x, -1, -90-wide, -90+wide, n, reach),
		fibres(x, 1, 90+wide, 90-wide, n, reach*.94)))
}

// hackle draws fibres, every other one in the colour of the hackle and the
// rest in that of the text, so that it shows on any ground.
func (d *dressing) hackle(p path) {
	var own, thin path
	for i, s := range p {
		if i%2 == 0 {
			own = append(own, s)
		} else {
			thin = append(thin, s)
		}
	}
	d.tone("hackle", own, d.under)
	d.hair("hackle", thin)
}

// tone draws lines in a colour of the data.
func (d *dressing) tone(class string, p path, color string) {
	d.marks = append(d.marks, mark{class: class, path: p, stroke: color, weight: 1.3, faint: 1})
}

// palmered is a hackle wound along a body of half width w.
func (d *dressing) palmered(from, to, w, reach float64, turns int) {
	turns = max(d.few(turns), 6)
	var p path
	for i := range turns {
		t := float64(i) / float64(turns-1)
		x, r := from+(to-from)*t, reach*(1-.3*t)
		y := w * (1 - .45*t)
		p = join(p, fibres(x, -y, -98, -76, 2, r), fibres(x, y, 76, 98, 2, r*.92))
	}
	d.hackle(p)
}

// bunch is a bunch of hair or fibres tied in at x, y: an outline with strands.
func (d *dressing) bunch(class string, x, y, degrees, reach, wide, cover float64, strands int) {
	put := func(p path) path { return p.place(x, y, degrees, reach) }
	d.fill(class, put(loop(0, 0, 0, 0, .3, -wide*.6, .75, -wide, .98, -wide*.8, .98, -wide*.8, .94, -wide*.4, 1, 0, 1, 0, .94, wide*.4, .97, wide*.85, .97, wide*.85, .75, wide, .3, wide*.6)), d.wing, cover)
	if d.coarse() {
		return
	}
	var p path
	n := d.few(strands)
	for i := range n {
		t := 2*float64(i+1)/float64(n+1) - 1
		p = join(p, curve(.05, wide*t*.2, .5, wide*t*.85, .93, wide*t))
	}
	d.etch("strands", put(p), d.wing)
}

// upright wings stand at x, the far one a little behind.
func (d *dressing) uprightWings(x, reach float64) {
	slip := loop(0, 0, 0, 0, .5, -.15, .92, -.14, 1, .02, .85, .15, .4, .12)
	d.fill("wing", slip.place(x+1, -4, -72, reach*.96), d.wing, .55)
	d.fill("wing", slip.place(x, -4, -84, reach), d.wing, .9)
	if d.fine() {
		d.hair("strands", join(curve(.1, 0, .5, -.06, .9, -.06), curve(.1, .01, .5, .03, .94, .03), curve(.1, .02, .5, .07, .82, .1)).place(x, -4, -84, reach))
	}
}

// rubber legs hang in a V at x.
func (d *dressing) rubberLegs(x, y, reach float64) {
	d.line("legs", join(
		curve(x, y, x-reach*.32, y+reach*.42, x-reach*.62, y+reach),
		curve(x, y, x+reach*.34, y+reach*.4, x+reach*.6, y+reach)), 1.1)
}

// foam is a folded foam body in segments, from a to b, above the shank.
func (d *dressing) foam(a, b, thick float64, n int) {
	v := []float64{}
	step := (b - a) / float64(n)
	add := func(x, y float64) { v = append(v, x, y) }
	for i := range n {
		x, t := a+step*float64(i), thick*(1-.3*float64(i)/float64(n))
		if i == 0 {
			add(x, -t*.3)
		}
		add(x+step*.5, -t*1.18)
		if i < n-1 {
			add(x+step, -t*.92)
			add(x+step, -t*.92)
		}
	}
	add(b, -thick*.35)
	add(b-step*.4, thick*.12)
	add(a+step, thick*.2)
	d.fill("body", loop(v...), d.body, 1)
	if d.coarse() {
		return
	}
	var p path
	for i := 1; i < n; i++ {
		x, t := a+step*float64(i), thick*(1-.3*float64(i)/float64(n))
		p = join(p, curve(x, -t*.88, x+1, -t*.4, x, thick*.15))
	}
	d.etch("ribs", p, d.body)
}
