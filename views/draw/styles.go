package draw

// styles are the kinds of fly that are known. What makes each one what it is,
// is common practice, no source.
var styles = map[string]style{
	"foam-stone":       {shank: 83, gape: 21, level: 9, dress: foamStone},
	"short-wing-stone": {shank: 87, gape: 21, level: 9, dress: shortWingStone},
	"hair-wing-stone":  {shank: 100, gape: 21, level: 12, dress: hairWingStone},
	"spent-stone":      {shank: 87, gape: 21, top: true, dress: spentStone},
	"stonefly-nymph":   {shank: 100, gape: 22, dress: stoneNymph},
	"parachute-dun":    {shank: 100, gape: 44, level: 5, dress: parachuteDun},
	"upright-dun":      {shank: 100, gape: 44, level: 22, dress: uprightDun},
	"hair-fan-dun":     {shank: 100, gape: 44, level: 5, dress: hairFanDun},
	"emerger":          {shank: 100, gape: 42, bent: true, level: -3, dress: filmEmerger},
	"trapped-emerger":  {shank: 100, gape: 42, level: 4, dress: trappedEmerger},
	"soft-hackle":      {shank: 100, gape: 44, dress: softHackle},
	"spent-spinner":    {shank: 100, gape: 44, top: true, dress: spentSpinner},
	"nymph":            {shank: 100, gape: 38, dress: mayNymph},
	"hair-wing-caddis": {shank: 100, gape: 44, level: 19, dress: hairWingCaddis},
	"down-wing-caddis": {shank: 100, gape: 44, level: 7, dress: downWingCaddis},
	"caddis-pupa":      {shank: 100, gape: 44, bent: true, dress: pupaFly},
	"caddis-larva":     {shank: 100, gape: 42, bent: true, dress: larvaFly},
	"midge-pupa":       {shank: 100, gape: 44, bent: true, dress: midgePupaFly},
	"midge-adult":      {shank: 100, gape: 44, level: 17, dress: midgeAdultFly},
	"bushy-dry":        {shank: 100, gape: 44, level: 21, dress: bushyDry},
	"hopper":           {shank: 83, gape: 22, level: 9, dress: hopperFly},
	"beetle":           {shank: 100, gape: 44, level: 7, dress: beetleFly},
	"ant":              {shank: 100, gape: 44, level: 8, dress: antFly},
	"cranefly":         {shank: 91, gape: 26, level: 10, dress: craneflyDry},
	"damsel-nymph":     {shank: 71, gape: 22, dress: damselNymphFly},
	"damsel-adult":     {shank: 62, gape: 20, level: 8, dress: damselDry},
	"scud":             {shank: 100, gape: 42, bent: true, dress: scudFly},
	"streamer":         {shank: 67, gape: 19, dress: streamerFly},
	"long-drake":       {shank: 100, gape: 30, level: 5, dress: longDrake},
	"stout-fly":        {shank: 100, gape: 46, level: 15, dress: stoutFly},
	"clear-wing-bug":   {shank: 87, gape: 34, level: 9, dress: clearWingBug},
	"moth":             {shank: 95, gape: 40, level: 15, dress: mothFly},
	"grub":             {shank: 95, gape: 34, bent: true, level: 0, dress: grubFly},
	"worm":             {shank: 45, gape: 22, dress: wormFly},
	"egg":              {shank: 160, gape: 70, dress: eggFly},
	"water-boatman":    {shank: 100, gape: 44, dress: boatmanFly},
	"small-fish":       {shank: 71, gape: 19, dress: smallFishFly},
	"leech":            {shank: 59, gape: 17, dress: leechFly},
	"crayfish":         {shank: 71, gape: 20, dress: crayfishFly},
	"mouse":            {shank: 62, gape: 22, level: 9, dress: mouseFly},
}

func plainFly(d *dressing) {
	d.tailFibres(4, 34, 10)
	d.dubbed(12, 5, 5)
	d.collar(17, 16, 26, 11)
	d.head(2.6)
}

