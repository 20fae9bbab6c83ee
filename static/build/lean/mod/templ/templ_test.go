package templ_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"testing"

	original "github.com/a-h/templ"
	theirs "github.com/a-h/templ/runtime"

	"dampstone/static/build/lean/mod/templ"
	ours "dampstone/static/build/lean/mod/templ/runtime"
)

// FuzzLikeTheOriginal escapes, checks addresses and joins classes by both.
// (Here, outside the engine, the stand-in's runtime imports the original's
// components.)
func FuzzLikeTheOriginal(f *testing.F) {
	for _, seed := range []string{"Sorrel dun", `<b a='1'>&"`, "javascript:alert(1)", "JaVa\tScript:x", "/box?a=1&b=2", "https://x/:", "a/b:c", "mailto:x", ":", "data:text/html,<b>", "é\xff<", ""} {
		f.Add(seed, "fly", true)
		f.Add(seed, seed, false)
	}
	f.Fuzz(func(t *testing.T, text, other string, on bool) {
		show := func(c original.Component) string {
			var b bytes.Buffer
			if err := c.Render(context.Background(), &b); err != nil {
				t.Fatal(err)
			}
			return b.String()
		}
		got := show(ours.Template(func(_ ours.Context, b *ours.Buffer) { b.Text("<p>", text); b.Markup("</p>") }))
		if want := "<p>" + original.EscapeString(text) + "</p>"; got != want {
			t.Errorf("text %q, want %q", got, want)
		}
		for _, pair := range []struct {
			ours   string
			theirs theirs.AttributeExpression[string]
		}{{ours.Address(text), theirs.NewAttributeExpression(text)}} {
			want, err := pair.theirs.ResolveURL(context.Background())
			if err != nil || original.EscapeString(pair.ours) != want {
				t.Errorf("address %q, want %q, %v", pair.ours, want, err)
			}
		}
		safe, err := theirs.NewAttributeExpression(original.SafeURL(text)).ResolveURL(context.Background())
		if got := ours.Address(original.SafeURL(text)); err != nil || original.EscapeString(got) != safe {
			t.Errorf("safe address %q, want %q, %v", got, safe, err)
		}
		if got, want := string(templ.URL(text)), string(original.URL(text)); got != want {
			t.Errorf("address %q, want %q", got, want)
		}
		a := templ.CSSClasses{text, templ.KV(other, on), other, templ.KV(text, !on), 3}
		b := original.CSSClasses{text, original.KV(other, on), other, original.KV(text, !on), 3}
		if a.String() != b.String() {
			t.Errorf("classes %q, want %q", a, b)
		}
	})
}

// TestErrorsAreKept has the first error on the way given back at the end.
func TestErrorsAreKept(t *testing.T) {
	first := errors.New("first")
	fails := func(err error) original.Component {
		return original.ComponentFunc(func(context.Context, io.Writer) error { return err })
	}
	inner := ours.Template(func(ctx ours.Context, b *ours.Buffer) { b.Add(ctx, fails(first)); b.Markup("x") })
	outer := ours.Template(func(ctx ours.Context, b *ours.Buffer) {
		b.Add(ctx, inner)
		b.Add(ctx, fails(errors.New("second")))
		b.Add(ctx, fails(nil))
	})
	if err := outer.Render(context.Background(), io.Discard); err != first {
		t.Errorf("%v, want %v", err, first)
	}
	full := errors.New("full")
	if err := ours.Template(func(ours.Context, *ours.Buffer) {}).Render(context.Background(), failing{full}); err != full {
		t.Errorf("%v, want %v", err, full)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// TestChildren has what stands inside an element shown where it belongs, and
// no further in.
func TestChildren(t *testing.T) {
	ctx := context.Background()
	if templ.GetChildren(ctx).Render(ctx, io.Discard) != nil || templ.ClearChildren(ctx) != ctx {
		t.Error("nothing stands inside")
	}
	inside := templ.ComponentFunc(func(_ context.Context, w io.Writer) error { _, err := io.WriteString(w, "inside"); return err })
	with := templ.WithChildren(ctx, inside)
	var b bytes.Buffer
	if err := templ.GetChildren(with).Render(with, &b); err != nil || b.String() != "inside" {
		t.Errorf("%q, %v", b.String(), err)
	}
	b.Reset()
	if err := templ.GetChildren(templ.ClearChildren(with)).Render(with, &b); err != nil || b.Len() > 0 {
		t.Errorf("%q, %v", b.String(), err)
	}
}
