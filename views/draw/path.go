package draw

import (
	"math"
	"slices"
)

// pt is a point. While drawing, x runs from the head (0) to the end of the
// body (about 100) and y runs down.
type pt struct{ x, y float64 }

type kind uint8

const (
	straight kind = iota // corners joined by straight lines
	cubic                // a start, then three points a Bezier curve
	dot                  // a centre, then a point on its circle
)

// stroke is one unbroken line.
type stroke struct {
	kind   kind
	closed bool
	pts    []pt
}

// path is any number of strokes that are drawn alike.
type path []stroke

func points(v []float64) []pt {
	p := make([]pt, len(v)/2)
	for i := range p {
		p[i] = pt{v[2*i], v[2*i+1]}
	}
	return p
}

// lines joins points, given as x, y, x, y.
func lines(v ...float64) path { return path{{straight, false, points(v)}} }

// bezier is a start and then three points a curve.
func bezier(v ...float64) path { return path{{cubic, false, points(v)}} }

// curve runs smoothly through points. A point given twice is a corner.
func curve(v ...float64) path { return path{spline(points(v), false)} }

// loop is a closed curve.
func loop(v ...float64) path { return path{spline(points(v), true)} }

// circle is a round spot.
func circle(x, y, r float64) path { return path{{dot, true, []pt{{x, y}, {x + r, y}}}} }

// bilateral closes half an outline, given from one point on the axis y = 0 to
// another, with its mirror image.
func bilateral(v ...float64) path {
	half := points(v)
	all := make([]pt, len(half), 2*len(half))
	copy(all, half)
	for i := len(half) - 2; i > 0; i-- {
		all = append(all, pt{half[i].x, -half[i].y})
	}
	return path{spline(all, true)}
}

// spline turns points into curves. The direction at a point is that from its
// neighbour before to its neighbour after. The handles on both sides of a point
// are alike, which makes for short path data, and no longer than suits the
// nearer neighbour, so that a curve does not swing out beyond its points.
func spline(p []pt, closed bool) stroke {
	q, corner := make([]pt, 0, len(p)), make([]bool, 0, len(p))
	for _, a := range p {
		if n := len(q); n > 0 && q[n-1] == a {
			corner[n-1] = true
			continue
		}
		q, corner = append(q, a), append(corner, false)
	}
	n := len(q)
	if n < 2 {
		return stroke{straight, closed, q}
	}
	at := func(i int) pt { return q[(i+n)%n] }
	// handle is the end of the handle at i on the side of j.
	handle := func(i, j int) pt {
		a, b := at(i), at(j)
		if corner[(i+n)%n] || !closed && (i == 0 || i == n-1) {
			return pt{a.x + (b.x-a.x)/3, a.y + (b.y-a.y)/3}
		}
		before, after := at(i-1), at(i+1)
		dx, dy := after.x-before.x, after.y-before.y
		long := math.Hypot(dx, dy)
		if long == 0 {
			return a
		}
		d, e := math.Hypot(a.x-before.x, a.y-before.y), math.Hypot(after.x-a.x, after.y-a.y)
		k := min(2*d*e/(d+e)/2.5, min(d, e)*.6) / long
		if j < i {
			k = -k
		}
		return pt{a.x + dx*k, a.y + dy*k}
	}
	end := n - 1
	if closed {
		end = n
	}
	out := make([]pt, 1, 1+3*end)
	out[0] = q[0]
	for i := range end {
		out = append(out, handle(i, i+1), handle(i+1, i), at(i+1))
	}
	return stroke{cubic, closed, out}
}

// each gives a path with every point changed.
func (p path) each(f func(pt) pt) path {
	out := make(path, len(p))
	for i, s := range p {
		out[i] = stroke{s.kind, s.closed, make([]pt, len(s.pts))}
		for j, a := range s.pts {
			out[i].pts[j] = f(a)
		}
	}
	return out
}

// place turns a path by an angle in degrees (to the right as seen), enlarges
// it and moves its origin.
func (p path) place(x, y, degrees, size float64) path {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return p.each(func(a pt) pt {
		return pt{x + size*(a.x*cos-a.y*sin), y + size*(a.x*sin+a.y*cos)}
	})
}

// flip mirrors a path about y = 0. It runs the other way round, so that an
// overlap with the path itself is filled.
func (p path) flip() path {
	q := p.each(func(a pt) pt { return pt{a.x, -a.y} })
	for _, s := range q {
		if s.kind != dot {
			slices.Reverse(s.pts)
		}
	}
	return q
}

// both is a path and its mirror image.
func (p path) both() path { return join(p, p.flip()) }

func join(ps ...path) path {
	var out path
	for _, p := range ps {
		out = append(out, p...)
	}
	return out
}

// box is the smallest rectangle around something.
type box struct{ x0, y0, x1, y1 float64 }

func empty() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b *box) add(x, y float64) {
	b.x0, b.x1 = min(b.x0, x), max(b.x1, x)
	b.y0, b.y1 = min(b.y0, y), max(b.y1, y)
}

func (b *box) holds(p pt) bool {
	return p.x >= b.x0 && p.x <= b.x1 && p.y >= b.y0 && p.y <= b.y1
}

func (b *box) addPath(p path) {
	for _, s := range p {
		switch s.kind {
		case straight:
			for _, a := range s.pts {
				b.add(a.x, a.y)
			}
		case dot:
			c := s.pts[0]
			r := math.Hypot(s.pts[1].x-c.x, s.pts[1].y-c.y)
			b.add(c.x-r, c.y-r)
			b.add(c.x+r, c.y+r)
		case cubic:
			b.add(s.pts[0].x, s.pts[0].y)
			for i := 0; i+3 < len(s.pts); i += 3 {
				q := s.pts[i : i+4]
				if b.holds(q[1]) && b.holds(q[2]) && b.holds(q[3]) {
					continue // and so it holds all of the curve
				}
				for _, t := range turns(q[0].x, q[1].x, q[2].x, q[3].x) {
					b.add(bezierAt(t, q[0].x, q[1].x, q[2].x, q[3].x), q[0].y)
				}
				for _, t := range turns(q[0].y, q[1].y, q[2].y, q[3].y) {
					b.add(q[0].x, bezierAt(t, q[0].y, q[1].y, q[2].y, q[3].y))
				}
				b.add(q[3].x, q[3].y)
			}
		}
	}
}

func bezierAt(t, a, b, c, d float64) float64 {
	u := 1 - t
	return u*u*u*a + 3*u*u*t*b + 3*u*t*t*c + t*t*t*d
}

// turns are the places from 0 to 1 where a Bezier curve turns round. A place
// outside is moved to the nearer end.
func turns(a, b, c, d float64) [2]float64 {
	// The derivative is 3((b-a)u² + 2(c-b)ut + (d-c)t²), u = 1-t.
	p, q, r := d-3*c+3*b-a, 2*(c-2*b+a), b-a
	if math.Abs(p) < 1e-12 {
		if q == 0 {
			return [2]float64{}
		}
		t := min(max(-r/q, 0), 1)
		return [2]float64{t, t}
	}
	root := math.Sqrt(max(q*q-4*p*r, 0))
	return [2]float64{min(max((-q+root)/(2*p), 0), 1), min(max((-q-root)/(2*p), 0), 1)}
}
