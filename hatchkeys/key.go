package hatchkeys

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"dampstone/hatchkeys/colour"
)

// ErrUnknownRegion says that no pack has the region's id.
var ErrUnknownRegion = errors.New("unknown region")

// unknownShare is the weight of "something this key does not hold", relative
// to all that a pack has about on an average day. Assumed.
const unknownShare = 0.05

// Key answers evidence from one pack. It is safe for concurrent use.
type Key struct {
	Pack    *Pack
	hatches []hatchTable
	forms   []formTable
	unknown formTable // the background candidate
	// unknownPrior is on the scale of abundance times presence.
	unknownPrior float64
	palette      []colour.Lab // distinct body colours of the pack
	paletteWeigh []float64    // how common each palette colour is
	kernelMu     sync.Mutex
	kernels      map[colour.Lab]kernel
	swatchOnce   sync.Once
	swatches     [][]float64 // P(swatch | form)
}

type hatchTable struct {
	day      [yearDays]float64
	month    [12]float64
	year     float64
	water    [maxValues]float64 // observed weights
	anyWater float64
	first, n int // forms
}

type formTable struct {
	hatch  int     // index of the hatch
	share  float64 // of the hatch; forms of a hatch sum to 1
	traits [traitCount][maxValues]float64
	lnMean float64 // of the length in mm
	lnSD   float64 // of insects and observer together
	hours  [48]float64
	body   []int // palette indexes
}

// NewKey prepares the tables of a pack, whose forms it completes with Looks. A pack that Read of packfile accepted
// gives no error.
func NewKey(p *Pack) (*Key, error) {
	k := &Key{Pack: p}
	var commonness float64
	mix := [traitCount][maxValues]float64{}
	index := map[string]int{}
	for hi := range p.Hatches {
		h := &p.Hatches[hi]
		t, err := hatchTables(h)
		if err != nil {
			return nil, fmt.Errorf("hatch %q: %w", h.ID, err)
		}
		t.first, t.n = len(k.forms), len(h.Forms)
		var shares float64
		for i := range h.Forms {
			shares += h.Forms[i].Share
		}
		for i := range h.Forms {
			f := &h.Forms[i]
			if f.Looks == nil {
				f.Looks = looks(h, f)
			}
			ft, err := k.formTables(h, f, index)
			if err != nil {
				return nil, fmt.Errorf("hatch %q, form %q: %w", h.ID, f.ID, err)
			}
			ft.hatch, ft.share = hi, f.Share/shares
			weight := h.Abundance * t.year * ft.share
			for tr := range traitCount {
				for v := range mix[tr] {
					mix[tr][v] += weight * ft.traits[tr][v]
				}
			}
			for _, c := range ft.body {
				k.paletteWeigh[c] += weight / float64(len(ft.body))
			}
			k.forms = append(k.forms, ft)
		}
		commonness += h.Abundance * t.year * t.anyWater
		k.hatches = append(k.hatches, t)
	}
	k.unknownPrior = unknownShare * commonness
	k.finishUnknown(mix)
	k.finishColours()
	return k, nil
}

func hatchTables(h *Hatch) (hatchTable, error) {
	var t hatchTable
	var err error
	if t.day, err = presence(h.Season); err != nil {
		return t, err
	}
	for m := range t.month {
		t.month[m] = mean(t.day[monthDays[m]:monthDays[m+1]])
	}
	t.year = mean(t.day[:])
	for i, v := range Water.Values() {
		t.water[i] = max(h.Waters.Of[v], waterFloor)
		t.anyWater += waterBase[i] * t.water[i]
	}
	return t, nil
}

func (k *Key) formTables(h *Hatch, f *Form, index map[string]int) (formTable, error) {
	var t formTable
	for _, tr := range Traits {
		var truth [maxValues]float64
		var sum float64
		switch w := f.Weights(tr); {
		case tr == Trend:
			for i, v := range tr.Values() {
				m := 1.0
				if h.Trend != nil {
					if x, ok := h.Trend.Of[v]; ok {
						m = x
					}
				}
				truth[i] = trendBase[i] * m
				sum += truth[i]
			}
		case w != nil:
			for i, v := range tr.Values() {
				truth[i] = w.Of[v]
				sum += truth[i]
			}
		}
		if sum == 0 {
			continue // says nothing: filled in by finishUnknown
		}
		for i := range truth {
			truth[i] /= sum
		}
		t.traits[tr] = observe(tr, truth)
	}
	if !(f.Length.From > 0 && f.Length.To >= f.Length.From) {
		return t, fmt.Errorf("length %g to %g", f.Length.From, f.Length.To)
	}
	// The range holds about 95 % of insects: four standard deviations wide.
	t.lnMean = (math.Log(f.Length.From) + math.Log(f.Length.To)) / 2
	t.lnSD = math.Hypot(math.Log(f.Length.To/f.Length.From)/4, LengthError)
	t.hours = hourTable(f.Hours)
	for _, hex := range f.Colour.Body {
		i, ok := index[hex]
		if !ok {
			c, ok := colour.Parse(hex)
			if !ok {
				return t, fmt.Errorf("colour %q: want one such as #a98545", hex)
			}
			i = len(k.palette)
			index[hex] = i
			k.palette = append(k.palette, c)
			k.paletteWeigh = append(k.paletteWeigh, 0)
		}
		t.body = append(t.body, i)
	}
	return t, nil
}

