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
		edge:  loop(0, 0, 0, 0, .3, -.075, .65, -.115, .9, -.08, 1, .02, .93, .16, .76, .29, .55, .36, .38, .34, .18, .17, .02, .045),
		veins: join(curve(.04, 0, .5, -.045, .96, .0), curve(.04, .01, .45, .04, .95, .1), curve(.05, .02, .4, .13, .8, .26), curve(.05, .03, .3, .17, .52, .36)),
		cells: join(lines(.35, -.085, .36, -.045), lines(.5, -.1, .51, -.05), lines(.65, -.11, .66, -.04), lines(.8, -.1, .8, -.03), lines(.45, -.045, .47, .04), lines(.62, -.04, .62, .06), lines(.78, -.025, .78, .075), lines(.42, .045, .38, .12), lines(.62, .06, .58, .19), lines(.76, .08, .7, .22)),
	}
	smallSail = wing{ // the hindwing of a mayfly
		edge:  loop(0, 0, 0, 0, .25, -.16, .7, -.17, 1, .06, .8, .33, .4, .33, .05, .08),
		veins: join(curve(.06, 0, .5, 0, .97, .06), curve(.06, .02, .4, .14, .72, .33)),
	}
	strap = wing{ // the forewing of a stonefly
		edge:  loop(0, 0, 0, 0, .15, -.055, .5, -.075, .82, -.07, .97, .0, .98, .075, .88, .14, .55, .155, .2, .14, .02, .05),
		veins: join(curve(.04, .01, .4, -.02, .93, -.02), curve(.05, .02, .4, .035, .96, .07), curve(.06, .04, .4, .09, .8, .145)),
		cells: join(lines(.3, -.012, .31, .03), lines(.42, -.02, .43, .038), lines(.54, -.025, .55, .045), lines(.66, -.025, .67, .052), lines(.78, -.022, .79, .06), lines(.36, .035, .34, .08), lines(.5, .045, .48, .105), lines(.64, .055, .62, .12)),
	}
	fan = wing{ // the hindwing of a stonefly
		edge:  loop(0, 0, 0, 0, .2, -.05, .55, -.07, .88, -.06, 1, .05, .9, .2, .6, .33, .3, .36, .1, .24, 0, .05),
		veins: join(curve(.05, .01, .5, .0, .95, .02), curve(.05, .02, .45, .09, .9, .18), curve(.05, .03, .35, .16, .62, .31), curve(.04, .04, .2, .19, .32, .34)),
	}
	tent = wing{ // the forewing of a caddis
		edge:  loop(0, 0, 0, 0, .2, -.07, .55, -.1, .85, -.085, 1, .03, .97, .11, .8, .19, .5, .19, .18, .12, .02, .05),
		veins: join(curve(.05, .0, .5, -.035, .94, -.03), curve(.05, .015, .5, .045, .98, .08), curve(.05, .03, .4, .1, .82, .18)),
		cells: join(curve(.5, -.035, .75, -.005, .98, .03), curve(.45, .045, .7, .1, .9, .15)),
	}
	pane = wing{ // the wing of a midge or cranefly
		edge:  loop(0, 0, 0, 0, .12, -.02, .35, -.085, .7, -.105, .93, -.055, 1, .03, .88, .12, .6, .17, .35, .14, .12, .03),
		veins: join(curve(.04, 0, .4, -.04, .95, -.03), curve(.04, .005, .45, .03, .97, .06), curve(.1, .02, .4, .08, .72, .145)),
	}
	blade = wing{ // the wing of a damselfly or dragonfly
		edge:  loop(0, 0, 0, 0, .12, -.025, .45, -.06, .8, -.075, .97, -.03, 1, .04, .88, .11, .6, .15, .32, .13, .1, .04),
		veins: join(curve(.04, 0, .45, -.03, .97, -.01), curve(.05, .01, .45, .035, .93, .08), curve(.08, .02, .35, .075, .65, .14), lines(.46, -.062, .46, .035)),
		cells: join(lines(.2, -.012, .22, .02), lines(.32, -.02, .33, .03), lines(.58, -.03, .58, .05), lines(.7, -.028, .7, .055), lines(.82, -.025, .81, .065), lines(.3, .03, .27, .06), lines(.45, .035, .42, .09), lines(.6, .045, .56, .13), lines(.74, .06, .71, .135)),
	}
	oval = wing{ // the wing of an ant or of a land insect in general
		edge:  loop(0, 0, 0, 0, .2, -.06, .55, -.11, .88, -.08, 1, .04, .82, .17, .45, .18, .12, .08),
		veins: join(curve(.05, 0, .45, -.03, .93, -.02), curve(.06, .02, .4, .06, .8, .15)),
	}
)

// wing adds a wing, turned by an angle in degrees from straight back, and its
// mirror image if both is asked for. Clear wings let through what is behind.
func (s *sketch) wing(w wing, x, y, degrees, size float64, mirror bool, color string, cover float64) {
	put := func(p path) path {
		p = p.place(x, y, degrees, size)
		if mirror {
			return p.both()
		}
		return p
	}
	s.fill("wing", put(w.edge), color, cover)
	if s.coarse() {
		return
	}
	veins := w.veins
	if s.px() >= 110 && size >= 45 {
		veins = join(veins, w.cells)
	}
	s.hair("vein", put(veins))
}
