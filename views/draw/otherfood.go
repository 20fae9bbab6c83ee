package draw

// Flies for what is no common water insect: land insects, worms, eggs, small
// fish and what else fish take. Common practice, no source.

func longDrake(d *dressing) {
	d.tailFibres(3, 40, 16)
	d.dubbed(12, 5, 9)
	d.uprightWings(26, 46)
	d.collar(24, 14, 22, 10)
	d.head(2.4)
}

func stoutFly(d *dressing) {
	d.fill("wing", loop(20, -5, 20, -5, 50, -17, 92, -19, 104, -14, 90, -8, 50, -5), d.wing, .7)
	d.fill("body", loop(10, 0, 16, -8, 34, -11, 62, -11, 86, -7, 97, 0, 86, 6, 60, 9, 30, 8, 14, 5), d.body, 1)
	d.line("legs", join(curve(26, 6, 18, 14, 10, 18), curve(40, 8, 42, 17, 38, 24), curve(54, 8, 66, 16, 76, 19)), 1.1)
	d.collar(20, 18, 18, 9)
	d.head(3.2)
}

func clearWingBug(d *dressing) {
	d.line("legs", join(curve(26, 4, 16, 13, 6, 16), curve(40, 5, 40, 15, 34, 22), curve(54, 5, 66, 14, 78, 17)), 1.1)
	d.fill("body", loop(8, -2, 14, -11, 30, -15, 56, -14, 84, -8, 96, -2, 84, 3, 50, 6, 20, 5, 10, 2), d.body, 1)
	d.fill("wing", loop(22, -12, 22, -12, 56, -23, 98, -22, 112, -14, 96, -9, 54, -9), d.wing, .5)
	if d.fine() {
		d.etch("strands", join(curve(26, -12, 60, -19, 104, -15), curve(26, -12, 60, -15, 98, -11)), d.wing)
	}
	d.fill("eyes", circle(12, -7, 3), d.under, 1)
}

func mothFly(d *dressing) {
	d.dubbed(14, 6, 0)
	d.bunch("wing", 22, -5, 4, 78, .3, .85, 8)
	d.fill("wing", loop(20, -4, 20, -4, 48, -24, 92, -24, 104, -10, 92, -2, 50, -2), d.wing, .6)
	d.line("feelers", join(curve(8, -3, -4, -10, -16, -14), curve(8, -3, -2, -13, -12, -20)), .9)
	d.head(3)
}

func grubFly(d *dressing) {
	d.hung(7, 6, 11)
	d.head(3.4)
}

func wormFly(d *dressing) {
	d.fill("body", loop(-22, -3, -8, -7, 14, -4.5, 40, -4, 70, -6, 98, -12, 101, -9, 72, -1, 42, 2.6, 14, 2, -8, 0, -22, 1), d.body, 1)
	d.line("band", join(curve(16, -5, 17, -1, 16, 3), curve(38, -5, 39, -1, 38, 3)), 1.6)
}

func eggFly(d *dressing) {
	d.fill("body", circle(52, -6, 46), d.body, 1)
	d.fill("under", circle(40, -22, 12), d.under, .8)
}

func boatmanFly(d *dressing) {
	d.fill("body", loop(9, 0, 14, -10, 34, -15, 66, -14, 92, -6, 98, 0, 88, 7, 60, 10, 28, 9, 13, 5), d.body, 1)
	d.fill("shell", loop(16, -8, 34, -15, 66, -14, 94, -5, 94, -5, 64, -6, 34, -6), d.wing, .8)
	d.line("legs", join(curve(40, 6, 20, 20, -4, 18), curve(44, 7, 60, 24, 86, 22)), 1.8)
	d.head(2.8)
}

func smallFishFly(d *dressing) {
	d.fill("body wing", loop(8, -1, 20, -11, 44, -13, 72, -8, 86, -3, 101, -11, 97, 0, 101, 9, 86, 2, 70, 5, 42, 9, 20, 7), d.wing, .9)
	d.fill("under", loop(14, 2, 40, 3, 78, 0, 70, 4, 42, 8.4, 22, 6.6), d.under, .9)
	if !d.coarse() {
		d.etch("strands", join(curve(22, -4, 54, -5, 88, -1)), d.wing)
	}
	d.fill("eyes", circle(17, -3.4, 3), d.body, 1)
}

func leechFly(d *dressing) {
	d.fill("body wing", loop(10, -2, 26, -7, 50, -6, 78, -9, 101, -4, 92, 0, 70, 2, 50, 1, 28, 4, 12, 3), d.body, 1)
	d.hair("fibres", fibres(40, -4, -30, 30, max(d.few(9), 5), 26))
	d.head(3.2)
}

func crayfishFly(d *dressing) {
	d.fill("body", loop(6, 0, 16, -8, 40, -11, 62, -8, 66, 0, 62, 6, 40, 8, 16, 6), d.body, 1)
	d.fill("wing", loop(62, -4, 74, -14, 98, -16, 100, -10, 84, -8, 70, -2), d.wing, .9)
	d.fill("wing", loop(62, 2, 74, 10, 98, 14, 100, 8, 84, 6, 70, 1), d.wing, .9)
	d.line("legs", join(curve(30, 6, 26, 16, 18, 20), curve(40, 7, 40, 17, 36, 23), curve(50, 6, 56, 16, 60, 21)), 1.1)
	d.line("band", join(curve(20, -8, 22, 0, 20, 6), curve(32, -10, 34, 0, 32, 8)), 1.2)
}

func mouseFly(d *dressing) {
	d.line("tail", curve(66, -3, 84, -10, 101, -4), 1.6)
	d.fill("body", loop(3, -2, 12, -12, 34, -17, 58, -13, 70, -4, 60, 4, 34, 7, 12, 4), d.body, 1)
	d.fill("wing", circle(18, -13, 5), d.wing, 1)
	d.fill("eyes", circle(9, -5, 1.6), d.under, 1)
	d.line("legs", join(curve(24, 5, 22, 11, 16, 13), curve(50, 5, 52, 11, 58, 13)), 1.2)
}
