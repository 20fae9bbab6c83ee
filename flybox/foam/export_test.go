package foam

import "math"

// What tests alone use.

// Area is the area of a closed outline in mm², by the shoelace formula.
func Area(outline []Point) float64 {
	sum := 0.0
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		sum += p.X*q.Y - q.X*p.Y
	}
	return math.Abs(sum) / 2
}
