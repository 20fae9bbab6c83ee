// Package draw makes small line drawings of insects and of artificial flies
// from their data, as scalable vector graphics at true size, so that a person
// compares a picture before reading a name.
//
// Every drawing looks to the left unless it is asked to look up. One user unit of its viewBox is one
// millimetre, and the parts of class "body" are together exactly LengthMM wide;
// tails, legs, antennae and wings run on beyond them. Outlines take the colour
// of the text around them, fills come from the data, so that one drawing suits
// a light and a dark page. There are no styles, scripts or ids in it: many may
// stand on one page under a strict content policy.
//
// The proportions are those of a typical insect of the group and of a typical
// fly of the style (common practice, no source): a drawing is a likeness to
// compare with, not a measured plate.
//
// The package does no I/O but writing to the writer that it is given.
package draw

import (
	"io"
	"math"
)

// Limits of the lengths that are drawn, in mm. Longer and shorter ones are
// drawn at the limit. A length that is zero, negative or no number is taken
// for unknown: it is drawn at UnknownMM and the svg element says so in an
// attribute data-length="unknown".
const (
	MinMM     = 1.0
	MaxMM     = 120.0
	UnknownMM = 12.0
)

// DefaultPxPerMM is the size of a millimetre in CSS pixels on a screen that
// was not calibrated: 96 per inch, as in CSS Values and Units (absolute
// lengths).
const DefaultPxPerMM = 96 / 25.4

// Options say how a drawing is written.
type Options struct {
	// PxPerMM is the size of a millimetre on this screen, in CSS pixels. Zero
	// means DefaultPxPerMM. It is kept within 0.5 and 100.
	PxPerMM float64
	// Scale enlarges the drawing; 1, or 0, is true size. It is kept within
	// 0.1 and 20. Larger drawings show more veins and segments.
	Scale float64
	// HeadUp turns the drawing so that it looks up instead of to the left, for
	// a long insect on a narrow screen. The body is then LengthMM high.
	HeadUp bool
	// Title is the accessible name. Without one the drawing is hidden from
	// screen readers.
	Title string
	// Class is the class attribute of the svg element. One with a class is a
	// mark, whose size stays as it is written; one without is at true size.
	Class string
}

// Insect is the data from which an insect is drawn. The zero value is a plain
// winged insect of unknown length.
type Insect struct {
	// Group is stonefly, mayfly, caddis, midge, damsel, dragonfly, cranefly,
	// alderfly, hopper, ant, beetle or anything else.
	Group string
	// Stage is nymph, nymph-ashore (or crawling-nymph), larva, pupa, emerger,
	// shuck, dun, adult, egg-layer or spent. Anything else is an adult.
	Stage string
	// Wings is how they are held: upright, flat, roof, short, none,
	// clear-pair or spread. Anything else is what is usual for the group.
	Wings string
	// Tails is how many there are, 0 to 3.
	Tails int
	// LengthMM is the length of the body in mm, without tails and antennae.
	LengthMM float64
	// Body, Wing and Dark are sRGB colours such as #d9a441; Dark is that of
	// the markings. Anything else is drawn in a neutral grey.
	Body, Wing, Dark string
	// Gills tells of tufts of gills between the tails.
	Gills bool
}

// Fly is the data from which an artificial fly is drawn.
type Fly struct {
	// Style is a generic way to tie, such as parachute-dun. A style that is
	// not known gets a plain fly with a wound hackle.
	Style string
	// GapeMM is the gape of the hook in mm. Zero means unknown.
	GapeMM float64
	// LengthMM is the overall length in mm, from the front of the hook's eye to
	// where the bend begins, or to the rear of the body where that runs on past
	// it. Tail fibres and a trailing shuck do not count, except where fibres are
	// the body, as in a streamer.
	LengthMM float64
	// Body, Wing and Under are sRGB colours such as #d9a441; Under is that of
	// the underside, or of the hackle where there is no underside to see.
	Body, Wing, Under string
	// Floats is high, film, under or deep. Seen from the side, the drawing
	// shows where the surface is, except in deep water.
	Floats string
	// Bead is glass, brass or tungsten; BeadMM its diameter, 0 if not known.
	Bead   string
	BeadMM float64
}

// SVG writes the drawing of an insect. It returns the writer's error.
func (in Insect) SVG(w io.Writer, opt Options) error {
	return write(w, in.sketch, in.LengthMM, opt)
}

// SVG writes the drawing of a fly. It returns the writer's error.
func (f Fly) SVG(w io.Writer, opt Options) error {
	return write(w, f.sketch, f.LengthMM, opt)
}

// write settles the sizes, draws and writes.
func write(w io.Writer, draw func(*sketch), mm float64, opt Options) error {
	s := sketch{mm: mm, known: mm > 0, headUp: opt.HeadUp}
	if !s.known {
		s.mm = UnknownMM
	}
	s.mm = min(max(s.mm, MinMM), MaxMM)
	s.pxPerMM = within(opt.PxPerMM, 0.5, 100, DefaultPxPerMM)
	s.scale = within(opt.Scale, 0.1, 20, 1)
	draw(&s)
	_, err := w.Write(s.svg(opt.Title, opt.Class))
	return err
}

// within keeps a setting in its range; one that is not given becomes the usual.
func within(x, low, high, usual float64) float64 {
	if math.IsNaN(x) || x <= 0 {
		return usual
	}
	return min(max(x, low), high)
}
