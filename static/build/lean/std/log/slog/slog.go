// Package slog is as much of log/slog as the engine needs: lines of text for
// the browser's console.
package slog

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// Level is how much a line matters.
type Level int

// Levels of the original.
const (
	LevelDebug Level = -4
	LevelInfo  Level = 0
	LevelWarn  Level = 4
	LevelError Level = 8
)

func (l Level) String() string {
	switch l {
	case LevelDebug:
		return "DEBUG"
	case LevelInfo:
		return "INFO"
	case LevelWarn:
		return "WARN"
	}
	return "ERROR"
}

// HandlerOptions are not used here.
type HandlerOptions struct{}

// Handler writes lines.
type Handler interface{ write(line string) }

// NewTextHandler writes lines of text.
func NewTextHandler(w io.Writer, _ *HandlerOptions) Handler { return &text{w: w} }

type text struct {
	lock sync.Mutex
	w    io.Writer
}

func (t *text) write(line string) {
	t.lock.Lock()
	defer t.lock.Unlock()
	io.WriteString(t.w, line)
}

// Logger writes lines with a message and keys with values. There is no time in
// them, which the browser adds.
type Logger struct{ to Handler }

// New is a logger.
func New(h Handler) *Logger { return &Logger{h} }

// Log writes a line. Lines of LevelDebug are left out, as by default they are.
func (l *Logger) Log(_ context.Context, level Level, message string, args ...any) {
	if level < LevelInfo {
		return
	}
	var b strings.Builder
	b.WriteString("level=" + level.String() + " msg=" + quoted(message))
	for i := 0; i < len(args); i += 2 {
		if i == len(args)-1 {
			b.WriteString(" !BADKEY=" + quoted(fmt.Sprint(args[i])))
			break
		}
		b.WriteString(" " + quoted(fmt.Sprint(args[i])) + "=" + quoted(fmt.Sprint(args[i+1])))
	}
	b.WriteByte('\n')
	l.to.write(b.String())
}

// Debug writes nothing.
func (l *Logger) Debug(message string, args ...any) {
	l.Log(context.Background(), LevelDebug, message, args...)
}

// Info writes a line.
func (l *Logger) Info(message string, args ...any) {
	l.Log(context.Background(), LevelInfo, message, args...)
}

// Warn writes a line.
func (l *Logger) Warn(message string, args ...any) {
	l.Log(context.Background(), LevelWarn, message, args...)
}

// Error writes a line.
func (l *Logger) Error(message string, args ...any) {
	l.Log(context.Background(), LevelError, message, args...)
}

// quoted puts a text in quotes where its end would not be seen otherwise.
func quoted(s string) string {
	for _, c := range s {
		if c == ' ' || c == '"' || c == '=' || c == utf8.RuneError || c != 0x7f && !strconv.IsPrint(c) {
			return strconv.Quote(s)
		}
	}
	if s == "" {
		return `""`
	}
	return s
}
