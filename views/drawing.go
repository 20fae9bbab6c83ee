package views

import (
	"context"
	"io"
	"strconv"

	"github.com/a-h/templ"
)

// Drawing is a line drawing made from data; it is nil where there is none.
type Drawing func(w io.Writer) error

// Render implements templ.Component.
func (d Drawing) Render(_ context.Context, w io.Writer) error {
	if d == nil {
		return nil
	}
	return d(w)
}

var _ templ.Component = Drawing(nil)

// trendOr names the waterline of a screen with no trend.
func trendOr(trend string) string {
	if trend == "" {
		return "unknown"
	}
	return trend
}

// fixed writes a coordinate.
func fixed(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }
