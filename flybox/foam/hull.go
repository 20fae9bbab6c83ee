package foam

import "math"

// Slab is a layer of foam: half its width at each station, from Z0 to Z1.
type Slab struct {
	Half   []float64
	Z0, Z1 float64
}

// Lump is a small part, such as a length of wire, that has weight and
// displaces water. It goes under over twice its radius.
type Lump struct{ X, Z, Mass, Volume, Radius float64 }

// Hull is a body that floats, the same left and right. X holds the stations,
// each of which stands for DX of its length.
type Hull struct {
	X     []float64
	DX    float64
	Slabs []Slab
	Lumps []Lump
	Mass  float64 // g, of all
	// GX and GZ are the centre of mass.
	GX, GZ float64
	Water  float64 // density in g/cm³
}

// Weigh sets the mass and its centre for foam of a density in g/cm³; share is
// added to the mass of each part for what is tied on.
func (h *Hull) Weigh(density, share float64) {
	var m, mx, mz float64
	add := func(mass, x, z float64) { m, mx, mz = m+mass, mx+mass*x, mz+mass*z }
	for _, s := range h.Slabs {
		for i, b := range s.Half {
			add(2*b*(s.Z1-s.Z0)*h.DX*density/1000, h.X[i], (s.Z0+s.Z1)/2)
		}
	}
	for _, l := range h.Lumps {
		add(l.Mass, l.X, l.Z)
	}
	h.Mass = m * (1 + share)
	if m > 0 {
		h.GX, h.GZ = mx/m, mz/m
	}
}

// Volume of the whole body in mm³.
func (h *Hull) Volume() (v float64) {
	for _, s := range h.Slabs {
		for _, b := range s.Half {
			v += 2 * b * (s.Z1 - s.Z0) * h.DX
		}
	}
	for _, l := range h.Lumps {
		v += l.Volume
	}
	return v
}

// up is the direction of up as the body sees it.
type up struct{ x, y, z float64 }

// upAt is up when the body is heeled about its axis and its tail is down by
// trim, in radians. Upside down is a heel of pi.
func upAt(heel, trim float64) up {
	sh, ch := math.Sincos(heel)
	if heel == math.Pi {
		sh = 0 // not by a rounding error
	}
	st, ct := math.Sincos(trim)
	return up{-st, ct * sh, ct * ch}
}

// under is the volume below the surface, whose height above the origin is c,
// and its centre.
func (h *Hull) under(u up, c float64) (v, x, y, z float64) {
	for i, at := range h.X {
		q := c - u.x*at
		for _, s := range h.Slabs {
			b := s.Half[i]
			if b == 0 {
				continue
			}
			a, my, mz := wet(b, s.Z0, s.Z1, u.y, u.z, q)
			a, my, mz = a*h.DX, my*h.DX, mz*h.DX
			v, x, y, z = v+a, x+a*at, y+my, z+mz
		}
	}
	for _, l := range h.Lumps {
		r := math.Max(l.Radius, 1e-9)
		share := within((c-u.x*l.X-u.z*l.Z)/(2*r)+0.5, 0, 1)
		a := l.Volume * share
		v, x, z = v+a, x+a*l.X, z+a*l.Z
	}
	if v > 0 {
		x, y, z = x/v, y/v, z/v
	}
	return v, x, y, z
}

// wet is the part of the rectangle from -b to b and z0 to z1 where
// uy y + uz z is at most q: its area and first moments.
func wet(b, z0, z1, uy, uz, q float64) (a, my, mz float64) {
	if uy == 0 && uz != 0 { // upright, or upside down: a part from one side
		low, high := z0, z1
		if zw := q / uz; uz > 0 {
			high = within(zw, z0, z1)
		} else {
			low = within(zw, z0, z1)
		}
		a = 2 * b * (high - low)
		return a, 0, a * (low + high) / 2
	}
	// The corners, right round.
	ys := [4]float64{-b, b, b, -b}
	zs := [4]float64{z0, z0, z1, z1}
	var in [4]float64 // how far each is under
	all, none := true, true
	for i := range ys {
		in[i] = q - uy*ys[i] - uz*zs[i]
		all, none = all && in[i] >= 0, none && in[i] <= 0
	}
	switch {
	case all:
		a = 2 * b * (z1 - z0)
		return a, 0, a * (z0 + z1) / 2
	case none:
		return 0, 0, 0
	}
	// Sutherland and Hodgman's clipping by one line, then the shoelace sums.
	var py, pz [8]float64
	n := 0
	for i := range ys {
		j := (i + 1) % 4
		if in[i] >= 0 {
			py[n], pz[n] = ys[i], zs[i]
			n++
		}
		if in[i] > 0 && in[j] < 0 || in[i] < 0 && in[j] > 0 {
			t := in[i] / (in[i] - in[j])
			py[n], pz[n] = ys[i]+t*(ys[j]-ys[i]), zs[i]+t*(zs[j]-zs[i])
			n++
		}
	}
	for i := range n {
		j := (i + 1) % n
		cross := py[i]*pz[j] - py[j]*pz[i]
		a += cross / 2
		my += (py[i] + py[j]) * cross / 6
		mz += (pz[i] + pz[j]) * cross / 6
	}
	return a, my, mz
}

