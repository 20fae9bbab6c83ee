package draw

// sketch draws the fly.
func (f Fly) sketch(s *sketch) {
	s.line("body hook", bezier(3, 0, 30, 0, 60, 0, 84, 0, 95, 0, 100, 8, 100, 19, 100, 34, 88, 39, 66, 34), 1.6)
	s.fill("body", loop(9, 0, 9, 0, 20, -6, 50, -5, 84, -2, 86, 0, 84, 2, 50, 5, 20, 6), hex(f.Body, neutralBody), 1)
	s.line("body eye", circle(2.5, 0, 2.5), 1)
}
