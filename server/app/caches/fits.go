package caches

import (
	"sync"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
	"dampstone/hatchkeys"
)

// BoxFlies are the flies of a ledger against the forms of a key. It is safe
// for concurrent use.
type BoxFlies struct {
	Key      *hatchkeys.Key
	state    *flybox.State // of the ledger, when made; nil where none was looked at
	Compiled []match.CompiledFly
	Quarries []match.CompiledQuarry
	// results are what fish did to the flies, ancestors the revisions that
	// each was made from.
	Results   results.Table
	Ancestors map[journal.ID][]journal.ID
	// choice is what an angler can tie on: the flies that are left, or where
	// there are none, a fly made for each insect.
	Choice func() hatchkeys.FlyChoice
}

func newBoxFlies(key *hatchkeys.Key, s *flybox.State, flies []match.CompiledFly, quarries []match.CompiledQuarry) *BoxFlies {
	b := &BoxFlies{Key: key, state: s, Compiled: flies, Quarries: quarries}
	b.Choice = sync.OnceValue(func() hatchkeys.FlyChoice {
		var left []match.CompiledFly
		for i := range flies {
			if flies[i].Fly.Left > 0 {
				left = append(left, flies[i])
			}
		}
		if len(left) == 0 {
			left = b.generic()
		}
		return match.NewTable(left, quarries)
	})
	return b
}

// FitCache keeps the boxFlies of the newest state of the ledger, by region.
type FitCache struct {
	mu       sync.Mutex
	byRegion map[string]*BoxFlies
}

// flies are the ledger's flies against the forms of a key.
func (c *FitCache) flies(s *flybox.State, key *hatchkeys.Key) *BoxFlies {
	c.mu.Lock()
	defer c.mu.Unlock()
	b := c.of(key)
	if b.state == s {
		return b
	}
	b = newBoxFlies(key, s, match.CompileFlies(s), b.Quarries)
	b.Results = results.Tally(s, results.Filter{})
	b.Ancestors = ancestorsOf(s, b.Compiled, b.Results)
	c.byRegion[key.Pack.ID] = b
	return b
}

// None are no flies against the forms of a key.
func (c *FitCache) None(key *hatchkeys.Key) *BoxFlies {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.of(key)
}

func (c *FitCache) of(key *hatchkeys.Key) *BoxFlies {
	if b := c.byRegion[key.Pack.ID]; b != nil && b.Key == key {
		return b
	}
	b := newBoxFlies(key, nil, nil, match.CompileForms(key))
	if c.byRegion == nil {
		c.byRegion = map[string]*BoxFlies{}
	}
	c.byRegion[key.Pack.ID] = b
	return b
}

// Len is how many flies there are.
func (b *BoxFlies) Len() int { return len(b.Compiled) }

// generic is a fly tied for one form of each hatch.
func (b *BoxFlies) generic() []match.CompiledFly {
	var out []match.CompiledFly
	for i := range b.Quarries {
		if h, f := b.Key.FormAt(i); f == MostFished(h) {
			if tying, ok := match.SuggestTying(&b.Quarries[i]); ok {
				out = append(out, match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: tying.Pattern()}, Left: 1}))
			}
		}
	}
	return out
}

// FormIndex is the place of a form among all forms of the key, or -1.
func (b *BoxFlies) FormIndex(h *hatchkeys.Hatch, f *hatchkeys.Form) int {
	for i := range b.Quarries {
		if hh, ff := b.Key.FormAt(i); hh == h && ff == f {
			return i
		}
	}
	return -1
}

// MostFished is the form that fish most feed on, weighed by how much of it
// there is.
func MostFished(h *hatchkeys.Hatch) *hatchkeys.Form {
	best := &h.Forms[0]
	for i := range h.Forms {
		if f := &h.Forms[i]; f.Share*f.Fed > best.Share*best.Fed {
			best = f
		}
	}
	return best
}
