package setup

import (
	"net/http"

	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// ledgerPath is the screen that asks what to do where the server keeps another
// ledger than this phone.
const ledgerPath = "/setup/ledger"

func (a *section) otherLedger(r *http.Request, p screen.Asked) (screen.Result, error) {
	t := catalog.For(p.Lang)
	v := views.LedgerView{Page: a.View(r, p, "setup", t.S("ledger.title"))}
	demo, found := false, false
	if a.Other != nil {
		demo, found = a.Other.Found()
	}
	if !found {
		v.Lead = t.S("ledger.same")
		return screen.Show(views.OtherLedger(v)), nil
	}
	switch {
	case demo:
		v.Lead = t.S("ledger.demo")
	case a.IsDemo():
		v.Lead = t.S("ledger.own")
	default:
		v.Lead = t.S("ledger.other")
	}
	n := 0
	n = p.State.Len()
	v.Here = t.N("ledger.here", n, nil)
	choice := func(do string) views.PostForm {
		return a.Button(ledgerPath, t.S("ledger."+do), [2]string{"do", do})
	}
	apart := choice("apart")
	v.Apart = &apart
	if !demo && !a.IsDemo() {
		join := choice("join")
		v.Join = &join
	}
	return screen.Show(views.OtherLedger(v)), nil
}

// chooseLedger does what the person says. Where another ledger is shown from
// now on, the page has to load anew.
func (a *section) chooseLedger(r *http.Request, p screen.Asked) (screen.Result, error) {
	if a.Other == nil {
		return screen.Result{}, screen.ErrNotFound
	}
	if _, found := a.Other.Found(); !found {
		return screen.Result{GoTo: ledgerPath}, nil // answered in another tab
	}
	switch r.PostForm.Get("do") {
	case "apart":
		if err := a.Other.Apart(r.Context()); err != nil {
			return screen.Result{}, err
		}
		return screen.Result{GoTo: "/", Restart: true}, nil
	case "join":
		if err := a.Other.Join(r.Context()); err != nil {
			return screen.Result{}, err
		}
		return screen.GoTo("/setup", "joined", 0), nil
	}
	return screen.Result{}, screen.ErrBadForm
}
