package views

// BenchView is what to tie next.
type BenchView struct {
	Page
	Empty    bool
	Sums     []string // in numbers, the most important first
	Notices  []string
	Last     *TyingLine // what was tied last
	Earlier  []TyingLine
	Jobs     []JobLine
	Showing  string // part of a long list
	More     string // address of the next part, "" at its end
	Problems []string
	Cautions []string
}

// JobLine is flies of one kind to tie for one thing.
type JobLine struct {
	ID, Name, Href string // Href "" for a fly yet to be made
	Drawing        Drawing
	Number         string
	For, Due, Time string
	Late           bool
	Materials      string
	Short          bool // something is missing
	Do             *TieForm
	Recipe         *RecipeView // nil if there is none
	Links          []Link
}

// TieForm says that some were tied.
type TieForm struct {
	Action, FormID string
	Fields         [][2]string
	N              Field
}

// TyingLine is something that was tied, to be taken back.
type TyingLine struct {
	What string
	Undo PostForm
}

// Link is an address with its words.
type Link struct{ Text, Href string }

// OrdersView lists the orders.
type OrdersView struct {
	Page
	Open, Done []OrderLine
}

// OrderLine is one order in the list.
type OrderLine struct {
	For, Href, What, State, Due string
	Late                        bool
	Drawing                     Drawing
}

// OrderView is one order.
type OrderView struct {
	Page
	For, Fly, FlyHref string
	Drawing           Drawing
	State             string
	Facts             []string
	Late              bool
	Note              string
	Hand              *HandForm // nil if there is nothing left to hand over
	NoneThere         string    // a sentence in place of the form
	Edit              string
	Remove            PostForm
}

// HandForm hands flies over.
type HandForm struct {
	Action, FormID string
	Problems       []string
	N              Field
}

// OrderFormView enters or changes an order.
type OrderFormView struct {
	Page
	Heading, Action, Back, FormID string
	Problems                      []string
	For, Count, Due, Note         Field
	Fly                           Choices
	NoFlies                       bool
}

// RecipeView is a recipe as it is read.
type RecipeView struct {
	Lines   []string
	Minutes string
	Steps   string
	Edit    string
	Order   string // address where an order for the fly is entered
	None    bool
}

// RecipeFormView writes a recipe.
type RecipeFormView struct {
	Page
	Name, Action, Back, FormID string
	Problems                   []string
	Notice                     string
	Minutes, Steps             Field
	Lines                      []RecipeFields
	Copy                       *Choices // flies that have a recipe
}

// RecipeFields are those of one material.
type RecipeFields struct {
	Legend                     string
	Name, Amount, Colour, Note Field
	Unit                       Choices
	Folded                     bool // more than are usual
}

// MaterialsView lists what there is to tie with.
type MaterialsView struct {
	Page
	Lines []MaterialLine
}

// MaterialLine is one material in the list.
type MaterialLine struct {
	Name, Amount, Href string
	Recount            bool // it has run below zero
}

// MaterialView is one material.
type MaterialView struct {
	Page
	Name, Amount, Note string
	Recount            bool
	Count              MaterialCount
	Edit               string
	Remove             PostForm
	UsedBy             []Link
}

// MaterialCount says what came or went of a material.
type MaterialCount struct {
	Action, FormID string
	Problems       []string
	Why            Choices
	Amount         Field
}

// MaterialFormView enters or changes a material.
type MaterialFormView struct {
	Page
	Heading, Action, Back, FormID string
	Problems                      []string
	Name, Colour, Note            Field
	Amount                        *Field // of a new one
	Unit                          Choices
}

// ShoppingView is what is missing for the queue.
type ShoppingView struct {
	Page
	Lines   []ShoppingLine
	Enough  []string
	Notices []string
	Text    string // address of the plain text
}

// ShoppingLine is a material to buy.
type ShoppingLine struct {
	Name, Buy, Why string
	Count          string // address where one begins to count it, "" where somebody does
}
