package bank

import (
	"fmt"
	"math"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/feeding"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// KeyResult is what the key says about one line of evidence.
type KeyResult struct {
	Hatches []KeyHatch `json:"hatches"` // the likeliest first
	Unknown float64    `json:"unknown"` // probability of something this key does not hold
	Feeding KeyFeeding `json:"feeding"`
	// Next is the key of the answer that would most change which fly to tie
	// on, or settle the name; "" if none would.
	Next string `json:"next"`
	// NextFor is "fly", or "name" where no answer would change the fly and the
	// name is not settled.
	NextFor string `json:"next_for,omitempty"`
	// NextText says the same as a sentence.
	NextText string   `json:"next_text,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
	// Flies are those of the line, best first over the whole reading; absent
	// where the line has none.
	Flies []KeyFly `json:"flies,omitempty"`
}

// KeyHatch is one hatch.
type KeyHatch struct {
	ID          string      `json:"id"`
	Name        string      `json:"name"`
	Scientific  string      `json:"scientific"`
	Form        string      `json:"form"`
	Probability float64     `json:"probability"`
	Why         []KeyReason `json:"why"`
	// Flies are those of the line for this hatch alone.
	Flies []KeyFly `json:"flies,omitempty"`
}

// KeyReason is what one answer says about the hatch.
type KeyReason struct {
	Answer   string  `json:"answer"`
	Decibans float64 `json:"decibans"`
	Text     string  `json:"text"`
}

// KeyFeeding says whether fish feed on what is about.
type KeyFeeding struct {
	On bool `json:"on"` // the verdict is yes
	// Verdict is "yes", "maybe", "no" for not yet, or "not-known" where too
	// little was seen; then Look is the key of what to look at.
	Verdict     string  `json:"verdict"`
	Look        string  `json:"look,omitempty"`
	Probability float64 `json:"probability"`
	Code        string  `json:"code"` // of the reason
	// Answered tells that the reason was seen; otherwise it is what would be
	// expected.
	Answered bool   `json:"answered"`
	Reason   string `json:"reason"`
}

// KeyLines answers lines of evidence. It has no flies of its own: what to look
// at next is judged by a fly tied for each hatch.
type KeyLines struct{ fits caches.FitCache }

// reasonsFrom: hatches less likely than this come without reasons.
const reasonsFrom = 0.005

// Answer answers one JSON object of evidence in a language of the catalogue.
func (k *KeyLines) Answer(line []byte, lang string) (*KeyResult, error) {
	region, e, rest, err := hatchkeys.ParseJSONWith(line, "flies")
	if err != nil {
		return nil, err
	}
	key, err := hatchkeys.ForRegion(region)
	if err != nil {
		return nil, fmt.Errorf("%w; use one of %v", err, hatchkeys.Regions())
	}
	page := views.Page{T: catalog.For(lang), U: measure.Units{Comma: lang == "es"}}
	flies, err := lineFlies(page, rest["flies"])
	if err != nil {
		return nil, err
	}
	r := key.Read(e)
	out := &KeyResult{Hatches: make([]KeyHatch, 0, len(r.Ranked)), Unknown: words.Round(r.Unknown), Cautions: cautions(page, &screen.EvidenceForm{Evidence: e})}
	for i := range r.Ranked {
		h := &r.Ranked[i]
		kh := KeyHatch{
			ID: h.Hatch.ID, Name: h.Hatch.Name(lang), Scientific: h.Hatch.Scientific, Form: h.Form.ID,
			Probability: words.Round(h.Probability), Why: []KeyReason{},
		}
		if h.Probability >= reasonsFrom {
			for _, reason := range r.Why(h) {
				w := whyLine(page, r, h, reason)
				kh.Why = append(kh.Why, KeyReason{Answer: reason.Question.String(), Decibans: math.Round(reason.Decibans*100) / 100, Text: w.Answer + " – " + w.Word})
			}
		}
		if len(flies) > 0 {
			over := caches.Part(key, r, h)
			kh.Flies = keyFlies(page, flies, &over)
		}
		out.Hatches = append(out.Hatches, kh)
	}
	if len(flies) > 0 {
		over := caches.Whole(key, r)
		out.Flies = keyFlies(page, flies, &over)
	}
	f := feeding.Judge(r)
	out.Feeding = KeyFeeding{On: f.On(), Verdict: string(f.Verdict), Probability: words.Round(f.Probability), Code: string(f.Reason), Answered: f.Seen, Reason: fedText(page.T, f)}
	if f.Verdict == feeding.NotKnown {
		out.Feeding.Look = f.Look.String()
	}
	if look, name, ok := nextLook(r, k.fits.None(key)); ok {
		out.Next, out.NextFor = look.Question.String(), "fly"
		if name {
			out.NextFor = "name"
		}
		out.NextText = page.T.S("next." + out.Next)
	}
	return out, nil
}
