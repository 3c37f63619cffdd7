package document

import (
	"fmt"
	"reflect"
	"strings"
)

// Dialect is the dialect of the schemas that Schema returns.
const Dialect = "https://json-schema.org/draft/2020-12/schema"

// Schema returns the JSON Schema (2020-12) that accepts what Decode accepts
// into a value of v's type. It is the same for the same type, and so are its
// bytes once marshalled by encoding/json.
//
// A schema sees values and not how they are written, so Decode refuses more:
// unquoted texts that need quotes, an integer written as 1.0 or 1e3, and
// numbers beyond the machine's range.
func Schema(v any) map[string]any {
	t := reflect.TypeOf(v)
	if t == nil {
		panic("document: Schema of nil")
	}
	for t.Kind() == reflect.Pointer && t != nodeType {
		t = t.Elem()
	}
	b := &builder{defs: map[string]any{}, names: map[reflect.Type]string{}, used: map[string]int{}}
	out := b.value(t, limits{})
	if ref, ok := out["$ref"].(string); ok {
		// The root stands inside its own schema unless it is its own part.
		name := strings.TrimPrefix(ref, "#/$defs/")
		if b.used[name] == 1 {
			out = b.defs[name].(map[string]any)
			delete(b.defs, name)
		}
	}
	out["$schema"] = Dialect
	if len(b.defs) > 0 {
		out["$defs"] = b.defs
	}
	return out
}

// A builder collects the schemas of named types under $defs.
type builder struct {
	defs  map[string]any
	names map[reflect.Type]string
	used  map[string]int
}

// value is the schema of a type within limits.
func (b *builder) value(t reflect.Type, l limits) map[string]any {
	if t == nodeType {
		return map[string]any{}
	}
	if t.Kind() == reflect.Pointer {
		return b.value(t.Elem(), l)
	}
	fresh := reflect.New(t).Interface()
	if g, ok := fresh.(interface {
		schema(*builder, limits) map[string]any
	}); ok {
		return g.schema(b, l)
	}
	if d, ok := fresh.(Describer); ok {
		return b.described(t, d, l)
	}
	if _, ok := fresh.(Unmarshaler); ok {
		panic(fmt.Sprintf("document: %v decodes itself but does not describe itself", t))
	}
	switch t.Kind() {
	case reflect.String:
		return withEnum(map[string]any{"type": "string"}, l)
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int:
		return withRange(map[string]any{"type": "integer"}, l)
	case reflect.Float64:
		return withRange(map[string]any{"type": "number"}, l)
	case reflect.Struct:
		return b.reference(t)
	case reflect.Slice:
		return map[string]any{"type": "array", "items": b.value(t.Elem(), l)}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": b.value(t.Elem(), l)}
	}
	panic(fmt.Sprintf("document: no schema for %v", t))
}

// described is the schema that a type gives of itself. Definitions that it
// brings along are moved up.
func (b *builder) described(t reflect.Type, d Describer, l limits) map[string]any {
	own := d.DocumentSchema()
	out := make(map[string]any, len(own))
	for key, part := range own {
		out[key] = part
	}
	delete(out, "$schema")
	b.hoist(t, out)
	for key, part := range out {
		out[key] = b.inner(t, part)
	}
	if out["type"] == "string" {
		withEnum(out, l)
	}
	return out
}

// inner moves up the definitions of the schemas inside a described one.
func (b *builder) inner(t reflect.Type, part any) any {
	switch part := part.(type) {
	case map[string]any:
		out := make(map[string]any, len(part))
		for key, p := range part {
			out[key] = p
		}
		if out["$schema"] == Dialect {
			delete(out, "$schema")
		}
		b.hoist(t, out)
		for key, p := range out {
			out[key] = b.inner(t, p)
		}
		return out
	case []any:
		out := make([]any, len(part))
		for i, p := range part {
			out[i] = b.inner(t, p)
		}
		return out
	}
	return part
}

func (b *builder) hoist(t reflect.Type, out map[string]any) {
	defs, ok := out["$defs"].(map[string]any)
	if !ok {
		return
	}
	delete(out, "$defs")
	for name, def := range defs {
		if old, there := b.defs[name]; there && !reflect.DeepEqual(old, def) && old != nil {
			panic(fmt.Sprintf("document: the schema of %v has a second definition of %s", t, name))
		}
		b.defs[name] = def
		b.used[name] += 2
	}
}

// reference is the schema of a struct: a definition of its own where it has a
// name.
func (b *builder) reference(t reflect.Type) map[string]any {
	if t.Name() == "" {
		return b.object(t)
	}
	name, known := b.names[t]
	if !known {
		name = strings.NewReplacer("[", "_", "]", "", "*", "", "/", "_", ".", "_").Replace(t.Name())
		for base, i := name, 2; b.used[name] > 0; i++ {
			name = fmt.Sprintf("%s%d", base, i)
		}
		b.names[t] = name
		b.used[name] = 1
		b.defs[name] = nil
		b.defs[name] = b.object(t)
	} else {
		b.used[name]++
	}
	return map[string]any{"$ref": "#/$defs/" + name}
}

// object is the schema of a struct's keys.
func (b *builder) object(t reflect.Type) map[string]any {
	s := shapeOf(t)
	properties := map[string]any{}
	var required []any
	for _, f := range s.fields {
		p := b.value(f.typ, f.limits)
		if f.about != "" {
			p["description"] = f.about
		}
		properties[f.name] = p
		if f.required {
			required = append(required, f.name)
		}
	}
	out := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	if required != nil {
		out["required"] = required
	}
	if s.extra != nil {
		out["patternProperties"] = map[string]any{extraKey.String(): true}
	}
	return out
}

func withEnum(out map[string]any, l limits) map[string]any {
	if l.enum != nil {
		words := make([]any, len(l.enum))
		for i, w := range l.enum {
			words[i] = w
		}
		out["enum"] = words
	}
	return out
}

func withRange(out map[string]any, l limits) map[string]any {
	for key, limit := range map[string]*float64{
		"minimum": l.min, "maximum": l.max, "exclusiveMinimum": l.over, "exclusiveMaximum": l.less,
	} {
		if limit != nil {
			out[key] = *limit
		}
	}
	return out
}
