// Package packfile reads hand-edited region packs: a folder with one YAML
// file a hatch, a file of sources, and defaults by group and stage that all
// regions share. Every error names the file and the line.
package packfile

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"reflect"
	"strings"

	"go.yaml.in/yaml/v3"

	"dampstone/hatchkeys"
)

// Folders beside the region folders.
const (
	defaultsFile = "defaults/*.yaml" // one file a group, keys group/stage
	sourcesFile  = "sources/*.yaml"  // keys are source ids
)

// Read reads the pack of a region from fsys, the folder that holds the region
// folders. All mistakes found are returned together.
func Read(fsys fs.FS, region string) (*hatchkeys.Pack, error) {
	sources := map[string]hatchkeys.Source{}
	if err := readSources(fsys, sources); err != nil {
		return nil, err
	}
	defaults, err := decodeAll[rawForm](fsys, defaultsFile)
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(fsys, region+"/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list pack %q: %w", region, err)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("pack %q has no hatch files", region)
	}
	p := &hatchkeys.Pack{ID: region, Sources: map[string]hatchkeys.Source{}}
	var errs []error
	for _, name := range names {
		h, used, err := readHatch(fsys, name, defaults, sources)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		p.Hatches = append(p.Hatches, *h)
		for _, id := range used {
			p.Sources[id] = sources[id]
		}
	}
	return p, errors.Join(errs...)
}

func readSources(fsys fs.FS, into map[string]hatchkeys.Source) error {
	type source struct {
		Cite     string `yaml:"cite"`
		Standing string `yaml:"standing"`
	}
	raw, err := decodeAll[source](fsys, sourcesFile)
	if err != nil {
		return err
	}
	for id, s := range raw {
		switch s.Standing {
		case "published", "open-dataset", "common-practice", "from-memory":
		default:
			return fmt.Errorf("%s: source %q: standing must be published, open-dataset, common-practice or from-memory, not %q", sourcesFile, id, s.Standing)
		}
		if s.Cite == "" {
			return fmt.Errorf("%s: source %q has no citation", sourcesFile, id)
		}
		into[id] = hatchkeys.Source{Cite: s.Cite, Standing: s.Standing}
	}
	return nil
}

// decodeAll decodes the mappings in all files that match pattern into one;
// a key may stand in one file only.
func decodeAll[T any](fsys fs.FS, pattern string) (map[string]T, error) {
	names, err := fs.Glob(fsys, pattern)
	if err != nil {
		return nil, fmt.Errorf("list %s: %w", pattern, err)
	}
	all := map[string]T{}
	for _, name := range names {
		raw, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		var one map[string]T
		if err := decode(name, raw, &one); err != nil {
			return nil, err
		}
		for k, v := range one {
			if _, dup := all[k]; dup {
				return nil, fmt.Errorf("%s: %q stands in another file too", name, k)
			}
			all[k] = v
		}
	}
	return all, nil
}

// decode decodes YAML strictly; errors carry file and line.
func decode(name string, raw []byte, v any) error {
	dec := yaml.NewDecoder(bytes.NewReader(raw))
	dec.KnownFields(true)
	if err := dec.Decode(v); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

func readHatch(fsys fs.FS, name string, defaults map[string]rawForm, sources map[string]hatchkeys.Source) (*hatchkeys.Hatch, []string, error) {
	raw, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", name, err)
	}
	return Parse(name, raw, defaults, sources)
}

// Parse reads one hatch from the text of its file.
func Parse(name string, raw []byte, defaults map[string]rawForm, sources map[string]hatchkeys.Source) (*hatchkeys.Hatch, []string, error) {
	var r rawHatch
	if err := decode(name, raw, &r); err != nil {
		return nil, nil, err
	}
	c := &checker{file: name, sources: sources, used: map[string]bool{}}
	if want := strings.TrimSuffix(path.Base(name), ".yaml"); r.ID != want {
		c.fail(1, "id is %q, the file name says %q", r.ID, want)
	}
	h := c.hatch(&r, defaults)
	if err := errors.Join(c.errs...); err != nil {
		return nil, nil, err
	}
	used := make([]string, 0, len(c.used))
	for id := range c.used {
		used = append(used, id)
	}
	return h, used, nil
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
