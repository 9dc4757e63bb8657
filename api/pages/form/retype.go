package form

import (
	"fmt"
	"net/url"
	"reflect"
	"slices"
	"strings"
	"time"
)

// Keep puts back what a form shows rounded and nobody changed, and what was typed
// for it.
func (m Maker) Keep(was, value map[string]any) {
	for name, old := range was {
		if now, ok := value[name]; ok && !slices.Contains(besides, name) {
			value[name] = m.kept(name, old, now)
		}
	}
	typed, _ := was["as_entered"].(map[string]any)
	left := map[string]any{}
	for name, entered := range typed {
		if now, ok := value[name]; ok && reflect.DeepEqual(now, was[name]) {
			left[name] = entered
		}
	}
	if len(left) > 0 {
		value["as_entered"] = left
	}
}

// kept is what a field was where the form shows the same for what it is now.
func (m Maker) kept(name string, was, now any) any {
	switch was := was.(type) {
	case float64:
		if n, ok := now.(float64); ok && m.numberText(name, was) == m.numberText(name, n) {
			return was
		}
	case string:
		then, err := time.Parse(time.RFC3339Nano, was)
		if again, bad := time.Parse(time.RFC3339Nano, plainText(now)); err == nil && bad == nil && then.Equal(again) {
			return was
		}
	case map[string]any:
		if object, ok := now.(map[string]any); ok {
			for inner, old := range was {
				if v, ok := object[inner]; ok {
					object[inner] = m.kept(inner, old, v)
				}
			}
		}
	case []any:
		if list, ok := now.([]any); ok && len(list) == len(was) {
			for i := range list {
				list[i] = m.kept(name, was[i], list[i])
			}
		}
	}
	return now
}

// Retype puts back what could not be read, so that it can be mended.
func (m Maker) Retype(fields []*Field, typed url.Values) {
	for _, f := range fields {
		if f.Error != "" && typed.Has(f.Name) && f.Control != "choice" {
			f.Value = typed.Get(f.Name)
		}
		m.Retype(f.Fields, typed)
	}
}

// AddLine puts an empty line under a list's.
func (m Maker) AddLine(fields []*Field, pointer string) {
	for _, f := range fields {
		if f.Name == pointer && f.Control == "list" {
			name := pointer[strings.LastIndexByte(pointer, '/')+1:]
			line := m.field(name, merged(f.schema.Items.Value), nil, fmt.Sprintf("%s/%d", pointer, len(f.Fields)))
			line.Label, line.Hint = m.Say("%s, line %s", f.Label, len(f.Fields)+1), ""
			f.Fields = append(f.Fields, line)
		}
		m.AddLine(f.Fields, pointer)
	}
}
