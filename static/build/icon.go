package main

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"log"
	"math"
)

// The mark is a stone that stands half out of the water, under a waterline
// that tilts as the app's own does when the river drops. It is drawn from the
// functions below, in a square with x and y from -1 to 1, y down. The stone
// stays within 0.8 of the middle, which no launcher's mask cuts off (W3C Web
// Application Manifest, "safe zone": a circle of 40 % of the icon's size).

var (
	cobble = color.NRGBA{0xf3, 0xef, 0xe6, 0xff}
	slate  = color.NRGBA{0x20, 0x28, 0x2b, 0xff}
	green  = color.NRGBA{0x17, 0x4f, 0x44, 0xff}
	straw  = color.NRGBA{0xe3, 0xb3, 0x56, 0xff}
	sand   = color.NRGBA{0xe3, 0xda, 0xc6, 0xff}
)

type iconFile struct {
	name string
	size int  // px
	full bool // the ground fills the square, for a launcher to cut
}

var icons = []iconFile{
	{"icon-192.png", 192, false},
	{"icon-512.png", 512, false},
	{"icon-maskable-512.png", 512, true},
}

func drawIcons() error {
	for _, f := range icons {
		var buf bytes.Buffer
		enc := png.Encoder{CompressionLevel: png.BestCompression}
		img, err := indexed(f.draw())
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if err := enc.Encode(&buf, img); err != nil {
			return err
		}
		if err := write(f.name, buf.Bytes()); err != nil {
			return err
		}
		log.Printf("%s %d bytes", f.name, buf.Len())
	}
	return nil
}

// draw paints layer over layer; each covers a pixel by how much of it lies
// inside, taken from the distance to the edge.
func (f iconFile) draw() *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, f.size, f.size))
	pixel := 2 / float64(f.size)
	for py := range f.size {
		for px := range f.size {
			x := (float64(px)+0.5)*pixel - 1
			y := (float64(py)+0.5)*pixel - 1
			ground := 1.0
			if !f.full {
				ground = cover(tile(x, y), pixel)
			}
			c := over(color.NRGBA{}, cobble, ground)
			inside := cover(stone(x, y), pixel)
			c = over(c, green, ground*cover(-waterline(x, y), pixel))
			c = over(c, slate, inside)
			// The damp band: what the falling water has just left.
			c = over(c, sand, inside*cover(math.Abs(waterline(x, y)+0.21)-0.035, pixel))
			c = over(c, straw, ground*cover(math.Abs(waterline(x, y))-0.045, pixel))
			img.SetNRGBA(px, py, c)
		}
	}
	return img
}

// shades is how many steps an edge has from one colour to the next. Few enough
// that all colours of an icon have room in a palette, which halves the file;
// more are not seen.
const shades = 9

// cover is how much of a pixel lies inside, given the distance of its middle
// to the edge (negative inside).
func cover(distance, pixel float64) float64 {
	return math.Round(min(max(0.5-distance/pixel, 0), 1)*shades) / shades
}

// indexed is the same picture with a palette.
func indexed(img *image.NRGBA) (*image.Paletted, error) {
	out := image.NewPaletted(img.Rect, nil)
	index := map[color.NRGBA]uint8{}
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			c := img.NRGBAAt(x, y)
			i, known := index[c]
			if !known {
				if len(out.Palette) == 256 {
					return nil, errors.New("more than 256 colours")
				}
				i = uint8(len(out.Palette))
				index[c] = i
				out.Palette = append(out.Palette, c)
			}
			out.SetColorIndex(x, y, i)
		}
	}
	return out, nil
}

// tile is the ground: a square with round corners.
func tile(x, y float64) float64 {
	const corner = 0.44
	dx, dy := max(math.Abs(x)-1+corner, 0), max(math.Abs(y)-1+corner, 0)
	return math.Hypot(dx, dy) - corner
}

// stone is flatter below than above and leans to one side, as river stones
// do. The distance is near enough at the edge.
func stone(x, y float64) float64 {
	y -= 0.1
	x -= 0.12 * y
	a, b := 0.66, 0.52
	if y > 0 {
		b = 0.40
	}
	// A superellipse |x/a|^n + |y/b|^n = 1 and its distance to first order.
	const n = 2.3
	u, v := math.Abs(x)/a, math.Abs(y)/b
	value := math.Pow(u, n) + math.Pow(v, n) - 1
	slope := n * math.Hypot(math.Pow(u, n-1)/a, math.Pow(v, n-1)/b)
	return value / max(slope, 0.5)
}

// waterline is how far a point lies above the water (negative) or below it.
func waterline(x, y float64) float64 {
	const tilt = 0.17 // falls to the right
	return (y - 0.18 - tilt*x) / math.Sqrt(1+tilt*tilt)
}

func over(under, top color.NRGBA, share float64) color.NRGBA {
	if share <= 0 {
		return under
	}
	a := float64(under.A) / 255
	out := share + a*(1-share)
	mix := func(u, t uint8) uint8 {
		return uint8(math.Round((float64(t)*share + float64(u)*a*(1-share)) / out))
	}
	return color.NRGBA{mix(under.R, top.R), mix(under.G, top.G), mix(under.B, top.B), uint8(math.Round(out * 255))}
}