func foamStone(d *dressing) {
	d.rubberLegs(58, 2, 26)
	d.rubberLegs(24, 2, 26)
	d.fill("underbody", loop(10, 0, 20, 5, 50, 5.6, d.shank, 3, d.shank+2, 0, 50, -2, 20, -2), d.under, 1)
	d.foam(16, 100, 9.5, 7)
	d.bunch("wing", 27, -9.5, -3, 84, .085, .8, 6)
	// The foam folds forward over the eye and back into a bullet head.
	d.fill("head", loop(4, -1, 9, -8.6, 20, -12.4, 29, -9.6, 27, -2, 14, 1.6), d.body, 1)
	d.line("band", curve(27.5, -10.6, 28.6, -5, 26.6, .6), 1.4)
}

func shortWingStone(d *dressing) {
	d.rubberLegs(52, 2, 24)
	d.rubberLegs(24, 2, 24)
	d.fill("underbody", loop(10, 0, 20, 5, 50, 5.6, d.shank, 3, d.shank+2, 0, 50, -2, 20, -2), d.under, 1)
	d.foam(16, 100, 9, 7)
	d.bunch("wing", 27, -9.5, -16, 20, .22, 1, 3)
	d.fill("head", loop(4, -1, 9, -8, 20, -11.6, 28, -9, 26, -2, 14, 1.6), d.body, 1)
	d.line("band", curve(27, -10, 28, -5, 26, .6), 1.4)
}

func hairWingStone(d *dressing) {
	d.bunch("tails", d.shank-4, -3, -8, 24, .16, .9, 4)
	d.dubbed(20, 6.4, 0)
	d.palmered(31, d.shank-3, 5.4, 8, 13)
	d.bunch("wing", 24, -5, -9, 82, .11, .9, 7)
	d.fill("head", loop(4, -1, 9, -6, 19, -8.4, 26, -7, 26, 5, 19, 7, 9, 5, 4, 1), d.wing, 1)
	d.line("band", curve(26, -7.4, 27.5, 0, 26, 5.4), 1.6)
	if d.fine() {
		d.etch("strands", join(curve(6, -2, 14, -4.4, 25, -4.4), curve(6, -.6, 14, -1, 25, -1), curve(6, 1, 14, 3, 25, 2.6)), d.wing)
	}
}

func spentStone(d *dressing) {
	d.spreadWings(30, 74, .12, 12)
	d.line("legs", join(curve(26, 4, 20, 16, 8, 24), curve(44, 5, 52, 18, 64, 26)).both(), 1.1)
	half := []float64{10, 0, 12, 4, 20, 6.6, 30, 7, 34, 6, 52, 7, 82, 6, 97, 3.4, 100, 0}
	d.fill("body", bilateral(half...), d.body, 1)
	d.ribs(7, 36, 98, func(x float64) float64 { return along(half, x) })
	d.fill("head", bilateral(4, 0, 6, 3.4, 12, 6, 26, 6.6, 30, 5, 31, 0), d.under, 1)
}

// spreadWings lie out at both sides of a fly seen from above.
func (d *dressing) spreadWings(x, reach, wide float64, sweep float64) {
	w := loop(0, 0, 0, 0, .4, -wide*.8, .85, -wide, 1, 0, .85, wide, .4, wide*.8).place(x, -3, -90+sweep, reach)
	d.fill("wing", w.both(), d.wing, .7)
	if d.coarse() {
		return
	}
	var p path
	n := d.few(5)
	for i := range n {
		t := 2*float64(i+1)/float64(n+1) - 1
		p = join(p, curve(.06, wide*t*.2, .5, wide*t*.85, .93, wide*t*.9))
	}
	d.hair("strands", p.place(x, -3, -90+sweep, reach).both())
}

func stoneNymph(d *dressing) {
	d.line("tails", join(curve(d.shank-2, -2, d.shank+14, -5, d.shank+28, -10), curve(d.shank-2, 0, d.shank+14, 0, d.shank+28, -1)), 1.1)
	d.line("feelers", join(curve(8, -3, -4, -8, -16, -9), curve(8, -1, -4, -2, -17, -2)), .9)
	d.line("legs", join(curve(22, 5, 16, 13, 8, 16), curve(30, 6, 32, 15, 28, 21), curve(40, 6, 48, 13, 56, 16)), 1.2)
	d.dubbed(44, 7, 8)
	d.fill("body", loop(10, 0, 12, -4.4, 22, -7.4, 44, -8, 50, 0, 44, 7, 22, 7, 12, 4.4), d.under, 1)
	d.fill("case", loop(31, -7, 31, -9.6, 40, -10.4, 54, -7.4, 54, -7.4, 42, -4.4), d.wing, 1)
	d.fill("case", loop(17, -5, 19, -9, 28, -10, 39, -7, 39, -7, 28, -4), d.wing, 1)
	d.head(4)
}

