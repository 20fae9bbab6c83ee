package bench

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// orders lists the orders, what is due first.
func (a *section) orders(r *http.Request, p screen.Asked) (screen.Result, error) {
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("order.title"))
	v := views.OrdersView{Page: page}
	today := a.Now().Format(time.DateOnly)
	s := p.State
	for _, o := range s.OrdersNow() {
		f, _ := s.Pattern(o.Pattern)
		line := views.OrderLine{
			For: o.For, Href: words.OrderHref(o.ID), What: page.T.F("order.what", catalog.Data{"Count": o.Count, "Name": screen.Or(f.Name, page.T.S("slot.unknown"))}),
			State: orderState(page.T, o), Due: orderDue(page.T, o, today), Late: o.Open() && o.Due != "" && o.Due < today,
		}
		if o.Open() {
			v.Open = append(v.Open, line)
		} else {
			v.Done = append(v.Done, line)
		}
	}
	return screen.Show(views.Orders(v)), nil
}

func orderState(t *catalog.Text, o flybox.OrderNow) string {
	if !o.Open() {
		return t.N("order.state.done", o.Handed, nil)
	}
	return t.F("order.state", catalog.Data{"Tied": o.Tied, "Handed": o.Handed, "Count": o.Count})
}

func orderDue(t *catalog.Text, o flybox.OrderNow, today string) string {
	day, err := time.Parse(time.DateOnly, o.Due)
	if err != nil {
		return ""
	}
	if o.Open() && o.Due < today {
		return t.F("bench.overdue", catalog.Data{"Date": words.DateText(t, day)})
	}
	return t.F("bench.due", catalog.Data{"Date": words.DateText(t, day)})
}

func (a *section) order(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.orderScreen(r, p, nil, nil)
}

func (a *section) orderScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	id := screen.PathID(r, "order")
	page := a.View(r, p, "bench", "")
	t := page.T
	s := p.State
	o, ok := s.OrderNow(id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	page.Title = o.For
	today := a.Now().Format(time.DateOnly)
	v := views.OrderView{Page: page, For: o.For, Fly: t.S("slot.unknown"), State: orderState(t, o), Note: o.Note, Edit: words.OrderHref(id) + "/edit",
		Remove: a.Button(words.OrderHref(id)+"/remove", t.S("order.remove")), Late: o.Open() && o.Due != "" && o.Due < today}
	if due := orderDue(t, o, today); due != "" {
		v.Facts = append(v.Facts, due)
	}
	if f, known := s.Pattern(o.Pattern); known {
		v.Fly, v.FlyHref, v.Drawing = f.Name, words.FlyHref(f.ID), words.FlyMark(f.Pattern)
		v.Facts = append(v.Facts, words.LeftText(t, f.Left))
	}
	there := onHandOf(s, o.Pattern)
	switch {
	case !o.Open():
	case there == 0:
		v.NoneThere = t.S("order.none-there")
	default:
		n := min(o.Count-o.Handed, there)
		if o.Waiting() > 0 {
			n = min(n, o.Waiting())
		}
		value := screen.Itoa(n)
		if typed != nil {
			value = typed.Get("n")
		}
		v.Hand = &views.HandForm{Action: words.OrderHref(id) + "/hand", FormID: a.FormID(typed), Problems: screen.ProblemList(page, "order", bad), N: screen.FormField(page, "order", "n", value, bad)}
	}
	if len(bad) > 0 {
		return screen.Retry(views.Order(v)), nil
	}
	return screen.Show(views.Order(v)), nil
}

// onHandOf is how many flies of a pattern are where they can be taken from.
func onHandOf(s *flybox.State, pattern journal.ID) (n int) {
	for _, at := range s.Places(pattern) {
		n += max(at.Count, 0)
	}
	return n
}

// handOver gives flies of an order away: loose ones first, then from where
// most are.
func (a *section) handOver(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "order")
	var bad journal.Problems
	n := screen.WholeNumber(r.PostForm, "n", &bad)
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		o, ok := s.OrderNow(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		screen.InRange("n", n, 1, min(onHandOf(s, o.Pattern), flybox.MaxCount), &bad)
		if len(bad) > 0 {
			return nil, bad
		}
		bodies := acts.TakeOn(s, flybox.Trip{}, o.Pattern, n, flybox.StockMove{Pattern: o.Pattern, Why: flybox.WhyGiven, Order: id})
		return bodies, nil
	})
	if list, is := screen.AsProblems(err); is {
		return a.orderScreen(r, p, r.PostForm, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.OrderHref(id), "handed", n), nil
}

