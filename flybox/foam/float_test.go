package foam

import (
	"math"
	"testing"
)

// block is a box of length, beam and depth, of one density, its centre of mass
// at kg if that is not 0.
func block(n int, length, beam, depth, density, kg float64) *Hull {
	h := &Hull{DX: length / float64(n), Water: 1}
	half := make([]float64, n)
	for i := range n {
		h.X = append(h.X, (float64(i)+0.5)*h.DX)
		half[i] = beam / 2
	}
	h.Slabs = []Slab{{half, 0, depth}}
	h.Weigh(density, 0)
	if kg != 0 {
		h.GZ = kg
	}
	return h
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// A barge of 12 by 6, draught 1.5, centre of mass 1.8 over the keel: BM 2.0,
// KB 0.75, GM 0.95. An example of a page for an engineering examination, the
// same by hand: BM = b²/(12 T) = 36/18.
func TestBarge(t *testing.T) {
	h := block(20, 12, 6, 3, 0.5, 1.8)
	kb, bm, kg, gm := h.metacentre(0, 0)
	near(t, "KB", kb, 0.75, 1e-9)
	near(t, "BM", bm, 2, 1e-9)
	near(t, "KG", kg, 1.8, 1e-12)
	near(t, "GM", gm, 0.95, 1e-9)
	a := h.Float()
	near(t, "draught", a.Draught, 1.5, 1e-7)
	near(t, "freeboard", a.Freeboard, 1.5, 1e-7)
	near(t, "displaced", a.Volume, 108, 1e-6)
	near(t, "reserve", a.Reserve, 1, 1e-9)
	near(t, "trim", a.Trim, 0, 1e-6)

	// 100 ft by 30 ft, 500,000 lb in water of 62.4 lb/ft³, KG 4 ft: draught
	// 2.6709, GM 25.4155 (another such page's data, by hand).
	h = block(20, 100, 30, 10, 0, 0)
	h.Mass, h.GX, h.GZ = 500000/62.4/1000, 50, 4
	_, _, _, gm = h.metacentre(0, 0)
	near(t, "GM", gm, 25.4155, 1e-4)
	near(t, "draught", h.Float().Draught, 2.6709, 1e-4)
}

// An upright cylinder of diameter 1.2, draught 0.9, KG 0.55 is neutral: BM 0.1
// = BG (a page for an engineering examination).
func TestUprightCylinder(t *testing.T) {
	const n = 4000
	h := &Hull{DX: 1.2 / n, Water: 1}
	half := make([]float64, n)
	for i := range n {
		x := (float64(i) + 0.5) * h.DX
		h.X = append(h.X, x)
		half[i] = math.Sqrt(math.Max(0.36-(x-0.6)*(x-0.6), 0))
	}
	h.Slabs = []Slab{{half, 0, 1.8}}
	h.Weigh(0.5, 0)
	h.GZ = 0.55
	_, bm, _, gm := h.metacentre(0, 0)
	near(t, "BM", bm, 0.1, 1e-5)
	near(t, "GM", gm, 0, 1e-5)
}

// A square log of relative density s: GM/b = s/2 + 1/(12 s) - 1/2, zero at
// 0.211325 and 0.788675. A log of width b and height h is stable if
// (b/h)² > 6 s (1-s). Textbook results, by hand.
func TestLogs(t *testing.T) {
	for s, want := range map[float64]float64{0.1: 0.383333, 0.2: 0.016667, 0.5: -0.083333, 0.9: 0.042593, 0.211325: 0, 0.788675: 0} {
		_, _, _, gm := block(10, 8, 1, 1, s, 0).metacentre(0, 0)
		near(t, "GM/b", gm, want, 2e-6)
	}
	for s, ratio := range map[float64]float64{0.05: 0.5339, 0.10: 0.7348, 0.15: 0.8746, 0.20: 0.9798, 0.50: 1.2247} {
		_, _, _, below := block(10, 8, ratio-0.001, 1, s, 0).metacentre(0, 0)
		_, _, _, above := block(10, 8, ratio+0.001, 1, s, 0).metacentre(0, 0)
		if below >= 0 || above <= 0 {
			t.Errorf("s %v: GM %v just below b/h of %v and %v just above", s, below, ratio, above)
		}
	}
	// A square log half as dense as water floats corner down: at 45° nothing
	// turns it, short of that it is turned on, beyond it back.
	h := block(10, 8, 1, 1, 0.5, 0)
	near(t, "arm at 45°", h.righting(math.Pi/4, 0), 0, 1e-9)
	if h.righting(math.Pi/6, 0) >= 0 || h.righting(math.Pi/3, 0) <= 0 {
		t.Error("a square log does not turn to its corner")
	}
}

// Of a wall-sided hull the righting arm is sin φ (GM + ½ BM tan² φ) until an
// edge goes under or comes out (the wall-sided formula of naval architecture).
func TestWallSided(t *testing.T) {
	h := block(10, 8, 6, 4, 0.5, 1)
	_, bm, _, gm := h.metacentre(0, 0)
	for _, deg := range []float64{1, 5, 10, 20, 30} {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		near(t, "arm", h.righting(deg*math.Pi/180, 0), sin*(gm+bm/2*sin*sin/(cos*cos)), 1e-8)
	}
}

// A weight moved along a box: tan θ = w d / (Δ GM_L), with BM_L = L²/(12 T)
// and the wall-sided term ½ BM_L tan² θ.
func TestTrimOfABox(t *testing.T) {
	h := block(400, 40, 6, 4, 0.5, 1.5)
	h.GX += 0.8
	deg := h.Float().Trim
	if deg <= 0 {
		t.Fatalf("trim %v with the weight aft", deg)
	}
	tan := math.Tan(deg * math.Pi / 180)
	bml, bg := 40.*40/(12*2), 1.5-1
	near(t, "moved by", tan*(bml-bg+bml/2*tan*tan), 0.8, 1e-3)
	h.GX -= 1.6
	near(t, "as far the other way", h.Float().Trim, -deg, 1e-6)
}

// A block of 20 by 6 by 4 mm of 0.10 g/cm³ with 0.060 g that takes no room, in
// water of 0.9997: draught 0.9003 mm, and it sinks over 0.4319 g (by hand).
func TestFoamBlock(t *testing.T) {
	made := func(extra float64) Afloat {
		h := block(20, 20, 6, 4, 0.10, 0)
		h.Water = 0.9997
		h.Mass += extra
		return h.Float()
	}
	a := made(0.060)
	near(t, "draught", a.Draught, 0.9003, 5e-5)
	near(t, "spare", a.Reserve*a.Volume, 372.0, 0.05)
	if made(0.4317).Sinks || !made(0.4320).Sinks {
		t.Error("it does not begin to sink at 0.4319 g")
	}
}

// Values of IAPWS-IF97 at one atmosphere in kg/m³, computed with the library
// iapws.
func TestWaterDensity(t *testing.T) {
	for c, want := range map[float64]float64{0.01: 999.845, 4: 999.9754, 10: 999.7015, 15: 999.1011, 20: 998.2061, 25: 997.0480, 30: 995.6521} {
		near(t, "density", WaterDensity(c)*1000, want, 0.005)
	}
}

// Masses of the nominal hook of this project in mg, worked out beforehand from
// the same formulas: they hold the model, and are no facts about hooks.
func TestHookMass(t *testing.T) {
	for size, want := range map[int]float64{2: 268, 8: 82, 12: 38, 16: 17, 24: 3.7} {
		s := plain()
		s.Hook, s.Shank = size, 1
		near(t, "mass", s.HookMass()*1000, want, 0.03*want)
	}
}

func TestMoreFoamFloatsHigher(t *testing.T) {
	compared := 0
	randomSpecs(t, 21, 40, func(t *testing.T, s Spec) {
		s.Step, s.Fold, s.Layers = 0, false, min(s.Layers, MaxLayers-1)
		was := s.Float()
		for name, more := range map[string]func(*Spec){
			"layer": func(s *Spec) { s.Layers++ }, "thickness": func(s *Spec) { s.Thick *= 1.1 },
			"finer wire": func(s *Spec) { s.Wire = Fine }, "weighed light": func(s *Spec) { s.Density = 0.05 },
		} {
			u := s
			more(&u)
			if len(u.Check()) > 0 || s.Wire == Fine && name == "finer wire" {
				continue
			}
			now := u.Float()
			compared++
			for i, pair := range [][2]Afloat{{was.Best, now.Best}, {was.Middle, now.Middle}, {was.Worst, now.Worst}} {
				if pair[1].Sinks && !pair[0].Sinks {
					t.Errorf("%s (%d): it sinks", name, i)
				}
				if pair[0].Sinks || pair[1].Sinks {
					continue
				}
				if pair[1].Wet > pair[0].Wet+1e-6 {
					t.Errorf("%s (%d): %v of the foam under, before %v", name, i, pair[1].Wet, pair[0].Wet)
				}
				if level(pair[0]) && level(pair[1]) && pair[1].Freeboard < pair[0].Freeboard-1e-6 {
					t.Errorf("%s (%d): freeboard %v, before %v", name, i, pair[1].Freeboard, pair[0].Freeboard)
				}
			}
		}
		if b, w := was.Best, was.Worst; !w.Sinks && b.Wet > w.Wet || b.Sinks {
			t.Errorf("best %+v, worst %+v", b, w)
		}
	})
	if compared < 50 {
		t.Errorf("%d compared", compared)
	}
}

func level(a Afloat) bool { return math.Abs(a.Trim) < 2 }

// What floats displaces its own weight of water (Archimedes) and is in balance:
// the arm at the trim and heel where it rests is none.
func TestAtRest(t *testing.T) {
	randomSpecs(t, 22, 80, func(t *testing.T, s Spec) {
		h := s.hull(1)
		h.Weigh(0.12, 0.1)
		a := h.Float()
		if a.Sinks {
			if h.Mass*1000/h.Water <= h.Volume() {
				t.Errorf("said to sink with %v g and %v mm³", h.Mass, h.Volume())
			}
			return
		}
		near(t, "displaced, relative", a.Volume*h.Water/1000/h.Mass, 1, 1e-8)
		near(t, "arm upright", h.righting(0, a.Trim*math.Pi/180), 0, 1e-9)
		// A small heel: the arm is GM times the sine.
		if arm := h.righting(0.002, 0); math.Abs(a.Trim) < 1e-3 {
			near(t, "arm of a small heel", arm, a.GM*math.Sin(0.002), 0.02*math.Abs(a.GM)*0.002)
		}
	})
}

func TestWhatIsSaidOfBodies(t *testing.T) {
	wide := plain()
	wide.Width, wide.Taper = 10, 0
	a := wide.Float().Middle
	// A wide flat body lies flat; BM grows with the square of the beam.
	if a.Lie() != Flat && a.Lie() != Rights || a.Ride() != RidesHigh {
		t.Errorf("wide: %s, %s: %+v", a.Ride(), a.Lie(), a)
	}
	if n := plain().Float().Middle; a.GM <= n.GM {
		t.Errorf("GM %v, of the narrower %v", a.GM, n.GM)
	}
	// Little foam on a large hook goes down.
	heavy := plain()
	heavy.Length, heavy.Width, heavy.Head, heavy.Layers, heavy.Thick, heavy.Hook, heavy.Wire, heavy.Legs = 14, 3, 2, 1, 1, 4, Heavy, 0
	if c := heavy.Float(); c.Middle.Ride() != RideSinks || c.Worst.Ride() != RideSinks {
		t.Errorf("little foam: %+v", c.Middle)
	}
	// A narrow pile of layers tips over.
	high := plain()
	high.Width, high.Layers, high.Thick, high.Wire, high.Hook, high.Shank, high.Legs = 2.5, 4, 2, Fine, 16, 1, 0
	if a := high.Float().Middle; a.Lie() != Rolls && a.Lie() != Tender {
		t.Errorf("high and narrow: %s: %+v", a.Lie(), a)
	}
	// A hook far forward leaves the tail light.
	light := plain()
	light.Length, light.Hook, light.Shank, light.Wire = 40, 6, 1, Heavy
	if a := light.Float().Middle; a.Sit() == TailDown {
		t.Errorf("weight in front, and it sits %s: %v", a.Sit(), a.Trim)
	}
}

func TestHelpHelps(t *testing.T) {
	helped := 0
	randomSpecs(t, 23, 40, func(t *testing.T, s Spec) {
		now := s.Float().Middle
		for _, c := range s.Help(now) {
			helped++
			if p := c.Spec.Check(); len(p) > 0 {
				t.Errorf("%s cannot be cut: %v", c.Code, p)
			}
			if got := c.Spec.Float().Middle; math.Abs(got.Wet-c.To.Wet) > 1e-9 || got.Sinks {
				t.Errorf("%s is said to float as %+v, and does as %+v", c.Code, c.To, got)
			}
		}
		if now.Ride() == RidesHigh && now.Sit() == SitsLevel && now.Lie() == Flat && len(s.Help(now)) > 0 {
			t.Error("help where all is well")
		}
	})
	if helped == 0 {
		t.Error("nothing was ever of help")
	}
}

func BenchmarkFloat(b *testing.B) {
	s := plain()
	for b.Loop() {
		s.Float()
	}
}
