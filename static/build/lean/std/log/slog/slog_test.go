package slog_test

import (
	"bytes"
	"context"
	"errors"
	std "log/slog"
	"testing"

	"dampstone/static/build/lean/std/log/slog"
)

// FuzzLine writes the same line by log/slog, whose text is the standard to meet,
// but for the time.
func FuzzLine(f *testing.F) {
	f.Add("problem", "err", "unexpected \"end\"\nof entry", 3, 0)
	f.Add("", "a=b", "", -1, 8)
	f.Add("é \x00\xff", "ref", "=", 0, 4)
	f.Add("sync", "a b", "x", 1, -4)
	f.Fuzz(func(t *testing.T, message, key, value string, n, level int) {
		if level != -4 && level != 0 && level != 4 && level != 8 {
			return
		}
		var ours, theirs bytes.Buffer
		a := slog.New(slog.NewTextHandler(&ours, nil))
		b := std.New(std.NewTextHandler(&theirs, &std.HandlerOptions{ReplaceAttr: func(_ []string, a std.Attr) std.Attr {
			if a.Key == std.TimeKey {
				return std.Attr{}
			}
			return a
		}}))
		for _, args := range [][]any{nil, {"n", n}, {"value", value, "err", errors.New(value), "many", []string{value}}, {"k" + key, value}, {"n"}} {
			ours.Reset()
			theirs.Reset()
			a.Log(context.Background(), slog.Level(level), message, args...)
			b.Log(context.Background(), std.Level(level), message, args...)
			if ours.String() != theirs.String() {
				t.Errorf("is   %swant %s", ours.String(), theirs.String())
			}
		}
		ours.Reset()
		theirs.Reset()
		a.Debug(message)
		a.Info(message, "n", n)
		a.Warn(message)
		a.Error(message)
		b.Debug(message)
		b.Info(message, "n", n)
		b.Warn(message)
		b.Error(message)
		if ours.String() != theirs.String() {
			t.Errorf("is   %swant %s", ours.String(), theirs.String())
		}
	})
}
