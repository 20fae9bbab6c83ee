// Package foam shapes the foam body of a fly: an outline that is its own
// mirror image about its axis, the pieces to cut for it true to scale, and a
// check of how it floats and whether it lies flat.
//
// Lengths are in mm, masses in g, volumes in mm³ (1000 to the cm³), so that a
// density in g/cm³ is 1000 times that in g/mm³. x runs along the axis from the
// front edge of the head (0) to the tail, y to the right, z up from the
// underside of the lowest layer. The package does no I/O.
package foam