// reach is the least and greatest height of the body above the origin.
func (h *Hull) reach(u up) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	see := func(x float64) { low, high = math.Min(low, x), math.Max(high, x) }
	for i, at := range h.X {
		for _, s := range h.Slabs {
			if b := s.Half[i]; b > 0 {
				side := math.Abs(u.y) * b
				see(u.x*at + u.z*s.Z0 - side)
				see(u.x*at + u.z*s.Z0 + side)
				see(u.x*at + u.z*s.Z1 - side)
				see(u.x*at + u.z*s.Z1 + side)
			}
		}
	}
	for _, l := range h.Lumps {
		see(u.x*l.X + u.z*l.Z - l.Radius)
		see(u.x*l.X + u.z*l.Z + l.Radius)
	}
	return low, high
}

// surface finds the height of the surface at which the body displaces its own
// weight. ok is false if it sinks.
func (h *Hull) surface(u up) (c float64, ok bool) {
	want := h.Mass * 1000 / h.Water
	low, high := h.reach(u)
	if full, _, _, _ := h.under(u, high+1); full < want {
		return 0, false
	}
	fl, fh := -want, h.Volume()-want
	// False position in the manner of Illinois: the volume never falls with c.
	moved := 0
	for range 80 {
		if high-low < 1e-12*(1+math.Abs(low)) {
			break
		}
		c = (low*fh - high*fl) / (fh - fl)
		if !(c > low && c < high) {
			c = (low + high) / 2
		}
		v, _, _, _ := h.under(u, c)
		f := v - want
		if math.Abs(f) <= 1e-10*want {
			return c, true
		}
		if f < 0 {
			low, fl = c, f
			if moved < 0 {
				fh /= 2 // the other end has stood still
			}
			moved = -1
		} else {
			high, fh = c, f
			if moved > 0 {
				fl /= 2
			}
			moved = 1
		}
	}
	return c, true
}

// righting is the arm in mm of the couple that turns the body back from a
// heel at a trim; negative if it turns it on.
func (h *Hull) righting(heel, trim float64) float64 {
	u := upAt(heel, trim)
	c, ok := h.surface(u)
	if !ok {
		return 0
	}
	_, _, y, z := h.under(u, c)
	sin, cos := math.Sincos(heel)
	return cos*(0-y) - sin*(h.GZ-z)
}

// level finds the trim, in radians, at which the body rests at a heel of 0 or
// pi: its centre of mass below its centre of buoyancy.
func (h *Hull) level(heel float64) (trim float64) {
	f := func(t float64) float64 {
		u := upAt(heel, t)
		c, ok := h.surface(u)
		if !ok {
			return 0
		}
		_, x, _, z := h.under(u, c)
		// Along the horizontal that points to the tail.
		sin, cos := math.Sincos(t)
		return cos*(x-h.GX) + math.Cos(heel)*sin*(z-h.GZ)
	}
	// From level outward to where the couple changes its sign, then in halves.
	const step, far = math.Pi / 36, math.Pi / 2
	at := f(0)
	if at == 0 {
		return 0
	}
	dir := 1.0
	if at > 0 {
		dir = -1
	}
	inner, outer, fi, fo := 0.0, 0.0, at, 0.0
	for {
		outer = inner + dir*step
		if math.Abs(outer) > far {
			return dir * far // on its head or tail
		}
		if fo = f(outer); fo == 0 || (fo > 0) != (at > 0) {
			break
		}
		inner, fi = outer, fo
	}
	// False position in the manner of Illinois, as for the surface.
	moved := 0
	for range 60 {
		mid := (inner*fo - outer*fi) / (fo - fi)
		g := f(mid)
		if math.Abs(outer-inner) < 1e-9 || math.Abs(g) < 1e-10 {
			return mid
		}
		if (g > 0) == (at > 0) {
			inner, fi = mid, g
			if moved < 0 {
				fo /= 2
			}
			moved = -1
		} else {
			outer, fo = mid, g
			if moved > 0 {
				fi /= 2
			}
			moved = 1
		}
	}
	return (inner + outer) / 2
}
