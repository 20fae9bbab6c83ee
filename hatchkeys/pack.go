package hatchkeys

import (
	"embed"
	"errors"
	"fmt"
	"slices"
	"sync"

	"dampstone/hatchkeys/compact"
)

// Pack is what is known about the hatches of one region.
type Pack struct {
	ID      string            `json:"id"`
	Sources map[string]Source `json:"sources"`
	Hatches []Hatch           `json:"hatches"`
}

// Source says where values of a pack come from.
type Source struct {
	Cite string `json:"cite"`
	// Standing is "published", "open-dataset", "common-practice" or
	// "from-memory". Only the first two were read when the value was entered.
	// Values of a hatch that a reader added are of "own-observation".
	Standing string `json:"standing"`
}

// Sourced is the id of the Source of the value that embeds it.
type Sourced struct {
	Source string `json:"source,omitempty"`
}

// Hatch is one taxon, or a group of taxa that anglers treat as one.
type Hatch struct {
	ID         string            `json:"id"`
	Scientific string            `json:"scientific"`
	Group      Group             `json:"group"`
	Names      map[string]string `json:"name"` // by language tag
	// Also are other names that anglers use, by language tag.
	Also map[string][]string `json:"also,omitempty"`
	// Like is what a land insect or other insect looks like: one of Likes, or
	// empty where the group says enough.
	Like string `json:"like,omitempty"`
	// Land is the one of Lands where it occurs, empty for all of the region.
	Land string `json:"land,omitempty"`
	// Abundance is how often an angler of the region meets the hatch at its
	// height, relative to 1 for a common one. Common practice, no source.
	Abundance float64  `json:"abundance"`
	Season    []Season `json:"season"`
	// Waters weighs each kind of water relative to the best one (0..1).
	Waters Weights `json:"waters"`
	// WaterC is the range of water temperature in which the hatch is usual.
	WaterC *Range `json:"water_c,omitempty"`
	// Trend multiplies the base rate of each water level trend while the
	// hatch is on: 1 is no effect.
	Trend *Weights `json:"trend,omitempty"`
	// Travels is set when winged adults are commonly met far from where they
	// hatched.
	Travels bool   `json:"travels,omitempty"`
	Forms   []Form `json:"forms"`
	// Local is set on a hatch that a reader added to the pack.
	Local bool `json:"-"`
}

// Likes are the looks that Hatch.Like may name.
var Likes = []string{"hopper", "ant", "beetle", "cicada", "caterpillar", "bug", "fly", "dobsonfly", "blackfly", "moth", "boatman", "scud", "crayfish"}

// Season is one spell of the year. Month-day strings such as "07-20";
// a spell may run over the new year.
type Season struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Weight float64 `json:"weight"` // relative to the main spell (0..1)
	Sourced
}

// Range is an inclusive range.
type Range struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	Sourced
}

// Weights are relative weights of trait values, by code. They need not sum
// to 1.
type Weights struct {
	Of map[string]float64 `json:"of"`
	Sourced
}

// Likeliest value of a trait, "" where nothing is said.
func (w *Weights) Likeliest(t Trait) string {
	if w == nil {
		return ""
	}
	best, top := "", 0.0
	for _, v := range t.Values() { // in a fixed order
		if w.Of[v] > top {
			best, top = v, w.Of[v]
		}
	}
	return best
}

// Colours are sRGB hex colours, the commonest first.
type Colours struct {
	Body []string `json:"body"`
	Wing string   `json:"wing,omitempty"`
	Dark string   `json:"dark,omitempty"` // markings, legs, head
	Sourced
}

// Form is a stage (and sex) of a hatch as an angler meets it.
type Form struct {
	ID    string `json:"id"` // stage, or stage and sex: "adult-male"
	Stage Stage  `json:"stage"`
	Sex   string `json:"sex,omitempty"` // "", "male", "female"
	// Share is how much of what an angler sees of this hatch is this form.
	Share float64 `json:"share"`
	// Length of the body in mm without tails; the range holds about 95 % of
	// insects.
	Length Range   `json:"length"`
	Colour Colours `json:"colour"`
	// Hours of the day (local clock, 0 to 24) in which the form is about; may
	// run over midnight. Nil: any hour.
	Hours  *Range   `json:"hours,omitempty"`
	Wings  *Weights `json:"wings,omitempty"`
	Tails  *Weights `json:"tails,omitempty"`
	Doing  *Weights `json:"doing,omitempty"`
	Where  *Weights `json:"where,omitempty"`
	Shucks *Weights `json:"shucks,omitempty"`
	Gills  *Weights `json:"gills,omitempty"`
	Fish   *Weights `json:"fish,omitempty"`
	// Looks is what it is taken for at a glance. It follows from the group and
	// stage, see NewKey.
	Looks *Weights `json:"looks,omitempty"`
	// Fed is the chance that fish feed on this form when it is about in
	// numbers and nothing else is known.
	Fed float64 `json:"fed"`
	// Tactics are codes of short how-to-fish sentences, in order.
	Tactics []string `json:"tactics,omitempty"`
}

