package foam

import "math"

// Point is a place on the sheet in mm.
type Point struct{ X, Y float64 }

// arcs is how many lines stand for a quarter of an ellipse: at 15 mm that is
// within 0.01 mm of the curve.
const arcs = 24

// side is the right edge of the lowest piece from front to tail: X never
// falls, Y is not negative. A fold leaves the front open.
func (s Spec) side() []Point {
	front := 0.0
	if s.Fold {
		front = foldShare * s.Width / 2
	}
	half, tail := s.Width/2, s.tailHalf()
	out := make([]Point, 0, 2*arcs+2)
	for i := range arcs + 1 { // a quarter of an ellipse
		a := math.Pi / 2 * float64(i) / arcs
		out = append(out, Point{s.Head * (1 - math.Cos(a)), front + (half-front)*math.Sin(a)})
	}
	out[0], out[arcs] = Point{0, front}, Point{s.Head, half}
	for i := range arcs + 1 { // a quarter of a circle
		a := math.Pi / 2 * float64(i) / arcs
		out = append(out, Point{s.Length - tail + tail*math.Sin(a), tail * math.Cos(a)})
	}
	out[len(out)-1] = Point{s.Length, 0}
	return out
}

// inset moves an edge inward by d on all sides: what is within d of either end
// goes, and the rest is d narrower on each side.
func inset(edge []Point, d float64) []Point {
	if d == 0 {
		return edge
	}
	low, high := edge[0].X+d, edge[len(edge)-1].X-d
	at := func(a, b Point, x float64) Point {
		return Point{x, a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)}
	}
	var out []Point
	add := func(p Point) {
		p.Y = math.Max(p.Y-d, 0)
		if n := len(out); n > 1 && p.Y == 0 && out[n-1].Y == 0 && out[n-2].Y == 0 {
			out[n-1] = p // along the axis one line is enough
			return
		}
		out = append(out, p)
	}
	for i, p := range edge {
		if i > 0 {
			a := edge[i-1]
			for _, x := range []float64{low, high} {
				if a.X < x && x < p.X {
					add(at(a, p, x))
				}
			}
			// Where the edge comes to the axis.
			if (a.Y-d)*(p.Y-d) < 0 {
				if x := a.X + (p.X-a.X)*(d-a.Y)/(p.Y-a.Y); x > low && x < high {
					add(Point{x, d})
				}
			}
		}
		if p.X >= low && p.X <= high {
			add(p)
		}
	}
	// What has no width at the ends is no foam.
	for len(out) > 1 && out[0].Y == 0 && out[1].Y == 0 {
		out = out[1:]
	}
	for n := len(out); n > 1 && out[n-1].Y == 0 && out[n-2].Y == 0; n = len(out) {
		out = out[:n-1]
	}
	return out
}

// HalfWidth is half the width of an edge at x, 0 beyond its ends.
func HalfWidth(edge []Point, x float64) float64 {
	if len(edge) == 0 || x < edge[0].X || x > edge[len(edge)-1].X {
		return 0
	}
	for i := 1; i < len(edge); i++ {
		a, b := edge[i-1], edge[i]
		if x <= b.X {
			if b.X == a.X {
				return math.Max(a.Y, b.Y)
			}
			return a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)
		}
	}
	return edge[len(edge)-1].Y
}

// mirrored closes an edge with its mirror image about the axis. The numbers of
// both sides are the same to the last bit.
func mirrored(edge []Point) []Point {
	out := make([]Point, 0, 2*len(edge))
	out = append(out, edge...)
	for i := len(edge) - 1; i >= 0; i-- {
		if p := edge[i]; p.Y != 0 {
			out = append(out, Point{p.X, -p.Y})
		}
	}
	return out
}
