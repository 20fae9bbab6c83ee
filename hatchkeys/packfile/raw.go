package packfile

import (
	"fmt"

	"go.yaml.in/yaml/v3"

	"dampstone/hatchkeys"
)

// The raw types mirror the files as they are written by hand. They keep line
// numbers, so that a mistake can be pointed at.

type rawHatch struct {
	lines      map[string]int      // of each key
	ID         string              `yaml:"id"`
	Scientific string              `yaml:"scientific"`
	Group      hatchkeys.Group     `yaml:"group"`
	Name       map[string]string   `yaml:"name"`
	Also       map[string][]string `yaml:"also"`
	Like       string              `yaml:"like"`
	Land       string              `yaml:"land"`
	Abundance  float64             `yaml:"abundance"`
	Season     []rawSeason         `yaml:"season"`
	Waters     *weights            `yaml:"waters"`
	WaterC     *span               `yaml:"water_c"`
	Trend      *weights            `yaml:"trend"`
	Travels    bool                `yaml:"travels"`
	Forms      []rawForm           `yaml:"forms"`
}

func (r *rawHatch) UnmarshalYAML(n *yaml.Node) error {
	type plain rawHatch
	if err := strict(n, (*plain)(r)); err != nil {
		return err
	}
	r.lines = map[string]int{}
	for i := 0; i < len(n.Content); i += 2 {
		r.lines[n.Content[i].Value] = n.Content[i].Line
	}
	return nil
}

// line of a key, or the first line of the file where the key is missing.
func (r *rawHatch) line(key string) int {
	if l, ok := r.lines[key]; ok {
		return l
	}
	return 1
}

type rawSeason struct {
	line   int
	From   string   `yaml:"from"`
	To     string   `yaml:"to"`
	Weight *float64 `yaml:"weight"`
	Source string   `yaml:"source"`
}

func (s *rawSeason) UnmarshalYAML(n *yaml.Node) error {
	type plain rawSeason
	if err := strict(n, (*plain)(s)); err != nil {
		return err
	}
	s.line = n.Line
	return nil
}

type rawForm struct {
	line    int
	Stage   hatchkeys.Stage `yaml:"stage"`
	Sex     string          `yaml:"sex"`
	Share   *float64        `yaml:"share"`
	Length  *span           `yaml:"length"`
	Colour  *colours        `yaml:"colour"`
	Hours   *span           `yaml:"hours"`
	Wings   *weights        `yaml:"wings"`
	Tails   *weights        `yaml:"tails"`
	Doing   *weights        `yaml:"doing"`
	Where   *weights        `yaml:"where"`
	Shucks  *weights        `yaml:"shucks"`
	Gills   *weights        `yaml:"gills"`
	Fish    *weights        `yaml:"fish"`
	Fed     *float64        `yaml:"fed"`
	Tactics *tactics        `yaml:"tactics"`
}

func (f *rawForm) UnmarshalYAML(n *yaml.Node) error {
	type plain rawForm
	if err := strict(n, (*plain)(f)); err != nil {
		return err
	}
	f.line = n.Line
	return nil
}

type rawSource struct {
	Cite     string `yaml:"cite"`
	Standing string `yaml:"standing"`
}

func (s *rawSource) UnmarshalYAML(n *yaml.Node) error {
	type plain rawSource
	return strict(n, (*plain)(s))
}

// strict decodes n and refuses keys that v does not have. (KnownFields of the
// outer decoder does not reach into custom unmarshalers.)
func strict(n *yaml.Node, v any) error {
	known := fieldNames(v)
	if n.Kind != yaml.MappingNode {
		return fmt.Errorf("line %d: want a mapping", n.Line)
	}
	for i := 0; i < len(n.Content); i += 2 {
		if k := n.Content[i]; !known[k.Value] {
			return fmt.Errorf("line %d: unknown key %q", k.Line, k.Value)
		}
	}
	return n.Decode(v)
}

// tactics is a list of codes.
type tactics struct {
	line  int
	codes []string
}

func (t *tactics) UnmarshalYAML(n *yaml.Node) error {
	t.line = n.Line
	return n.Decode(&t.codes)
}

// weights is a mapping of trait values to weights with a source among them:
// {short: 95, flat: 5, source: museum}.
type weights struct {
	line int
	hatchkeys.Weights
}

func (w *weights) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind != yaml.MappingNode {
		return fmt.Errorf("line %d: want a mapping such as {short: 95, flat: 5, source: ID}", n.Line)
	}
	w.line = n.Line
	w.Of = map[string]float64{}
	for i := 0; i < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if k.Value == "source" {
			w.Source = v.Value
			continue
		}
		if _, dup := w.Of[k.Value]; dup {
			return fmt.Errorf("line %d: %q stands twice", k.Line, k.Value)
		}
		var x float64
		if err := v.Decode(&x); err != nil {
			return fmt.Errorf("line %d: weight of %q is not a number", v.Line, k.Value)
		}
		if !(x >= 0 && x <= 1000) {
			return fmt.Errorf("line %d: weight of %q must be from 0 to 1000", v.Line, k.Value)
		}
		w.Of[k.Value] = x
	}
	return nil
}

// span is a range with its source: {from: 18, to: 23, source: museum}. Both
// ends must be given; nil is a missing one.
type span struct {
	line   int
	From   *float64 `yaml:"from"`
	To     *float64 `yaml:"to"`
	Source string   `yaml:"source"`
}

func (s *span) UnmarshalYAML(n *yaml.Node) error {
	type plain span
	if err := strict(n, (*plain)(s)); err != nil {
		return err
	}
	s.line = n.Line
	return nil
}

type colours struct {
	line   int
	Body   []string `yaml:"body"`
	Wing   string   `yaml:"wing"`
	Dark   string   `yaml:"dark"`
	Source string   `yaml:"source"`
}

func (c *colours) UnmarshalYAML(n *yaml.Node) error {
	type plain colours
	if err := strict(n, (*plain)(c)); err != nil {
		return err
	}
	c.line = n.Line
	return nil
}