// Weights of trait t in form f, or nil where the form says nothing.
func (f *Form) Weights(t Trait) *Weights {
	switch t {
	case Wings:
		return f.Wings
	case Tails:
		return f.Tails
	case Doing:
		return f.Doing
	case Where:
		return f.Where
	case Shucks:
		return f.Shucks
	case Gills:
		return f.Gills
	case Fish:
		return f.Fish
	case Looks:
		return f.Looks
	}
	return nil
}

// Name of the hatch in a language, falling back to English.
func (h *Hatch) Name(lang string) string {
	if n := h.Names[lang]; n != "" {
		return n
	}
	return h.Names["en"]
}

// Form finds a form of the hatch by id, or nil.
func (h *Hatch) Form(id string) *Form {
	if i := slices.IndexFunc(h.Forms, func(f Form) bool { return f.ID == id }); i >= 0 {
		return &h.Forms[i]
	}
	return nil
}

// packFiles are what build compiled of the packs, see readBuilt.
//
//go:embed all:packs/built
var packFiles embed.FS

// errNotBuilt is for sources of which nothing was compiled yet.
var errNotBuilt = errors.New("run go generate ./hatchkeys")

// readBuilt reads a compiled pack, or the defaults, into what v points to.
func readBuilt(id string, v any) error {
	raw, err := packFiles.ReadFile(builtFile(id))
	if err != nil {
		return fmt.Errorf("read pack %q: %w; %w", id, err, errNotBuilt)
	}
	if err := compact.Unmarshal(raw, v); err != nil {
		return fmt.Errorf("read pack %q: %w; %w", id, err, errNotBuilt)
	}
	return nil
}

func builtFile(id string) string { return "packs/built/" + id + ".pack" }

// Regions lists the ids of the regions that are built in, in the order in which
// they are offered. The last, "south", is New Zealand and Patagonia together,
// which share no water: it is for what was written before they were parted.
func Regions() []string { return slices.Clone(regions()) }

// regions are those that have a compiled pack.
var regions = sync.OnceValue(func() (built []string) {
	for _, id := range []string{"west-na", "east-na", "europe", "new-zealand", "patagonia", south} {
		if _, err := packFiles.Open(builtFile(packOf(id))); err == nil {
			built = append(built, id)
		}
	}
	return built
})

// Offered lists the regions to choose from where one is chosen already: what
// takes two lands for one is for those who have it.
func Offered(chosen string) []string {
	return slices.DeleteFunc(Regions(), func(id string) bool { return id == south && id != chosen })
}

// PackFolders lists the region folders under packs.
var PackFolders = []string{"west-na", "east-na", "europe", south}

// south is the pack that holds two lands, and the region of both together.
const south = "south"

// Lands are the regions that are a part of it, see Hatch.Land.
var Lands = []string{"new-zealand", "patagonia"}

// packOf is the pack that holds a region.
func packOf(region string) string {
	if slices.Contains(Lands, region) {
		return south
	}
	return region
}

// Within tells whether what holds in a region holds in part of it.
func Within(part, region string) bool { return part == region || packOf(part) == region }

var loaded sync.Map // region id -> func() (*Key, error)

// ForRegion returns the key of a built-in region. It is made on first use
// and shared. An unknown region gives ErrUnknownRegion.
func ForRegion(id string) (*Key, error) {
	if !slices.Contains(regions(), id) {
		return nil, fmt.Errorf("%w: %q", ErrUnknownRegion, id)
	}
	once, _ := loaded.LoadOrStore(id, sync.OnceValues(func() (*Key, error) { return loadRegion(id) }))
	return once.(func() (*Key, error))()
}

func loadRegion(id string) (*Key, error) {
	var p Pack
	if err := readBuilt(packOf(id), &p); err != nil {
		return nil, err
	}
	if p.ID != id {
		p.ID = id
		p.Hatches = slices.DeleteFunc(p.Hatches, func(h Hatch) bool { return h.Land != "" && h.Land != id })
	}
	return NewKey(&p)
}

// SourceIDs lists the ids of the sources behind a hatch, each once, in the
// order of the hatch's parts.
func (h *Hatch) SourceIDs() []string {
	var ids []string
	add := func(id string) {
		if id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	for _, s := range h.Season {
		add(s.Source)
	}
	add(h.Waters.Source)
	if h.WaterC != nil {
		add(h.WaterC.Source)
	}
	if h.Trend != nil {
		add(h.Trend.Source)
	}
	for i := range h.Forms {
		f := &h.Forms[i]
		add(f.Length.Source)
		add(f.Colour.Source)
		if f.Hours != nil {
			add(f.Hours.Source)
		}
		for _, t := range Traits {
			if w := f.Weights(t); w != nil {
				add(w.Source)
			}
		}
	}
	return ids
}
