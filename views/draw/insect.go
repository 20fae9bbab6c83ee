package draw

// sketch draws the insect.
func (in Insect) sketch(s *sketch) {
	in.above(s, &stonefly, "flat")
}
