package middleware

import (
	"log/slog"
	"net/http"
	"strings"
	"time"
)

// Log writes a line for each request that went wrong, or for each whatever
// came of it. A line holds no address, no name, no query, and of the path the
// first part alone: what follows may be a code that pairs a device.
func Log(next http.Handler, each bool, now func() time.Time, log *slog.Logger) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := now()
		seen := &seen{ResponseWriter: w}
		defer func() {
			level := slog.LevelInfo
			switch {
			case seen.status >= 500:
				level = slog.LevelError
			case seen.status >= 400 && seen.status != http.StatusNotFound:
				level = slog.LevelWarn
			case !each:
				return
			}
			log.Log(r.Context(), level, "request", "method", method(r.Method), "part", part(r.URL.Path),
				"status", seen.status, "bytes", seen.bytes, "ms", now().Sub(began).Milliseconds())
		}()
		next.ServeHTTP(seen, r)
	})
}

// seen notes what was answered.
type seen struct {
	http.ResponseWriter
	status int // 0: nothing, the connection was let go
	bytes  int64
}

func (s *seen) WriteHeader(status int) {
	if s.status == 0 && status >= 200 {
		s.status = status
	}
	s.ResponseWriter.WriteHeader(status)
}

func (s *seen) Write(b []byte) (int, error) {
	if s.status == 0 {
		s.status = http.StatusOK
	}
	n, err := s.ResponseWriter.Write(b)
	s.bytes += int64(n)
	return n, err
}

// Unwrap is for http.ResponseController.
func (s *seen) Unwrap() http.ResponseWriter { return s.ResponseWriter }

// method is a method that HTTP knows; others are whatever a stranger sends.
func method(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return m
	}
	return "other"
}

const maxPart = 24

// part is the first part of a path, if it is one that a program could have.
func part(path string) string {
	first, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	for i := range len(first) {
		if c := first[i]; !('a' <= c && c <= 'z' || c == '-' || c == '.') {
			return "other"
		}
	}
	if len(first) > maxPart {
		return "other"
	}
	return "/" + first
}
