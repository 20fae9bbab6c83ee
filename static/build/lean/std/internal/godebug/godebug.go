// Package godebug answers as where no setting is given: the engine has no
// environment to give one in, and counts for nobody how often one mattered.
package godebug

// Setting is a setting of GODEBUG.
type Setting struct{ name string }

// New is the setting of a name.
func New(name string) *Setting { return &Setting{name} }

// Name is its name.
func (s *Setting) Name() string { return s.name }

// Undocumented tells that the name begins with a mark that is not part of it.
func (s *Setting) Undocumented() bool { return s.name != "" && s.name[0] == '#' }

// String is the setting as it would be given.
func (s *Setting) String() string { return s.name + "=" }

// Value is empty.
func (s *Setting) Value() string { return "" }

// IncNonDefault counts nothing.
func (s *Setting) IncNonDefault() {}