func parachuteDun(d *dressing) {
	d.tailFibres(4, 38, 9)
	d.dubbed(11, 5, 6)
	x := 30.0
	post := loop(x-2.6, -3, x-3.4, -18, x-6.5, -37, x-6.5, -37, x-1, -39.5, x+5, -36, x+5, -36, x+3, -18, x+2.6, -3)
	d.fill("wing", post, d.wing, 1)
	if d.fine() {
		d.hair("strands", join(lines(x-1, -9, x-2.6, -35), lines(x+.8, -9, x+1.6, -35)))
	}
	n := max(d.few(11), 5)
	// The hackle lies flat around the post: seen from the side it is a disc.
	disc := join(fibres(x, -7.6, -13, 9, n, 36), fibres(x, -7.6, 171, 193, n, 34))
	d.hackle(disc)
	d.line("band", lines(x-3, -8.2, x+3, -8.2), 2.4)
	d.head(2.6)
}

func uprightDun(d *dressing) {
	d.tailFibres(5, 40, 10)
	d.dubbed(14, 4.6, 7)
	d.uprightWings(25, 42)
	d.collar(22, 16, 27, 12)
	d.head(2.6)
}

func hairFanDun(d *dressing) {
	d.line("tails", join(lines(d.shank-2, -1, d.shank+32, -9), lines(d.shank-2, 0, d.shank+32, 1)), .9)
	d.dubbed(11, 6, 0)
	x := 26.0
	d.fill("wing", loop(x, -4, x, -4, x-23, -18, x-19, -28, x-10, -35, x+1, -37.6, x+12, -35, x+21, -28, x+25, -18), d.wing, .75)
	d.hair("strands", fibres(x, -4, -146, -34, max(d.few(13), 5), 34))
	d.fill("thorax", loop(x-10, -3, x, -7.4, x+10, -4, x+9, 5, x, 6.6, x-9, 4), d.body, 1)
	d.head(2.6)
}

// hung is a slim body along a curved shank, as thick as given in front.
func (d *dressing) hung(thick, back float64, ribs int) {
	top := []float64{16, -2.6 - thick*.7, 40, -3.6 - thick, 64, -2.4 - thick*.9, 82, 2 - thick*.6, 93, 9 - back}
	under := []float64{16, -1 + thick*.7, 40, -3 + thick, 64, -1.4 + thick*.9, 80, 4 + thick*.6, 91, 11 + back*.6}
	v := append([]float64(nil), top...)
	for i := len(under) - 2; i >= 0; i -= 2 {
		v = append(v, under[i], under[i+1])
	}
	d.fill("body", loop(v...), d.body, 1)
	if d.coarse() {
		return
	}
	var p path
	n := d.few(ribs)
	for i := 1; i <= n; i++ {
		x := 18 + 72*float64(i)/float64(n+1)
		p = join(p, lines(x-1, along(top, x-1), x+1, along(under, x+1)))
	}
	d.etch("ribs", p, d.body)
}

func filmEmerger(d *dressing) {
	d.hung(3.6, 1.6, 8)
	d.fill("thorax", loop(11, 0, 15, -7, 26, -9, 34, -6, 32, 3.6, 22, 5, 13, 3), d.under, 1)
	d.hair("hackle", fibres(20, 2, 40, 140, max(d.few(8), 4), 19))
	d.fill("wing", loop(16, -6, 12, -20, 18, -31, 29, -30, 35, -18, 32, -7), d.wing, .85)
	if d.fine() {
		d.hair("strands", join(curve(19, -8, 17, -20, 21, -27), curve(26, -8, 28, -18, 26, -27)))
	}
	d.head(2.6)
}

func trappedEmerger(d *dressing) {
	x := d.shank - 3
	d.marks = append(d.marks, mark{class: "skin", path: loop(x, -1.6, x+16, -5, x+34, -3.6, x+39, 0, x+34, 2.4, x+16, 3), fill: d.under, cover: .45, weight: .8, faint: .8})
	if d.fine() {
		d.hair("strands", join(curve(x+2, -.6, x+18, -2, x+36, -1), curve(x+2, .4, x+18, .6, x+35, .6)))
	}
	d.dubbed(12, 5, 6)
	d.bunch("wing", 20, -4, -26, 34, .3, .85, 4)
	d.fill("thorax", loop(11, 0, 15, -7, 24, -9, 33, -6, 32, 4, 22, 5.6, 13, 3), d.body, 1)
	d.hair("hackle", fibres(20, 2, 40, 140, max(d.few(8), 4), 17))
	d.head(2.6)
}

