package foam

import "math"

// Afloat is how a body floats. Lengths are in mm, angles in degrees.
type Afloat struct {
	Mass   float64 // g
	Sinks  bool    // all that follows is then 0
	Volume float64 // displaced, mm³
	// Draught is how deep the lowest foam lies, Freeboard how high the back
	// stands over the surface where it is lowest; negative where it is awash.
	Draught, Freeboard float64
	Wet                float64 // share of the foam that is under
	Reserve            float64 // volume above the surface as a share of that below
	Trim               float64 // tail down; negative if head down
	KB, BM, KG, GM     float64 // the hook down: heights over the underside, metacentric radius and height
	Over               float64 // GM upside down; negative if it does not stay so
	// Back is the greatest heel from which it turns the hook down by itself,
	// 180 if from any. Torque is the greatest that turns it so, in µN·m, at the
	// heel TorqueAt.
	Back, Torque, TorqueAt float64
}

// stations along a body. More change the results by less than 0.5 %.
const stations = 48

// hull is the body of a spec, its hook's wire thicker by a factor.
func (s Spec) hull(thicker float64) *Hull {
	h := &Hull{DX: s.Length / stations, Lumps: s.hook(thicker), Water: WaterDensity(s.Water)}
	for i := range stations {
		h.X = append(h.X, (float64(i)+0.5)*h.DX)
	}
	for i, edge := range s.edges() {
		slab := Slab{Z0: float64(i) * s.Thick, Z1: float64(i+1) * s.Thick, Half: make([]float64, stations)}
		for j, x := range h.X {
			slab.Half[j] = HalfWidth(edge, x)
		}
		h.Slabs = append(h.Slabs, slab)
	}
	return h
}

// Float works out how a hull floats.
func (h *Hull) Float() Afloat {
	a := Afloat{Mass: h.Mass}
	trim := h.level(0)
	u := upAt(0, trim)
	c, ok := h.surface(u)
	if !ok {
		a.Sinks = true
		return a
	}
	v, _, _, _ := h.under(u, c)
	a.Volume, a.Trim = v, trim*180/math.Pi
	a.Reserve = (h.Volume() - v) / v
	foam, wetFoam := 0.0, 0.0
	low, free := math.Inf(1), math.Inf(1)
	for i, at := range h.X {
		top := math.Inf(-1)
		for _, s := range h.Slabs {
			if s.Half[i] == 0 {
				continue
			}
			w, _, _ := wet(s.Half[i], s.Z0, s.Z1, 0, u.z, c-u.x*at)
			foam, wetFoam = foam+2*s.Half[i]*(s.Z1-s.Z0), wetFoam+w
			low = math.Min(low, u.x*at+u.z*s.Z0)
			top = math.Max(top, u.x*at+u.z*s.Z1)
		}
		if !math.IsInf(top, -1) {
			free = math.Min(free, top-c)
		}
	}
	if foam > 0 {
		a.Wet, a.Draught, a.Freeboard = wetFoam/foam, c-low, free
	}
	a.KB, a.BM, a.KG, a.GM = h.metacentre(0, trim)
	_, _, _, a.Over = h.metacentre(math.Pi, h.level(math.Pi))
	a.Back, a.Torque, a.TorqueAt = h.back(trim)
	return a
}

// metacentre gives KB, BM, KG and GM at a heel of 0 or pi, the heights as
// measured upward from the origin.
func (h *Hull) metacentre(heel, trim float64) (kb, bm, kg, gm float64) {
	u := upAt(heel, trim)
	c, ok := h.surface(u)
	if !ok {
		return 0, 0, 0, 0
	}
	v, x, _, z := h.under(u, c)
	inertia := 0.0
	for i, at := range h.X {
		zw := (c - u.x*at) / u.z
		for _, s := range h.Slabs {
			if s.Z0 < zw && zw < s.Z1 {
				b := s.Half[i]
				inertia += 2.0 / 3 * b * b * b * h.DX / math.Cos(trim)
			}
		}
	}
	kb, kg = u.x*x+u.z*z, u.x*h.GX+u.z*h.GZ
	bm = inertia / v
	return kb, bm, kg, kb + bm - kg
}

// back follows the righting arm from upright to upside down, the trim held.
func (h *Hull) back(trim float64) (from, torque, at float64) {
	const step = 7.5
	from = 180
	was := 0.0
	for d := step; d < 180; d += step {
		arm := h.righting(d*math.Pi/180, trim)
		if t := arm * h.Mass * Gravity; t > torque { // mm·g·m/s² are µN·m
			torque, at = t, d
		}
		if arm <= 0 && from == 180 {
			from = 0
			if was > 0 { // where it crosses, in a straight line
				from = d - step*arm/(arm-was)
			}
		}
		was = arm
	}
	return from, torque, at
}

// Ranges of what is not known, for the two ends of a result.
const (
	// Closed-cell EVA is 150 to 250 kg/m³ in the midsoles of shoes (Verdejo and
	// Mills, The Engineering of Sport 4, 2002); craft sheets are lighter, from
	// 80 (from memory).
	LightFoam, HeavyFoam = 0.08, 0.25 // g/cm³
	weighedWithin        = 0.1        // share by which a density that was weighed may be off; judgement
	// Hooks of a number differ from maker to maker; judgement, no source.
	wireWithin = 0.15
	// Thread, legs and wing, wet, as a share of the weight of foam and hook;
	// judgement, no source.
	dressing = 0.3
)

// Check is how a body floats at best, at worst and in between.
type Check struct{ Best, Middle, Worst Afloat }

// Densities are the least and greatest density of the foam in g/cm³: the usual
// range, or about what was weighed.
func (s Spec) Densities() (low, high float64) {
	if s.Density > 0 {
		return s.Density * (1 - weighedWithin), s.Density * (1 + weighedWithin)
	}
	return LightFoam, HeavyFoam
}

// Float checks a spec that is free of problems.
func (s Spec) Float() Check {
	low, high := s.Densities()
	return Check{
		Best:   s.floats(low, 1-wireWithin, 0),
		Middle: s.floats(math.Sqrt(low*high), 1, dressing/2),
		Worst:  s.floats(high, 1+wireWithin, dressing),
	}
}

func (s Spec) floats(density, wire, share float64) Afloat {
	h := s.hull(wire)
	h.Weigh(density, share)
	return h.Float()
}
