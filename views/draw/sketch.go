package draw

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// mark is one part of a drawing.
type mark struct {
	class  string
	path   path
	fill   string  // "" for none
	stroke string  // "" for the colour of the text
	cover  float64 // how opaque the fill is, 0 to 1
	weight float64 // line width as a multiple of the usual; 0 for no line
	faint  float64 // how opaque the line is, 0 to 1
	dashed bool
}

// sketch collects the parts of a drawing in units of its own. When it is
// written, it is enlarged so that the parts of class "body" have the length
// that was asked for.
type sketch struct {
	mm             float64 // length of the body
	known          bool
	pxPerMM, scale float64
	headUp         bool
	view           string // above or side
	marks          []mark
}

// px is how long the body is on the screen, in CSS pixels.
func (s *sketch) px() float64 { return s.mm * s.pxPerMM * s.scale }

// large tells whether the finest lines show, fine whether there is room for
// small parts, and coarse whether there is room for hardly more than an
// outline.
func (s *sketch) large() bool  { return s.px() >= 140 }
func (s *sketch) fine() bool   { return s.px() >= 46 }
func (s *sketch) coarse() bool { return s.px() < 25 }

// few is how many of n like parts there is room for.
func (s *sketch) few(n int) int {
	switch {
	case s.coarse():
		return (n + 2) / 3
	case !s.fine():
		return (n + 1) / 2
	}
	return n
}

// fill adds an outlined part.
func (s *sketch) fill(class string, p path, color string, cover float64) {
	s.marks = append(s.marks, mark{class: class, path: p, fill: color, cover: cover, weight: 1, faint: 1})
}

// tint adds a part without an outline.
func (s *sketch) tint(class string, p path, color string, cover float64) {
	s.marks = append(s.marks, mark{class: class, path: p, fill: color, cover: cover})
}

// line adds lines. A weight is a multiple of the usual line width.
func (s *sketch) line(class string, p path, weight float64) {
	s.marks = append(s.marks, mark{class: class, path: p, weight: weight, faint: 1})
}

// hair adds fine and faint lines: veins, segments, fibres.
func (s *sketch) hair(class string, p path) {
	s.marks = append(s.marks, mark{class: class, path: p, weight: 0.6, faint: 0.6})
}

// etch adds fine lines on an opaque fill.
func (s *sketch) etch(class string, p path, fill string) {
	s.marks = append(s.marks, mark{class: class, path: p, stroke: ink(fill), weight: 0.65, faint: 0.6})
}

// lineMM is the usual line width in mm. It grows slowly with the size on the
// screen: a midge is no blob and a salmonfly is not spidery.
func (s *sketch) lineMM() float64 {
	return min(max(0.42+0.0055*s.px(), 0.48), 2.2) / (s.pxPerMM * s.scale)
}

// svg is the drawing as an svg element.
func (s *sketch) svg(title, class string) []byte {
	body := empty()
	for _, m := range s.marks {
		if isBody(m.class) {
			body.addPath(m.path)
		}
	}
	k := s.mm / (body.x1 - body.x0)
	fit := func(a pt) pt {
		if s.headUp {
			return pt{a.y * k, (a.x - body.x0) * k}
		}
		return pt{(a.x - body.x0) * k, a.y * k}
	}
	line := s.lineMM()
	bounds := empty()
	for i, m := range s.marks {
		s.marks[i].path = m.path.each(fit)
		b := empty()
		b.addPath(s.marks[i].path)
		pad := line * m.weight / 2
		bounds.add(b.x0-pad, b.y0-pad)
		bounds.add(b.x1+pad, b.y1+pad)
	}
	x0, y0 := math.Floor(bounds.x0*100), math.Floor(bounds.y0*100)
	wide, high := math.Ceil(bounds.x1*100)-x0, math.Ceil(bounds.y1*100)-y0

	var o out
	o.Grow(3000)
	o.WriteString(`<svg xmlns="http://www.w3.org/2000/svg"`)
	atTrueSize := class == "" // what has a class of its own is a mark
	if class = clean(class); atTrueSize {
		class = "true"
	}
	o.attr("class", class)
	o.attr("viewBox", number(x0/100)+" "+number(y0/100)+" "+number(wide/100)+" "+number(high/100))
	mmW, mmH := wide/100*s.scale, high/100*s.scale
	if !atTrueSize {
		o.attr("width", number(mmW*s.pxPerMM))
		o.attr("height", number(mmH*s.pxPerMM))
	} else {
		// An em is a centimetre: the page makes it that of this screen. (Of a
		// millimetre browsers would make some pixels more, as the least size of
		// letters.)
		o.attr("width", width(mmW/10)+"em")
		o.attr("height", width(mmH/10)+"em")
		o.attr("font-size", number(10*s.pxPerMM))
	}
	o.attr("data-view", s.view)
	if !s.known {
		o.attr("data-length", "unknown")
	}
	if title = clean(title); title != "" {
		o.attr("role", "img")
		o.attr("aria-label", title)
	} else {
		o.attr("aria-hidden", "true")
	}
	o.WriteString(` fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round"`)
	o.attr("stroke-width", width(line))
	o.WriteByte('>')
	for _, m := range s.marks {
		o.mark(m, line)
	}
	o.WriteString("</svg>")
	return o.Bytes()
}

func isBody(class string) bool { return class == "body" || strings.HasPrefix(class, "body ") }

// clean drops what may not stand in an attribute at all.
func clean(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "")))
}

