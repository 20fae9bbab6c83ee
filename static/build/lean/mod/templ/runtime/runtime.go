// Package runtime is what rewritten views write into.
package runtime

import (
	"context"
	"io"

	"github.com/a-h/templ"
)

// Context spares rewritten views an import.
type Context = context.Context

// Template is a view as it is rewritten.
type Template func(Context, *Buffer)

// Render implements templ.Component.
func (t Template) Render(ctx context.Context, w io.Writer) error {
	if b, inside := w.(*Buffer); inside {
		t(ctx, b)
		return nil // what went wrong is said at the end, by what holds it
	}
	var b Buffer
	t(ctx, &b)
	if _, err := w.Write(b.out); b.err == nil {
		b.err = err
	}
	return b.err
}

// Buffer takes what a view shows, and the first error on the way.
type Buffer struct {
	out []byte
	err error
}

// Write implements io.Writer.
func (b *Buffer) Write(p []byte) (int, error) {
	b.out = append(b.out, p...)
	return len(p), nil
}

// WriteString implements io.StringWriter.
func (b *Buffer) WriteString(s string) (int, error) {
	b.out = append(b.out, s...)
	return len(s), nil
}

// Markup writes markup as it is.
func (b *Buffer) Markup(markup string) { b.out = append(b.out, markup...) }

// Text writes markup, and after it text, in which what means something in HTML
// is escaped.
func (b *Buffer) Text(markup, text string) {
	b.out = append(b.out, markup...)
	done := 0
	for i := range len(text) {
		var by string
		switch text[i] {
		case '&':
			by = "&amp;"
		case '\'':
			by = "&#39;"
		case '<':
			by = "&lt;"
		case '>':
			by = "&gt;"
		case '"':
			by = "&#34;"
		default:
			continue
		}
		b.out = append(append(b.out, text[done:i]...), by...)
		done = i + 1
	}
	b.out = append(b.out, text[done:]...)
}

// Add shows another component here.
func (b *Buffer) Add(ctx Context, c templ.Component) {
	if err := c.Render(ctx, b); err != nil && b.err == nil {
		b.err = err
	}
}

// Address is the value of an attribute that is an address.
func Address[T ~string](address T) string {
	if safe, ok := any(address).(templ.SafeURL); ok {
		return string(safe)
	}
	return string(templ.URL(string(address)))
}
