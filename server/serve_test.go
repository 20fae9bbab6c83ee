package main

import (
	"bytes"
	"io"
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

// TestInstallFitsItsBudget: a phone loads no more than 2.5 MB to need no
// server any more.
func TestInstallFitsItsBudget(t *testing.T) {
	const most = 2_500_000 // bytes of packed bodies
	assets, release, err := makeRelease(t.Context(), slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	if !assets.HasEngine() {
		t.Skip("the engine is not built in; run: go generate ./...")
	}
	if n := release.WireSize(); n > most {
		t.Errorf("the install is %d bytes, more than %d (an engine packed with -quick is larger)", n, most)
	} else {
		t.Logf("%d bytes", n)
	}
}