// out writes the elements.
type out struct {
	bytes.Buffer
	point bool // the last number of the path data has a decimal point
}

func (o *out) attr(name, value string) {
	o.WriteByte(' ')
	o.WriteString(name)
	o.WriteString(`="`)
	o.WriteString(escaper.Replace(value))
	o.WriteByte('"')
}

func (o *out) mark(m mark, line float64) {
	if len(m.path) == 0 {
		return
	}
	o.WriteString(`<path`)
	o.attr("class", m.class)
	if m.fill != "" {
		o.attr("fill", m.fill)
		if m.cover < 1 {
			o.attr("fill-opacity", number(m.cover))
		}
	}
	switch {
	case m.weight == 0:
		o.attr("stroke", "none")
	case m.stroke != "":
		o.attr("stroke", m.stroke)
		o.attr("stroke-width", width(line*m.weight))
	case m.weight != 1:
		o.attr("stroke-width", width(line*m.weight))
	}
	if m.weight > 0 && m.faint < 1 {
		o.attr("stroke-opacity", number(m.faint))
	}
	if m.dashed {
		o.attr("stroke-dasharray", width(line*3)+" "+width(line*2.5))
	}
	o.WriteString(` d="`)
	for _, s := range m.path {
		o.stroke(s)
	}
	o.WriteString(`"/>`)
}

// stroke writes path data: absolute where a stroke starts, then relative.
// Positions are whole hundredths of a millimetre, so that roundings do not
// add up.
func (o *out) stroke(s stroke) {
	if len(s.pts) == 0 {
		return
	}
	x, y := hundredths(s.pts[0].x), hundredths(s.pts[0].y)
	if s.kind == dot {
		r := max(hundredths(math.Hypot(s.pts[1].x-s.pts[0].x, s.pts[1].y-s.pts[0].y)), 1)
		o.nums('M', x-r, y)
		o.nums('a', r, r, 0, 100, 0, 2*r, 0)
		o.nums('a', r, r, 0, 100, 0, -2*r, 0)
		o.WriteByte('z')
		return
	}
	o.nums('M', x, y)
	var last byte
	command := func(letter byte, v ...int) {
		// A letter stands once for all that follow.
		if letter == last {
			o.nums(0, v...)
			return
		}
		o.nums(letter, v...)
		last = letter
	}
	if s.kind == straight {
		for _, a := range s.pts[1:] {
			ax, ay := hundredths(a.x), hundredths(a.y)
			command('l', ax-x, ay-y)
			x, y = ax, ay
		}
	} else {
		var mx, my int // the handle before, mirrored at the point between
		for i := 1; i+3 <= len(s.pts); i += 3 {
			bx, by := hundredths(s.pts[i].x)-x, hundredths(s.pts[i].y)-y
			cx, cy := hundredths(s.pts[i+1].x)-x, hundredths(s.pts[i+1].y)-y
			ex, ey := hundredths(s.pts[i+2].x)-x, hundredths(s.pts[i+2].y)-y
			if i > 1 && abs(bx-mx) <= 1 && abs(by-my) <= 1 {
				command('s', cx, cy, ex, ey)
			} else {
				command('c', bx, by, cx, cy, ex, ey)
			}
			mx, my = ex-cx, ey-cy
			x, y = x+ex, y+ey
		}
	}
	if s.closed {
		o.WriteByte('z')
	}
}

func abs(n int) int { return max(n, -n) }

// nums writes a path command with its numbers, given in hundredths. Without
// a letter they go on from those before. Between two numbers stands a space
// only where they would run together: not before a sign, and not before a
// point if the number before has one.
func (o *out) nums(letter byte, v ...int) {
	b := o.AvailableBuffer()
	if letter != 0 {
		b = append(b, letter)
	}
	for i, n := range v {
		first := i == 0 && letter != 0
		bare := n > 0 && n < 100 // written with the point in front
		if !first && n >= 0 && !(bare && o.point) {
			b = append(b, ' ')
		}
		b = appendHundredths(b, n)
		o.point = n%100 != 0
	}
	o.Write(b)
}

// appendHundredths writes n / 100 in as few bytes as it takes.
func appendHundredths(b []byte, n int) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	whole, rest := n/100, n%100
	if whole > 0 || rest == 0 {
		b = strconv.AppendInt(b, int64(whole), 10)
	}
	if rest > 0 {
		b = append(b, '.', byte('0'+rest/10))
		if rest%10 > 0 {
			b = append(b, byte('0'+rest%10))
		}
	}
	return b
}

func hundredths(x float64) int { return int(math.Round(x * 100)) }

// number writes a number with no more than two decimals.
func number(x float64) string { return trim(strconv.FormatFloat(x, 'f', 2, 64)) }

// width writes a line width, which may need a third decimal.
func width(x float64) string { return trim(strconv.FormatFloat(x, 'f', 3, 64)) }

func trim(text string) string {
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	switch {
	case text == "", text == "-", text == "-0":
		return "0"
	case strings.HasPrefix(text, "0."):
		return text[1:]
	case strings.HasPrefix(text, "-0."):
		return "-" + text[2:]
	}
	return text
}

// escaper writes what means something in HTML as html.EscapeString does, whose
// package brings a table of two thousand names into the phone's engine.
var escaper = strings.NewReplacer("&", "&amp;", "'", "&#39;", "<", "&lt;", ">", "&gt;", `"`, "&#34;")
