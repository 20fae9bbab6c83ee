// Package templ is as much of github.com/a-h/templ as rewritten views need (see
// package slim), whose other parts reach for regular expressions, another kind
// of templates and files that change while one looks.
package templ

import (
	"context"
	"io"
	"strings"
)

// Component is what can be shown.
type Component interface {
	Render(ctx context.Context, w io.Writer) error
}

// ComponentFunc is a function as a Component.
type ComponentFunc func(ctx context.Context, w io.Writer) error

// Render implements Component.
func (f ComponentFunc) Render(ctx context.Context, w io.Writer) error { return f(ctx, w) }

// NopComponent shows nothing.
var NopComponent Component = ComponentFunc(func(context.Context, io.Writer) error { return nil })

type contextKey int

const childrenKey contextKey = 0

// WithChildren hands what stands inside an element to what shows it.
func WithChildren(ctx context.Context, children Component) context.Context {
	return context.WithValue(ctx, childrenKey, children)
}

// ClearChildren keeps what stands inside from being shown further in.
func ClearChildren(ctx context.Context) context.Context {
	if _, some := ctx.Value(childrenKey).(Component); !some {
		return ctx
	}
	return context.WithValue(ctx, childrenKey, nil)
}

// GetChildren is what stands inside.
func GetChildren(ctx context.Context) Component {
	if c, some := ctx.Value(childrenKey).(Component); some {
		return c
	}
	return NopComponent
}

// SafeURL is an address that is known to be harmless.
type SafeURL string

// FailedSanitizationURL stands in for an address that may do harm.
const FailedSanitizationURL = SafeURL("about:invalid#TemplFailedSanitizationURL")

// URL lets addresses of harmless schemes through.
func URL(s string) SafeURL {
	if scheme, _, found := strings.Cut(s, ":"); found && !strings.Contains(scheme, "/") {
		switch strings.ToLower(scheme) {
		case "http", "https", "mailto", "tel", "ftp", "ftps":
		default:
			return FailedSanitizationURL
		}
	}
	return SafeURL(s)
}

// KeyValue is a class and whether an element has it.
type KeyValue[K comparable, V any] struct {
	Key   K
	Value V
}

// KV makes a KeyValue.
func KV[K comparable, V any](key K, value V) KeyValue[K, V] { return KeyValue[K, V]{key, value} }

// CSSClasses are classes: each a string or a KeyValue[string, bool].
type CSSClasses []any

// String is the classes that an element has, each once. As in the original, the
// last word on a class counts, and its first place.
func (classes CSSClasses) String() string {
	var names []string
	has := map[string]bool{}
	for _, c := range classes {
		name, on := unknownClass, true
		switch c := c.(type) {
		case string:
			name = c
		case KeyValue[string, bool]:
			name, on = c.Key, c.Value
		}
		if _, known := has[name]; !known {
			names = append(names, name)
		}
		has[name] = on
	}
	kept := names[:0]
	for _, name := range names {
		if has[name] {
			kept = append(kept, name)
		}
	}
	return strings.Join(kept, " ")
}

const unknownClass = "--templ-css-class-unknown-type"
