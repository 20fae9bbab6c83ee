package app

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/google/uuid"
)

// A log line names the kind of problem and the template of the address, and
// no id of anybody's ledger.
func TestALogLineNamesProblemAndRoute(t *testing.T) {
	b := newFixture(t, false)
	var log bytes.Buffer
	b.config.Log = slog.New(slog.NewJSONHandler(&log, nil))
	b.app = New(b.config)
	id := uuid.NewString()
	for _, c := range []struct {
		path, problem, route string
		status               int
	}{
		{"/box/" + id, "missing", "/box/{box}", http.StatusNotFound},
		{"/trip/" + id + "/edit", "missing", "/trip/{trip}/edit", http.StatusNotFound},
		{"/nowhere/" + id, "missing", "", http.StatusNotFound},
		{"/box?" + strings.Repeat("q", 1<<16), "large", "/box", http.StatusRequestEntityTooLarge},
	} {
		log.Reset()
		if w := b.do(httptest.NewRequest("GET", c.path, nil)); w.Code != c.status {
			t.Errorf("%.40s: status %d, want %d", c.path, w.Code, c.status)
			continue
		}
		var line struct{ Problem, Route string }
		if err := json.Unmarshal(log.Bytes(), &line); err != nil {
			t.Fatalf("%v in %q", err, log.String())
		}
		if line.Problem != c.problem || line.Route != c.route {
			t.Errorf("%.40s: problem %q at %q, want %q at %q", c.path, line.Problem, line.Route, c.problem, c.route)
		}
		if strings.Contains(log.String(), id) {
			t.Errorf("the id is in the log: %s", log.String())
		}
	}
}
