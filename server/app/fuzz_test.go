package app

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/gorilla/mux"

	"dampstone/data/demo"
	"dampstone/server/app/screen"
	"dampstone/server/app/trip"
)

// routesOf lists the addresses that take a method, with things of the demo in
// them.
func routesOf(tb testing.TB, method string) (paths []string) {
	tb.Helper()
	things := strings.NewReplacer("{fly}", string(demo.ID("golden-short")), "{box}", string(demo.ID("boat-box")), "{id}", "claassenia", "{trip}", string(demo.ID("trip")), "{outing}", string(demo.ID("outing")), "{order}", string(demo.ID("order-1")), "{material}", "no-material", "{station}", string(demo.ID("staff")))
	err := New(screen.Config{}).router.Walk(func(r *mux.Route, _ *mux.Router, _ []*mux.Route) error {
		methods, err := r.GetMethods()
		if err != nil {
			return err
		}
		path, err := r.GetPathTemplate()
		if err != nil {
			return err
		}
		for _, m := range methods {
			if m == method {
				paths = append(paths, things.Replace(path))
			}
		}
		return nil
	})
	if err != nil {
		tb.Fatal(err)
	}
	for _, p := range paths {
		if strings.Contains(p, "{") {
			tb.Fatalf("%s: nothing of the demo stands for a part of it", p)
		}
	}
	return paths
}

// FuzzForms: whatever is posted to whatever screen, the answer is a page or a
// sentence, never a fault, and what is kept can be read again.
func FuzzForms(f *testing.F) {
	list := routesOf(f, http.MethodPost)
	for i := range list {
		f.Add(uint8(i), "")
	}
	for i, body := range []string{
		"name=x&style=beetle&hook=14&count=-1", "name=%00%ff&rows=1e9&columns=0x10", "lat=NaN&alt=Inf&lang=en&len=mm&temp=c&flow=cfs&region=west-na",
		"from=2026-13-40&to=0000-00-00&rods=99999999999999999999&name=a", string("why=tied&n=999&place=" + demo.ID("boat-box") + ".1.1"), "px=1e309", "text={\"dampstone\":\"ledger\",\"v\":1}",
		"name=" + strings.Repeat("é", 5000), "length=3,5&from=05-01&to=06-30&group=caddis&name=x", "form=a&form=b;c=d&%zz",
	} {
		for j := range list {
			if (i+j)%3 == 0 {
				f.Add(uint8(j), body)
			}
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, body string) {
		b := newFixture(t, true)
		r := httptest.NewRequest(http.MethodPost, list[int(which)%len(list)], strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := b.do(r)
		if w.Code < 200 || w.Code >= 500 {
			t.Fatalf("POST %s %q: status %d\n%s", r.URL, body, w.Code, w.Body)
		}
		entries, err := b.ledger.Store().Load(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if !e.Readable() {
				t.Errorf("POST %s %q kept an entry that cannot be read: %s", r.URL, body, e.Raw())
			}
		}
	})
}

// FuzzAddress: whatever stands in an address or in the cookie of prefs, the
// screens answer.
func FuzzAddress(f *testing.F) {
	list := routesOf(f, http.MethodGet)
	for i := range list {
		f.Add(uint8(i), "month=8&wings=short&length=22", "lang=es&len=in&temp=f&flow=m3s&region=west-na&px=6.2&lat=45&alt=300", "es;q=0.8")
		f.Add(uint8(i), "month=99&length=NaN&hour=-1&region=moon&box=%00&row=99999999999999999999&said=x", "lang=xx&px=NaN&lat=1e400&alt=-Inf&region=%", ",;q=,")
	}
	f.Fuzz(func(t *testing.T, which uint8, query, prefs, languages string) {
		b := newFixture(t, true)
		r := httptest.NewRequest(http.MethodGet, list[int(which)%len(list)], nil)
		r.URL.RawQuery = query
		r.Header.Set("Accept-Language", languages)
		b.prefs = prefs
		if w := b.do(r); w.Code < 200 || w.Code >= 500 {
			t.Fatalf("GET %s with prefs %q, languages %q: status %d\n%s", r.URL, prefs, languages, w.Code, w.Body)
		}
		// Prefs that were read are written so that they are read the same.
		asked := httptest.NewRequest(http.MethodGet, "/", nil)
		asked.AddCookie(&http.Cookie{Name: screen.PrefsCookie, Value: prefs})
		once := screen.ReadPrefs(asked)
		again := httptest.NewRequest(http.MethodGet, "/", nil)
		again.AddCookie(&http.Cookie{Name: screen.PrefsCookie, Value: once.String()})
		if twice := screen.ReadPrefs(again); twice.String() != once.String() {
			t.Errorf("prefs %q become %q and then %q", prefs, once, twice)
		}
	})
}

// FuzzPlanTrip: any text gives a plan or says what is wrong.
func FuzzPlanTrip(f *testing.F) {
	for _, seed := range []string{
		`{"region":"west-na","from":"2026-08-13","to":"2026-08-15","rods":4,"waters":[{"type":"tailwater"}],"slots":48,"flies":[{"id":"a","name":"Short stubs","style":"short-wing-stone","hook":8,"length_mm":21,"body":"#a98545","left":3}]}`,
		`{"region":"europe","from":"2026-05-01","to":"2026-05-02","rods":1,"level":1,"evenings":0,"slots":0,"history":[{"gone":-1,"rod_days":0}]}`,
		`{"region":"south","from":"2026-12-30","to":"2027-01-02","rods":2,"temperatures":[{"date":"2026-12-30","min_c":9,"max_c":3}],"seen":[{"hatch":"none","date":"x"}]}`,
		`{"region":"west-na","from":"0000-01-01","to":"9999-12-31","rods":100}`, `{"rods":1e400}`, `[]`, `{}{}`, ``,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		out, err := trip.PlanTrip(raw, "en")
		if (out == nil) == (err == nil) {
			t.Errorf("%q gives %v and %v", raw, out, err)
		}
	})
}
