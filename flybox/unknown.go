package flybox

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"

	"dampstone/flybox/journal"
)

// unknownFields are the fields of the last thing said that this version does
// not know, for what is said next: a thing that a newer version has described
// is not robbed of it by an older one that changes its name. Only fields of
// the body itself are carried on, not those within its lists. They are JSON
// without braces, in the order of their names.
func (l *Ledger) unknownFields(ctx context.Context, last journal.ID, body Body) ([]byte, error) {
	e, ok, err := l.store.Get(ctx, last)
	if err != nil || !ok || e.Kind != body.Kind() || body.Kind() == KindDeleted {
		return nil, err
	}
	var all map[string]json.RawMessage
	if err := json.Unmarshal(e.RawBody(), &all); err != nil {
		return nil, nil // damaged: there is nothing to carry on
	}
	for _, name := range fieldNames(reflect.TypeOf(body)) {
		// Names are matched without regard to case, as reading does.
		maps.DeleteFunc(all, func(k string, _ json.RawMessage) bool { return strings.EqualFold(k, name) })
	}
	var out bytes.Buffer
	for _, name := range slices.Sorted(maps.Keys(all)) {
		key, err := journal.Marshal(name)
		if err != nil {
			return nil, err
		}
		if out.Len() > 0 {
			out.WriteByte(',')
		}
		out.Write(key)
		out.WriteByte(':')
		out.Write(all[name])
	}
	return out.Bytes(), nil
}

// fieldNames are the names that the fields of a body have in JSON.
func fieldNames(t reflect.Type) (names []string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "":
			names = append(names, fieldNames(f.Type)...)
		case name == "":
			names = append(names, f.Name)
		case name != "-":
			names = append(names, name)
		}
	}
	return names
}
