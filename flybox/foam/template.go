package foam

import "math"

// Piece is something to cut from the sheet. Its outline is closed, runs down
// its right edge and up its left, and is its own mirror image about the axis
// Y = 0.
type Piece struct {
	Layers  []int // that it makes, counted from the hook up
	Outline []Point
	Fold    bool      // folded across the axis at X = 0; the halves mirror each other there too
	Ties    []float64 // X where thread goes round
	Legs    []Point   // where legs are tied in, right and left
	// Shank is where the shank of the hook lies on the axis, from the eye back;
	// 0 to 0 on pieces that do not touch it.
	Shank [2]float64
	edge  []Point // right side of one layer
}

// Bounds are the least and greatest X and the greatest Y of the outline.
func (p Piece) Bounds() (front, back, half float64) {
	front, back = math.Inf(1), math.Inf(-1)
	for _, q := range p.Outline {
		front, back, half = math.Min(front, q.X), math.Max(back, q.X), math.Max(half, q.Y)
	}
	return front, back, half
}

// Ties are where thread goes round the body: behind the head, and between the
// segments, which are of equal length.
func (s Spec) Ties() []float64 {
	out := make([]float64, s.Segments)
	for i := range out {
		out[i] = s.Head + (s.Length-s.Head)*float64(i)/float64(s.Segments)
	}
	return out
}

// FoldAllowance is the length of foam that goes into the bend of a fold, flat
// on itself: half a circle through the middle of the sheet. That the middle
// keeps its length is assumed; foam squeezed by thread needs less.
func (s Spec) FoldAllowance() float64 { return math.Pi * s.Thick / 2 }

// edges are the right edges of the layers from the hook up.
func (s Spec) edges() [][]Point {
	out := make([][]Point, s.Layers)
	side := s.side()
	for i := range out {
		steps := i
		if s.Fold && i > 0 {
			steps = i - 1 // the second layer is the first one, folded over
		}
		out[i] = inset(side, float64(steps)*s.Step)
	}
	return out
}

// Pieces are what to cut, the one next to the hook first. The spec must be
// free of problems.
func (s Spec) Pieces() []Piece {
	edges := s.edges()
	var out []Piece
	for i, edge := range edges {
		if s.Fold && i == 1 {
			continue
		}
		p := Piece{Layers: []int{i + 1}, edge: edge}
		var ties []float64
		var legs []Point
		for j, x := range s.Ties() {
			half := HalfWidth(edge, x)
			if half == 0 {
				continue
			}
			ties = append(ties, x)
			if j < s.Legs {
				y := half - math.Min(legInset, legInsetShare*half)
				legs = append(legs, Point{x, y}, Point{x, -y})
			}
		}
		p.Ties, p.Legs, p.Outline = ties, legs, mirrored(edge)
		if i == 0 {
			p.Shank = [2]float64{0, s.ShankMM()}
		}
		if s.Fold && i == 0 {
			p = p.folded(s.FoldAllowance() / 2)
		}
		out = append(out, p)
	}
	return out
}

// folded is the piece with its mirror image about the fold, half the allowance
// before its front. The lower layer lies behind the fold, at positive X.
func (p Piece) folded(half float64) Piece {
	q := Piece{Layers: []int{1, 2}, Fold: true, edge: p.edge, Shank: [2]float64{p.Shank[0] + half, p.Shank[1] + half}}
	n := len(p.edge)
	right := make([]Point, 0, 2*n)
	for i := n - 1; i >= 0; i-- {
		right = append(right, Point{-(p.edge[i].X + half), p.edge[i].Y})
	}
	for _, e := range p.edge {
		right = append(right, Point{e.X + half, e.Y})
	}
	q.Outline = mirrored(right)
	for i := len(p.Ties) - 1; i >= 0; i-- {
		q.Ties = append(q.Ties, -(p.Ties[i] + half))
	}
	for _, x := range p.Ties {
		q.Ties = append(q.Ties, x+half)
	}
	for _, l := range p.Legs {
		q.Legs = append(q.Legs, Point{-(l.X + half), l.Y})
	}
	for _, l := range p.Legs {
		q.Legs = append(q.Legs, Point{l.X + half, l.Y})
	}
	return q
}
