package recorder

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestFollowsLikeAClient sends the same requests by way of net/http's client,
// with cookies, which is the standard to meet.
func TestFollowsLikeAClient(t *testing.T) {
	handler := http.NewServeMux()
	handler.HandleFunc("POST /save", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, &http.Cookie{Name: "prefs", Value: "lang=es&len=in", Path: "/"})
		http.Redirect(w, r, "setup/done?did="+r.PostFormValue("name"), http.StatusSeeOther)
	})
	handler.HandleFunc("POST /moved", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/echo", http.StatusTemporaryRedirect)
	})
	handler.HandleFunc("/found/{n}", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, &http.Cookie{Name: "prefs", Value: "n=" + r.PathValue("n"), Path: "/"})
		if r.PathValue("n") == "3" {
			http.Redirect(w, r, "/echo#there", http.StatusFound)
			return
		}
		http.Redirect(w, r, "3", http.StatusFound)
	})
	echo := func(w http.ResponseWriter, r *http.Request) {
		prefs, _ := r.Cookie("prefs")
		body, _ := io.ReadAll(r.Body)
		io.WriteString(w, strings.Join([]string{r.Method, r.URL.String(), prefs.String(), r.Header.Get("Content-Type"), string(body)}, "|"))
	}
	handler.HandleFunc("/echo", echo)
	handler.HandleFunc("/setup/done", echo)
	handler.HandleFunc("/round", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/round", http.StatusSeeOther) })
	server := httptest.NewServer(handler)
	defer server.Close()

	for _, tc := range []struct {
		name, method, path, body string
		url                      string // in the end, where the client does not tell
	}{
		{"a save leads on by GET with the new cookie", "POST", "/save", "name=Sorrel", ""},
		{"the same method and body", "POST", "/moved", "name=Sorrel", ""},
		{"from one to the next, with the last cookie", "GET", "/found/1", "", "/echo#there"},
		{"a post that is found elsewhere", "POST", "/found/2", "name=x", "/echo#there"},
		{"none", "GET", "/echo?q=%C3%A9", "", ""},
		{"the fragment stays", "POST", "/save#slot-3", "name=dun", "/setup/done?did=dun#slot-3"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			header := http.Header{"Cookie": {"prefs=old"}}
			if tc.body != "" {
				header.Set("Content-Type", "application/x-www-form-urlencoded")
			}
			r, err := http.NewRequest(tc.method, server.URL+tc.path, strings.NewReader(tc.body))
			if err != nil {
				t.Fatal(err)
			}
			jar, _ := cookiejar.New(nil)
			jar.SetCookies(r.URL, []*http.Cookie{{Name: "prefs", Value: "old", Path: "/"}})
			for name, values := range header {
				if name != "Cookie" {
					r.Header[name] = values
				}
			}
			want, err := (&http.Client{Jar: jar}).Do(r)
			if err != nil {
				t.Fatal(err)
			}
			defer want.Body.Close()
			body, _ := io.ReadAll(want.Body)
			got, err := Follow(context.Background(), handler, tc.method, server.URL+tc.path, header, []byte(tc.body))
			if err != nil {
				t.Fatal(err)
			}
			if got.Status != want.StatusCode || string(got.Body) != string(body) {
				t.Errorf("status %d, %s\nwant   %d, %s", got.Status, got.Body, want.StatusCode, body)
			}
			address := want.Request.URL.String()
			if tc.url != "" {
				address = server.URL + tc.url
			}
			if got.URL != address {
				t.Errorf("address %s, want %s", got.URL, address)
			}
			if got.Accepted != (tc.method == "POST") {
				t.Errorf("accepted %v", got.Accepted)
			}
		})
	}
	if _, err := Follow(context.Background(), handler, "GET", server.URL+"/round", http.Header{}, nil); err == nil {
		t.Error("went round in circles")
	}
}

// FuzzFollow asks whatever address, which leads wherever: it ends, and what was
// answered is what the handler saw last.
func FuzzFollow(f *testing.F) {
	for _, seed := range [][2]string{{"https://x/box?q=1#a", "/day"}, {"https://x/", "//y/z"}, {"https://x/", "?q"}, {"https://x/%zz", "#b"}, {"", "mailto:a"}, {"https://x/é", "\x00"}, {"https://x/", "https://x/ "}} {
		f.Add(seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, address, to string) {
		asked := 0
		a, err := Follow(context.Background(), http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if asked++; asked == 1 {
				w.Header().Set("Location", to)
				w.WriteHeader(http.StatusSeeOther)
			}
		}), "POST", address, http.Header{}, nil)
		if asked > 2 || len(a.Way) != asked || err == nil && a.Status != http.StatusOK && to != "" {
			t.Errorf("%d questions, %d answers, status %d, %v", asked, len(a.Way), a.Status, err)
		}
	})
}