func (a *section) removeOrder(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "order")
	return a.Remove(r, id, "/bench/orders", func(s *flybox.State) bool {
		_, ok := s.Order(id)
		return ok
	})
}

func (a *section) newOrder(r *http.Request, p screen.Asked) (screen.Result, error) {
	return screen.Show(views.OrderForm(a.orderForm(r, p, "", flybox.Order{Pattern: screen.IDIn(r.URL.Query(), "fly")}, nil, nil))), nil
}

func (a *section) editOrder(r *http.Request, p screen.Asked) (screen.Result, error) {
	b, ok := findOrder(p.State, screen.PathID(r, "order"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.OrderForm(a.orderForm(r, p, b.ID, b, nil, nil))), nil
}

func findOrder(s *flybox.State, id journal.ID) (flybox.Order, bool) {
	l, ok := s.Order(id)
	return l.Body, ok
}

func (a *section) orderForm(r *http.Request, p screen.Asked, id journal.ID, b flybox.Order, typed url.Values, bad journal.Problems) views.OrderFormView {
	t := catalog.For(p.Lang)
	v := views.OrderFormView{Heading: t.S("order.new"), Action: "/bench/order/new", Back: "/bench/orders", FormID: a.FormID(typed)}
	if id != "" {
		v.Heading, v.Action, v.Back = t.F("order.change", catalog.Data{"Name": b.For}), words.OrderHref(id)+"/edit", words.OrderHref(id)
	}
	page := a.View(r, p, "bench", v.Heading)
	v.Page, v.Problems = page, screen.ProblemList(page, "order", bad)
	f := func(name, kept string) views.Field {
		if typed != nil {
			kept = typed.Get(name)
		}
		return screen.FormField(page, "order", name, kept, bad)
	}
	count := ""
	if b.Count > 0 {
		count = screen.Itoa(b.Count)
	}
	v.For, v.Count, v.Due, v.Note = f("for", b.For), f("count", count), f("due", b.Due), f("note", b.Note)
	v.Fly = views.Choices{Field: f("pattern", string(b.Pattern))}
	known := false
	s := p.State
	for _, fly := range s.Patterns() {
		id := string(fly.ID)
		known = known || id == v.Fly.Value
		v.Fly.Options = append(v.Fly.Options, views.Option{Value: id, Label: fly.Name + ", " + words.LeftText(t, fly.Left), Chosen: id == v.Fly.Value})
	}
	if b.Pattern != "" && !known && id != "" { // a fly that was removed stays until another is chosen
		v.Fly.Options = append([]views.Option{{Value: string(b.Pattern), Label: t.S("slot.unknown"), Chosen: true}}, v.Fly.Options...)
	}
	v.NoFlies = len(v.Fly.Options) == 0
	return v
}

// saveOrder records a new order or a change of one.
func (a *section) saveOrder(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "order")
	f := r.PostForm
	b := flybox.Order{}
	if id != "" {
		var ok bool
		if b, ok = findOrder(p.State, id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
	}
	old := b
	var bad journal.Problems
	b.For, b.Due, b.Note = strings.TrimSpace(f.Get("for")), strings.TrimSpace(f.Get("due")), strings.ReplaceAll(f.Get("note"), "\r\n", "\n")
	b.Count, b.Pattern = screen.WholeNumber(f, "count", &bad), screen.IDIn(f, "pattern")
	bad = screen.Merge(bad, b.Check())
	if b.Pattern != "" && b.Pattern != old.Pattern {
		known := false
		_, known = p.State.Pattern(b.Pattern)
		if !known {
			bad = screen.Merge(bad, journal.Problems{{Field: "pattern", Code: journal.CodeUnknown}})
		}
	}
	form := a.Form(r)
	if b.ID == "" {
		b.ID = form.NewID()
	}
	var err error
	if len(bad) == 0 {
		err = a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{b}, nil })
	}
	if list, is := screen.AsProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return screen.Retry(views.OrderForm(a.orderForm(r, p, id, old, f, bad))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	if _, ok := a.Ledger.State().Order(b.ID); !ok { // the same form sent twice: the first one made the order
		return screen.GoTo("/bench/orders", "saved", 0), nil
	}
	return screen.GoTo(words.OrderHref(b.ID), "saved", 0), nil
}
