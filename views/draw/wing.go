package draw

// wing is one wing, its root at the origin, its tip about one unit along x,
// its leading edge towards negative y.
type wing struct {
	edge  path
	veins path
	cells path // finer veins, for large drawings
}

var (
	sail = wing{ // the forewing of a mayfly
		edge:  loop(0, 0, 0, 0, .35, -.085, .8, -.11, 1, 0, .8, .26, .5, .36, .18, .18, 0, .04),
		veins: join(curve(.04, 0, .5, -.045, .97, .0), curve(.05, .02, .45, .06, .92, .13), curve(.05, .02, .35, .14, .68, .32)),
		cells: join(lines(.35, -.085, .36, -.03), lines(.5, -.1, .51, -.045), lines(.65, -.11, .66, -.04), lines(.8, -.1, .8, -.03), lines(.45, -.045, .47, .06), lines(.64, -.04, .62, .09), lines(.8, -.025, .78, .11)),
	}
	smallSail = wing{ // the hindwing of a mayfly
		edge:  loop(0, 0, 0, 0, .4, -.2, 1, .05, .6, .34, .1, .12),
		veins: join(curve(.06, 0, .5, 0, .95, .06), curve(.06, .02, .4, .14, .65, .33)),
	}
	strap = wing{ // the forewing of a stonefly
		edge:  loop(0, 0, 0, 0, .25, -.07, .8, -.085, .99, .02, .85, .14, .35, .16, 0, .05),
		veins: join(curve(.04, .01, .4, -.02, .94, -.02), curve(.05, .02, .4, .035, .96, .06), curve(.06, .04, .4, .09, .8, .145)),
		cells: join(lines(.34, -.015, .35, .03), lines(.48, -.02, .49, .038), lines(.62, -.025, .63, .045), lines(.76, -.025, .77, .052), lines(.38, .035, .36, .08), lines(.54, .045, .52, .105), lines(.68, .055, .66, .12)),
	}
	fan = wing{ // the hindwing of a stonefly or caddis
		edge:  loop(0, 0, 0, 0, .4, -.06, .9, -.05, 1, .06, .65, .32, .25, .35, 0, .06),
		veins: join(curve(.05, .01, .5, .0, .95, .02), curve(.05, .02, .45, .1, .88, .19), curve(.05, .03, .35, .2, .55, .34)),
	}
	tent = wing{ // the forewing of a caddis
		edge:  loop(0, 0, 0, 0, .35, -.09, .8, -.1, 1, .03, .85, .18, .4, .18, 0, .05),
		veins: join(curve(.05, .0, .5, -.035, .95, -.03), curve(.05, .015, .5, .045, .98, .06), curve(.05, .03, .4, .1, .85, .16)),
	}
	pane = wing{ // the wing of a midge or cranefly
		edge:  loop(0, 0, 0, 0, .3, -.07, .75, -.1, 1, .03, .7, .16, .35, .14, .1, .03),
		veins: join(curve(.04, 0, .4, -.04, .95, -.03), curve(.04, .005, .45, .03, .97, .06), curve(.1, .02, .4, .08, .72, .145)),
	}
	blade = wing{ // the wing of a damselfly or dragonfly
		edge:  loop(0, 0, 0, 0, .4, -.055, .85, -.075, 1, .03, .75, .14, .35, .13, .08, .03),
		veins: join(curve(.04, 0, .45, -.03, .97, -.01), curve(.05, .01, .45, .035, .93, .08), lines(.46, -.062, .46, .035)),
		cells: join(lines(.25, -.015, .26, .025), lines(.58, -.03, .58, .05), lines(.7, -.028, .7, .055), lines(.82, -.025, .81, .065), lines(.3, .03, .27, .1), lines(.45, .035, .42, .13), lines(.6, .045, .56, .14)),
	}
	stigma = loop(.84, -.07, .84, -.07, .93, -.06, .93, -.06, .93, -.025, .93, -.025, .84, -.035, .84, -.035)
	oval   = wing{ // the wing of an ant or of a land insect in general
		edge:  loop(0, 0, 0, 0, .4, -.1, .88, -.08, 1, .04, .7, .18, .15, .08),
		veins: join(curve(.05, 0, .45, -.03, .93, -.02), curve(.06, .02, .4, .06, .8, .15)),
	}
)

// wing adds a wing, turned by an angle in degrees from straight back, and its
// mirror image if both is asked for. Clear wings let through what is behind.
func (s *sketch) wing(w wing, x, y, degrees, size float64, both bool, color string, cover float64) {
	put := func(p path) path {
		p = p.place(x, y, degrees, size)
		if both {
			return p.both()
		}
		return p
	}
	s.fill("wing", put(w.edge), color, cover)
	if s.coarse() {
		return
	}
	veins := w.veins
	if s.large() && size >= 45 {
		veins = join(veins, w.cells)
	}
	s.veins(put(veins), color, cover)
}

// veins are drawn for the wing where it hides what is behind it, and for the
// page where that shines through.
func (s *sketch) veins(p path, color string, cover float64) {
	if cover < .65 {
		s.hair("vein", p)
		return
	}
	s.etch("vein", p, color)
}

// folded is a pair of wings laid along the back: where they begin, how wide
// each is there and at its widest, and where they end.
type folded struct{ x0, w0, w, x1 float64 }

func (s *sketch) folded(f folded, color string, cover float64) {
	d := f.x1 - f.x0
	x := func(share float64) float64 { return f.x0 + d*share }
	s.fill("wing", bilateral(x(.04), 0, x(.04), 0, x(-.02), f.w0, x(.3), f.w, x(.75), f.w*1.04, x(.95), f.w*.72, x(1), 0), color, cover)
	s.veins(lines(x(.04), 0, x(1), 0), color, cover)
	if s.coarse() {
		return
	}
	veins := join(
		curve(x(.04), f.w0*.75, x(.35), f.w*.68, x(.9), f.w*.66),
		curve(x(.05), f.w0*.4, x(.35), f.w*.34, x(.95), f.w*.3))
	if s.large() {
		for _, at := range []float64{.36, .48, .6, .72, .84} {
			veins = join(veins, lines(x(at), f.w*.98, x(at-.015), f.w*.68))
		}
	}
	s.veins(veins.both(), color, cover)
}