func softHackle(d *dressing) {
	d.dubbed(20, 3.2, 8)
	d.fill("thorax", loop(12, 0, 15, -4.6, 24, -4.6, 29, 0, 24, 4.6, 15, 4.6), d.body, 1)
	var p path
	n := max(d.few(8), 4)
	for i := range n {
		t := 2*float64(i)/float64(n-1) - 1
		long := 44 * uneven[i]
		p = join(p, curve(13, t*2, 13+long*.3, t*17, 13+long, t*(22-4*uneven[i])))
	}
	d.hackle(p)
	d.head(2.8)
}

func spentSpinner(d *dressing) {
	d.spreadWings(25, 62, .14, 4)
	d.line("tails", join(curve(97, -.8, 118, -5, 146, -17), curve(97, .8, 118, 5, 146, 17)), .9)
	half := []float64{9, 0, 12, 3.4, 22, 5.2, 32, 4.4, 40, 3, 80, 2.6, 99, 1.8, 100, 0}
	d.fill("body", bilateral(half...), d.body, 1)
	d.fill("thorax", bilateral(14, 0, 16, 4.6, 25, 6.2, 34, 4.6, 37, 0), d.under, 1)
	d.ribs(8, 38, 98, func(x float64) float64 { return along(half, x) })
	d.fill("head", bilateral(4.4, 0, 6, 1.8, 10, 2, 11.5, 0), d.under, 1)
}

func mayNymph(d *dressing) {
	d.tailFibres(4, 30, 12)
	d.dubbed(38, 4.8, 7)
	d.line("legs", fibres(24, 3, 30, 110, max(d.few(6), 3), 17), .9)
	d.fill("thorax", loop(12, 0, 17, -6.6, 29, -8, 42, -5, 43, 4, 30, 6.8, 16, 5), d.under, 1)
	d.fill("case", loop(13, -3, 18, -8.4, 30, -9.6, 43, -6, 43, -6, 30, -4.6), d.wing, 1)
	d.head(3)
}

func hairWingCaddis(d *dressing) {
	d.dubbed(16, 4.6, 0)
	d.palmered(28, d.shank-3, 4, 14, 8)
	d.bunch("wing", 20, -4.5, -11, 92, .115, .9, 7)
	d.collar(18, 18, 23, 11)
	// The trimmed butts of the wing stand over the eye.
	d.fill("wing", loop(18, -4, 18, -4, 13, -9.6, 5, -12, 5, -12, 4, -8, 4, -8, 10, -3), d.wing, 1)
	d.head(2.4)
}

func downWingCaddis(d *dressing) {
	d.line("feelers", join(curve(8, -2, -8, -14, -30, -20), curve(8, -2, -10, -9, -32, -10)), .8)
	d.dubbed(14, 6.2, 0)
	d.fill("wing", loop(15, -5, 15, -5, 34, -13, 72, -16, 104, -15, 116, -4, 116, -4, 104, 2.6, 64, 3.4, 28, 1.6), d.wing, .94)
	if d.fine() {
		d.etch("strands", join(curve(24, -5, 64, -9, 108, -9), curve(26, -3, 66, -4.6, 111, -4.4), curve(28, -1, 66, -.4, 106, -.4)), d.wing)
	}
	d.fill("thorax", loop(10, 0, 13, -6, 20, -8.4, 26, -4, 24, 4.6, 14, 4.6), d.under, 1)
	d.hair("legs", fibres(18, 4, 50, 130, max(d.few(6), 3), 13))
	d.head(2.6)
}

func pupaFly(d *dressing) {
	d.line("feelers", join(curve(10, -4, 30, -15, 70, -17), curve(10, -4, 34, -12, 78, -11)), .9)
	d.hung(6.6, 3, 7)
	d.line("hackle", fibres(20, 4, 14, 80, max(d.few(7), 4), 30), .8)
	d.fill("pads", loop(22, -6, 22, -6, 36, -6, 54, 4, 58, 12, 46, 9, 30, 3), d.wing, 1)
	d.fill("thorax", loop(9, 0, 12, -7.4, 22, -9.6, 30, -6, 28, 4.6, 18, 7, 11, 4), d.under, 1)
	d.head(3)
}

