// Package figures counts what a server does, for whoever watches over it, in
// the text format of Prometheus. No figure names or tells apart people,
// devices or ledgers.
package figures

import (
	"net/http"
	"strconv"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Stats are figures of a data folder at a moment.
type Stats struct {
	People, Devices int
	Open            int   // ledgers in memory
	Bytes           int64 // that they take, about
	Bound           int64 // that they may take
	Added           int64 // entries stored since the start
	Refused         int64 // entries not taken since the start, for want of room
}

// Figures are those of one server.
type Figures struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
}

// New makes figures; stats may be nil.
func New(stats func() Stats) *Figures {
	f := &Figures{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "dampstone_requests_total", Help: "Requests by part (sync is the exchange) and status; status 0 was let go.",
		}, []string{"part", "status"}),
	}
	f.registry.MustRegister(f.requests, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if stats != nil {
		f.registry.MustRegister(folder{stats})
	}
	return f
}

// parts are those that are told apart; a stranger may ask for anything.
var parts = map[string]string{"/": "bank", "/sync": "sync", "/box": "box", "/day": "day", "/bench": "bench", "/trip": "trip", "/setup": "setup", "/hatch": "bank", "/people": "people", "/pair": "pair", "/static": "files", "/shell": "files", "/sw.js": "files"}

// Request counts one.
func (f *Figures) Request(part string, status int) {
	name, ok := parts[part]
	if !ok {
		name = "other"
	}
	f.requests.WithLabelValues(name, strconv.Itoa(status)).Inc()
}

// ServeHTTP writes them all.
func (f *Figures) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	promhttp.HandlerFor(f.registry, promhttp.HandlerOpts{}).ServeHTTP(w, r)
}

// folder collects Stats, all of one moment.
type folder struct{ stats func() Stats }

func about(name, help string) *prometheus.Desc {
	return prometheus.NewDesc("dampstone_"+name, help, nil, nil)
}

var (
	people  = about("people", "People who have a ledger here.")
	devices = about("devices", "Devices that are paired.")
	open    = about("ledgers_open", "Ledgers in memory.")
	bytes   = about("ledgers_bytes", "Memory that open ledgers take, about.")
	bound   = about("ledgers_bytes_bound", "Memory that open ledgers may take.")
	added   = about("entries_added_total", "Entries stored since the start.")
	refused = about("entries_refused_total", "Entries not taken since the start, for want of room.")
)

func (folder) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{people, devices, open, bytes, bound, added, refused} {
		to <- d
	}
}

func (f folder) Collect(to chan<- prometheus.Metric) {
	s := f.stats()
	gauge := func(d *prometheus.Desc, x float64) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, x)
	}
	gauge(people, float64(s.People))
	gauge(devices, float64(s.Devices))
	gauge(open, float64(s.Open))
	gauge(bytes, float64(s.Bytes))
	gauge(bound, float64(s.Bound))
	to <- prometheus.MustNewConstMetric(added, prometheus.CounterValue, float64(s.Added))
	to <- prometheus.MustNewConstMetric(refused, prometheus.CounterValue, float64(s.Refused))
}
