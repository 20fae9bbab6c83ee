package main

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
)

func TestTheLogNamesNoVisitor(t *testing.T) {
	var out bytes.Buffer
	n := nameless{slog.New(slog.NewTextHandler(&out, nil))}
	for _, line := range []string{
		"http: TLS handshake error from 192.0.2.44:51034: remote error: tls: unknown certificate\n",
		"http: TLS handshake error from [2001:db8::7]:51034: EOF\n",
		"http: TLS handshake error from [fe80::1%eth0]:51034: EOF\n",
	} {
		out.Reset()
		if _, err := n.Write([]byte(line)); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); strings.ContainsAny(got, "[]") || strings.Contains(got, "192.") || strings.Contains(got, "2001:") || !strings.Contains(got, "TLS handshake error from visitor: ") {
			t.Errorf("%s became %s", line, got)
		}
	}
}