// hourTable is the density of a form over the half hours of the day, relative
// to one that is about at any hour. Edges fade over one hour.
func hourTable(r *Range) (out [48]float64) {
	if r == nil {
		for i := range out {
			out[i] = 1
		}
		return out
	}
	wrap := func(x float64) float64 { return math.Mod(x+48, 24) }
	width := wrap(r.To - r.From)
	if width == 0 {
		width = 24
	}
	var sum float64
	for i := range out {
		h := (float64(i) + 0.5) / 2
		var outside float64
		if in := wrap(h - r.From); in > width {
			outside = min(wrap(r.From-h), wrap(h-r.To))
		}
		out[i] = math.Exp(-outside * outside / 2)
		sum += out[i]
	}
	for i := range out {
		out[i] = (1-hourSlip)*out[i]*48/sum + hourSlip
	}
	return out
}

// finishUnknown gives the background candidate half of the pack's own mix of
// answers and half of no preference, and lets forms that say nothing of a
// trait answer as the mix does.
func (k *Key) finishUnknown(mix [traitCount][maxValues]float64) {
	for tr := range traitCount {
		var sum float64
		n := len(tr.Values())
		for _, v := range mix[tr] {
			sum += v
		}
		for i := range n {
			even := 1 / float64(n)
			if sum == 0 {
				k.unknown.traits[tr][i] = even
				continue
			}
			k.unknown.traits[tr][i] = (mix[tr][i]/sum + even) / 2
		}
		if tr == Trend { // the river does not know what is in no key
			k.unknown.traits[tr] = observe(tr, trendBase)
		}
		for f := range k.forms {
			var given float64
			for _, v := range k.forms[f].traits[tr] {
				given += v
			}
			if given == 0 {
				k.forms[f].traits[tr] = k.unknown.traits[tr]
			}
		}
	}
}

// finishColours prepares how much likelier a colour is under a form than
// under the pack as a whole.
func (k *Key) finishColours() {
	var sum float64
	for _, w := range k.paletteWeigh {
		sum += w
	}
	for i := range k.paletteWeigh {
		k.paletteWeigh[i] /= sum
	}
}

// kernel is how near a colour is to each palette colour: exp(-d^2/2) of the
// CIEDE2000 difference in units of ColourError. mean is over the pack.
type kernel struct {
	near []float64
	mean float64
}

// maxKernels bounds the colours that are remembered. Answers come from a few
// swatches, and a formula with seven roots and powers is worth keeping.
const maxKernels = 256

// colourKernel is the kernel of c, remembered.
func (k *Key) colourKernel(c colour.Lab) kernel {
	k.kernelMu.Lock()
	defer k.kernelMu.Unlock()
	if got, ok := k.kernels[c]; ok {
		return got
	}
	out := kernel{near: make([]float64, len(k.palette))}
	for i, p := range k.palette {
		d := colour.DeltaE(c, p) / ColourError
		out.near[i] = math.Exp(-d * d / 2)
		out.mean += k.paletteWeigh[i] * out.near[i]
	}
	if k.kernels == nil || len(k.kernels) >= maxKernels {
		k.kernels = map[colour.Lab]kernel{}
	}
	k.kernels[c] = out
	return out
}

// leastMean keeps a colour that no insect of the pack has from speaking for
// any of them.
const leastMean = 0.02

// colourLikelihood of a form relative to the background.
func (t *formTable) colourLikelihood(c kernel) float64 {
	if len(t.body) == 0 {
		return 1
	}
	// The first colour is the commonest: weights 1, 1/2, 1/3 ...
	var sum, weights float64
	for i, p := range t.body {
		w := 1 / float64(i+1)
		sum += w * c.near[p]
		weights += w
	}
	return (1-colourSlip)*(sum/weights)/max(c.mean, leastMean) + colourSlip
}