func larvaFly(d *dressing) {
	d.hung(5.6, 3, 9)
	d.line("legs", join(lines(17, 3, 13, 12), lines(21, 3, 20, 13), lines(25, 3, 28, 12)), 1)
	d.fill("thorax", loop(8, 0, 11, -6, 22, -8.4, 29, -6, 28, 3.4, 20, 5, 11, 4), d.under, 1)
	d.head(3.2)
}

func midgePupaFly(d *dressing) {
	d.hung(2.8, 1.4, 10)
	d.fill("thorax", loop(9, 0, 13, -7.4, 24, -9, 33, -5, 31, 4, 20, 5.4, 11, 3.6), d.body, 1)
	d.tone("gills", fibres(10, -3, -150, -100, 4, 14), d.wing)
	d.hair("gills", fibres(10, -3, -150, -100, 4, 14))
	d.head(2.6)
}

func midgeAdultFly(d *dressing) {
	d.dubbed(14, 3.2, 8)
	d.fill("wing", loop(18, -4, 18, -4, 46, -12.6, 80, -13, 88, -9, 76, -5, 40, -3), d.wing, .7)
	d.collar(20, 17, 21, 10)
	d.head(2.6)
}

func bushyDry(d *dressing) {
	d.tailFibres(6, 34, 14)
	d.dubbed(14, 4.4, 0)
	d.palmered(31, d.shank-3, 4, 17, 8)
	d.bunch("wing", 23, -4, -66, 40, .17, .9, 4)
	d.bunch("wing", 21, -4, -106, 40, .17, .9, 4)
	d.collar(20, 20, 26, 11)
	d.head(2.6)
}

func hopperFly(d *dressing) {
	d.foam(14, 100, 10.5, 5)
	d.bunch("wing", 28, -10, -3, 72, .085, .9, 5)
	// The knotted hind legs.
	d.line("legs", lines(74, -20, 98, 10, 107, 11), 1.1)
	d.fill("legs", loop(36, -3, 36, -3, 50, -13, 75, -21, 75, -21, 76, -18, 76, -18, 58, -8.6, 42, -2), d.under, 1)
	d.rubberLegs(26, 2, 24)
	d.fill("underbody", loop(12, 0, 22, 5, 50, 5, d.shank-4, 2, 50, -1, 20, -1), d.under, 1)
	d.fill("head", loop(4, -1, 8, -8.6, 20, -13, 31, -10.6, 30, -2, 15, 2), d.body, 1)
	d.line("band", curve(29.6, -11.4, 30.8, -5, 29, .6), 1.4)
	d.tint("eyes", circle(14, -6.6, 2.2), ink(d.body), 1)
}

func beetleFly(d *dressing) {
	d.line("legs", join(curve(26, 3, 18, 11, 9, 13), curve(38, 4, 40, 14, 37, 20), curve(52, 4, 62, 12, 72, 14)), 1.1)
	d.dubbed(14, 5, 0)
	d.fill("body", loop(9, -3, 16, -11.5, 34, -19, 62, -20.4, 84, -15, 97, -6, 100, .6, 60, -2, 30, -2.6, 12, 0), d.wing, 1)
	d.etch("band", curve(24, -15.6, 26.6, -9, 24, -2.4), d.wing)
	d.head(2.8)
}

func antFly(d *dressing) {
	d.fill("body", loop(47, 0, 53, -8, 68, -11, 88, -7.6, 100, 0, 88, 6.6, 68, 9, 53, 6.8), d.body, 1)
	d.line("waist", lines(34, 0, 48, 0), 2.6)
	d.fill("wing", loop(38, -3, 38, -3, 62, -15, 98, -19, 106, -14.6, 92, -9.6, 58, -5), d.wing, .6)
	d.fill("body", loop(9, 0, 13, -6.6, 22, -8.6, 31, -5.6, 35, 0, 30, 5.6, 21, 7, 12, 5), d.body, 1)
	d.collar(41, 22, 19, 9)
	d.head(2.4)
}

