// Package packfile reads hand-edited region packs: a folder with one YAML
// file a hatch, files of sources, and defaults by group and stage that all
// regions share. Every error names the file and the line.
package packfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"reflect"
	"strings"

	"go.yaml.in/yaml/v3"

	"dampstone/hatchkeys"
)

// Folders beside the region folders.
const (
	defaultsFiles = "defaults/*.yaml" // one file a group, keys group/stage
	sourcesFiles  = "sources/*.yaml"  // keys are source ids
)

// Read reads the pack of a region from fsys, the folder that holds the region
// folders. All mistakes found are returned together.
func Read(fsys fs.FS, region string) (*hatchkeys.Pack, error) {
	var errs []error
	sources, err := readSources(fsys)
	errs = append(errs, err)
	defaults, err := readDefaults(fsys, sources)
	errs = append(errs, err)
	names, err := fs.Glob(fsys, region+"/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list pack %q: %w", region, err)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("pack %q has no hatch files", region)
	}
	p := &hatchkeys.Pack{ID: region, Sources: map[string]hatchkeys.Source{}}
	for _, name := range names {
		h, err := readHatch(fsys, name, defaults, sources)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		p.Hatches = append(p.Hatches, *h)
		for _, id := range h.SourceIDs() {
			p.Sources[id] = sources[id]
		}
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return p, nil
}

// ReadDefaults reads what holds for forms of a group and stage, in whatever
// region, with the sources of its values.
func ReadDefaults(fsys fs.FS) (*hatchkeys.Defaults, error) {
	sources, err := readSources(fsys)
	forms, formsErr := readDefaults(fsys, sources)
	if err := errors.Join(err, formsErr); err != nil {
		return nil, err
	}
	d := &hatchkeys.Defaults{Sources: map[string]hatchkeys.Source{}, Forms: forms}
	for _, f := range forms {
		h := hatchkeys.Hatch{Forms: []hatchkeys.Form{f}}
		for _, id := range h.SourceIDs() {
			d.Sources[id] = sources[id]
		}
	}
	return d, nil
}

// readSources reads all files of sources. What is wrong with one source is
// reported once, there, so the source still counts as known.
func readSources(fsys fs.FS) (map[string]hatchkeys.Source, error) {
	sources := map[string]hatchkeys.Source{}
	var errs []error
	err := eachEntry(fsys, sourcesFiles, func(c *checker, line int, id string, s *rawSource) {
		switch s.Standing {
		case "published", "open-dataset", "common-practice", "from-memory":
		default:
			c.fail(line, "source %q: standing must be published, open-dataset, common-practice or from-memory, not %q", id, s.Standing)
		}
		if strings.TrimSpace(s.Cite) == "" {
			c.fail(line, "source %q has no citation", id)
		}
		sources[id] = hatchkeys.Source{Cite: s.Cite, Standing: s.Standing}
		errs = append(errs, c.errs...)
	})
	return sources, errors.Join(append(errs, err)...)
}

// readDefaults reads what holds for forms of a group and stage, by
// "group/stage", unless a hatch file says otherwise.
func readDefaults(fsys fs.FS, sources map[string]hatchkeys.Source) (map[string]hatchkeys.Form, error) {
	defaults := map[string]hatchkeys.Form{}
	var errs []error
	err := eachEntry(fsys, defaultsFiles, func(c *checker, line int, key string, r *rawForm) {
		c.sources = sources
		defaults[key] = c.defaults(line, key, r)
		errs = append(errs, c.errs...)
	})
	return defaults, errors.Join(append(errs, err)...)
}

// eachEntry calls do for every key (and its line) of the mappings in all files that match
// pattern; a key may stand in one file only. A file that cannot be decoded is
// skipped and is part of the error.
func eachEntry[T any](fsys fs.FS, pattern string, do func(c *checker, line int, key string, v *T)) error {
	names, err := fs.Glob(fsys, pattern)
	if err != nil {
		return fmt.Errorf("list %s: %w", pattern, err)
	}
	var errs []error
	seen := map[string]string{} // key -> file and line
	for _, name := range names {
		raw, err := fs.ReadFile(fsys, name)
		if err != nil {
			return fmt.Errorf("read %s: %w", name, err)
		}
		var file mapping
		if err := decode(name, raw, &file); err != nil {
			errs = append(errs, err)
			continue
		}
		for _, e := range file {
			at := fmt.Sprintf("%s:%d", name, e.key.Line)
			if first, dup := seen[e.key.Value]; dup {
				errs = append(errs, fmt.Errorf("%s: %q stands in %s too", at, e.key.Value, first))
				continue
			}
			seen[e.key.Value] = at
			if e.value.Kind != yaml.MappingNode {
				errs = append(errs, fmt.Errorf("%s: %q: want a mapping", at, e.key.Value))
				continue
			}
			var v T
			if err := e.value.Decode(&v); err != nil {
				errs = append(errs, fmt.Errorf("%s: %w", name, err))
				continue
			}
			do(&checker{file: name}, e.key.Line, e.key.Value, &v)
		}
	}
	return errors.Join(errs...)
}

// mapping is a YAML mapping in the order of its lines.
type mapping []struct{ key, value *yaml.Node }

func (m *mapping) UnmarshalYAML(n *yaml.Node) error {
	if n.Kind != yaml.MappingNode {
		return fmt.Errorf("line %d: want a mapping", n.Line)
	}
	for i := 0; i < len(n.Content); i += 2 {
		*m = append(*m, struct{ key, value *yaml.Node }{n.Content[i], n.Content[i+1]})
	}
	return nil
}

// decode decodes the one YAML document of a file; errors carry file and line.
func decode(name string, raw []byte, v any) error {
	dec := yaml.NewDecoder(bytes.NewReader(raw))
	if err := dec.Decode(v); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	var second yaml.Node
	switch err := dec.Decode(&second); {
	case err == nil:
		return fmt.Errorf("%s:%d: a second document begins here; one a file", name, second.Line)
	case err != io.EOF:
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

func readHatch(fsys fs.FS, name string, defaults map[string]hatchkeys.Form, sources map[string]hatchkeys.Source) (*hatchkeys.Hatch, error) {
	raw, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	var r rawHatch
	if err := decode(name, raw, &r); err != nil {
		return nil, err
	}
	c := &checker{file: name, sources: sources}
	if want := strings.TrimSuffix(path.Base(name), ".yaml"); r.ID != want {
		c.fail(r.line("id"), "id is %q, the file name says %q", r.ID, want)
	}
	h := c.hatch(&r, defaults)
	if err := errors.Join(c.errs...); err != nil {
		return nil, err
	}
	return h, nil
}

// fieldNames are the yaml keys of the struct that v points to.
func fieldNames(v any) map[string]bool {
	names := map[string]bool{}
	t := reflect.TypeOf(v).Elem()
	for i := range t.NumField() {
		if tag := t.Field(i).Tag.Get("yaml"); tag != "" {
			names[tag] = true
		}
	}
	return names
}
