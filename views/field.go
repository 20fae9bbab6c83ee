package views

// Field is one thing to fill in: what was typed stays, with what is wrong
// with it.
type Field struct {
	Name  string
	Label string
	Hint  string
	Value string // as typed
	Error string // a sentence, "" if the value is fine
	Unit  string // shown after the field
	// Suggest are values that are offered while it is typed in.
	Suggest []string
}

// Bad tells whether the field has an error.
func (f Field) Bad() bool { return f.Error != "" }

// ErrorID is the id of the element with the error sentence.
func (f Field) ErrorID() string { return f.Name + "-error" }

// Option is one of a list to choose from.
type Option struct {
	Value, Label string
	Chosen       bool
	Mark         Drawing // optional
	Colour       string  // "#rrggbb" for a colour to pick, else ""
}

// Choices is a question with options.
type Choices struct {
	Field
	Options []Option
	Many    bool // several may hold
	Found   bool // something is chosen
}

// Drawn tells whether the options have drawings, which stand in a grid.
func (c Choices) Drawn() bool {
	for _, o := range c.Options {
		if o.Mark != nil {
			return true
		}
	}
	return false
}