func craneflyDry(d *dressing) {
	d.fill("wing", loop(22, -4, 22, -4, 46, -15, 84, -22, 92, -17, 70, -9, 40, -4), d.wing, .7)
	d.line("legs", join(
		lines(20, 3, 2, 17, -18, 34), lines(26, 4, 14, 28, 4, 46), lines(31, 4, 52, 24, 58, 44), lines(36, 4, 76, 20, 104, 36),
	), 1)
	d.fill("body", loop(12, 0, 17, -5.4, 27, -6.6, 36, -3.6, 66, -4, 96, -4.6, 100, -2.4, 96, -.6, 66, 1.6, 36, 3.6, 26, 5, 16, 4), d.body, 1)
	d.ribs(6, 40, 96, func(float64) float64 { return 2 })
	d.collar(20, 18, 17, 9)
	d.head(2.6)
}

func damselNymphFly(d *dressing) {
	d.fill("body tail", loop(d.shank-6, -2.6, d.shank+10, -5, 88, -4, 100, -1, 100, -1, 95, .6, 99, 3, 99, 3, 88, 3, d.shank+10, 3, d.shank-6, 2.4), d.body, .8)
	if d.fine() {
		d.hair("strands", join(curve(d.shank, -1, 76, -2, 96, -1.4), curve(d.shank, .6, 76, 1, 95, 1.8)))
	}
	d.dubbed(9, 4, 7)
	d.hair("hackle", fibres(20, 2, 25, 80, max(d.few(6), 3), 17))
	d.fill("case", loop(11, -2, 15, -5.4, 24, -6.2, 32, -3.8, 32, -3.8, 22, -2), d.wing, 1)
	d.fill("eyes", circle(7.4, -1.6, 2.8), d.under, 1)
}

func damselDry(d *dressing) {
	d.fill("body", loop(11, 0, 15, -4.4, 24, -5, 32, -2.6, 60, -4, 97, -9.6, 100, -8.4, 97, -6.8, 62, -.4, 34, 2, 24, 4, 15, 3.4), d.body, 1)
	if !d.coarse() {
		bar := lines(0, -1.4, 0, 1.4)
		var p path
		for i := range 6 {
			x := 42 + 9*float64(i)
			p = join(p, bar.place(x, -1.2-(x-42)*.125, -8, 1))
		}
		d.marks = append(d.marks, mark{class: "ribs", path: p, stroke: ink(d.body), weight: 1.6, faint: 1})
	}
	d.fill("wing", blade.edge.place(22, -4, -14, 56), d.wing, .6)
	d.fill("wing", blade.edge.place(24, -4, -30, 52), d.wing, .6)
	d.hair("hackle", join(fibres(20, 0, 60, 120, max(d.few(6), 3), 12), fibres(20, -2, -120, -70, max(d.few(5), 3), 12)))
	d.fill("eyes", circle(8, -1.6, 3), d.under, 1)
}

func scudFly(d *dressing) {
	d.hair("legs", fibres(44, -4, 62, 122, max(d.few(13), 5), 24))
	d.line("feelers", join(curve(9, -2, -2, 2, -9, 9), curve(9, -2, -4, -1, -13, 4)), .8)
	d.hung(8, 4, 9)
	d.fill("shell", loop(10, -2, 16, -9.6, 40, -14, 66, -11.6, 84, -4, 95, 6, 95, 6, 82, .4, 62, -6, 38, -8, 18, -4.4), d.wing, .8)
	d.line("tails", fibres(93, 9, 30, 90, 3, 10), .8)
	d.head(2.6)
}

func streamerFly(d *dressing) {
	d.fill("body wing", loop(13, -3, 13, -3, 30, -10, 60, -12, 88, -7, 100, -1, 100, -1, 93, -1.4, 96, 3, 96, 3, 84, 1.4, 60, -.6, 30, -1.6), d.wing, .9)
	d.dubbed(14, 5, 8)
	d.fill("throat", loop(15, 2, 15, 2, 26, 9, 42, 13, 42, 13, 36, 7, 26, 3), d.under, .9)
	if !d.coarse() {
		d.etch("strands", join(curve(18, -4, 50, -9.6, 92, -4), curve(18, -3.4, 50, -6, 96, -2), curve(20, -2.6, 50, -3, 90, 0)), d.wing)
	}
	d.fill("head", loop(4, -1, 8, -4.4, 14, -5, 17, -2, 17, 2, 14, 4.6, 8, 4, 4, 1), d.under, 1)
	d.fill("eyes", circle(10.6, -1, 1.7), d.wing, 1)
}
