package recorder

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"reflect"
	"testing"
)

// TestLikeAConnection gives the same requests to the same handler here and
// over a real connection by way of net/http, which is the standard to meet.
func TestLikeAConnection(t *testing.T) {
	handler := http.NewServeMux()
	handler.HandleFunc("POST /form/{id}", func(w http.ResponseWriter, r *http.Request) {
		if err := r.ParseForm(); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		http.SetCookie(w, &http.Cookie{Name: "prefs", Value: "lang=es&len=in"})
		http.Redirect(w, r, "/box/"+r.PathValue("id")+"?did="+r.PostForm.Get("name"), http.StatusSeeOther)
	})
	handler.HandleFunc("GET /twice", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("X-Seen", "yes")
		w.Header().Set("Content-Type", "text/plain")
		w.WriteHeader(http.StatusUnprocessableEntity)
		w.Header().Set("X-Late", "lost")
		w.WriteHeader(http.StatusOK)
		io.WriteString(w, r.URL.String()+" "+r.Host+" "+r.RequestURI)
	})
	handler.HandleFunc("GET /nothing", func(w http.ResponseWriter, r *http.Request) {})
	server := httptest.NewServer(handler)
	defer server.Close()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

	for _, tc := range []struct {
		name, method, path, body string
	}{
		{"a posted form leads on and sets a cookie", "POST", "/form/a%2Fb", "name=Sorrel+dun"},
		{"a form with a bad escape is refused", "POST", "/form/x", "name=%zz"},
		{"the first status counts and late headers are lost", "GET", "/twice?q=%C3%A9&q=2", ""},
		{"silence is 200", "GET", "/nothing", ""},
		{"what is not there is 404", "GET", "/gone", ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			header := http.Header{}
			if tc.body != "" {
				header.Set("Content-Type", "application/x-www-form-urlencoded")
			}
			var body []byte
			if tc.body != "" {
				body = []byte(tc.body)
			}
			r, err := Request(context.Background(), tc.method, server.URL+tc.path, header.Clone(), body)
			if err != nil {
				t.Fatal(err)
			}
			var a Recorder
			handler.ServeHTTP(&a, r)
			status, got, gotBody := a.Result()

			wire, err := Request(context.Background(), tc.method, server.URL+tc.path, header.Clone(), body)
			if err != nil {
				t.Fatal(err)
			}
			wire.RequestURI = ""
			wire.URL.Scheme, wire.URL.Host = "http", wire.Host
			resp, err := client.Do(wire)
			if err != nil {
				t.Fatal(err)
			}
			defer resp.Body.Close()
			wantBody, err := io.ReadAll(resp.Body)
			if err != nil {
				t.Fatal(err)
			}
			want := resp.Header
			want.Del("Date") // the connection's own
			want.Del("Content-Length")
			if status != resp.StatusCode || string(gotBody) != string(wantBody) {
				t.Errorf("got %d %q, want %d %q", status, gotBody, resp.StatusCode, wantBody)
			}
			if !reflect.DeepEqual(map[string][]string(got), map[string][]string(want)) && len(got)+len(want) > 0 {
				t.Errorf("headers\n got %v\nwant %v", got, want)
			}
		})
	}
}

func TestRequestRefusesNonsense(t *testing.T) {
	for _, target := range []string{"http://[", "%zz"} {
		if _, err := Request(context.Background(), "GET", target, nil, nil); err == nil {
			t.Errorf("address %q was taken", target)
		}
	}
	if _, err := Request(context.Background(), "G T", "http://phone/", nil, nil); err == nil {
		t.Error("a method with a space was taken")
	}
}
