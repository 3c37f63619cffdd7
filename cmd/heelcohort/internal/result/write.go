package result

import (
	"bytes"
	"encoding/json"
	"io"
	"reflect"
	"strings"

	"heelcohort/dataset/harmless"
)

// WriteJSON writes res as results.json: keys in the order of the fields, one
// setting, finding, step, analysis field and row a line, so that two results
// can be compared line by line. The bytes depend on res alone.
func (res *Results) WriteJSON(w io.Writer) error {
	var out jsonWriter
	out.value(reflect.ValueOf(res.filled()).Elem(), 1)
	out.buf.WriteByte('\n')
	if out.err != nil {
		return out.err
	}
	_, err := w.Write(harmless.JSON(out.buf.Bytes()))
	return err
}

// A jsonWriter lays JSON out over lines. The first error stays.
type jsonWriter struct {
	buf bytes.Buffer
	err error
}

// value writes v: the results and an analysis with a field a line, a list of
// structures with an element a line, anything else on the line.
func (w *jsonWriter) value(v reflect.Value, depth int) {
	switch {
	case v.Type() == reflect.TypeFor[Results]() || v.Type() == reflect.TypeFor[Analysis]():
		w.buf.WriteByte('{')
		for i := range v.NumField() {
			w.next(i, depth)
			w.compact(jsonName(v.Type().Field(i)))
			w.buf.WriteString(": ")
			w.value(v.Field(i), depth+1)
		}
		w.line(depth - 1)
		w.buf.WriteByte('}')
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct && v.Len() > 0:
		w.buf.WriteByte('[')
		for i := range v.Len() {
			w.next(i, depth)
			w.value(v.Index(i), depth+1)
		}
		w.line(depth - 1)
		w.buf.WriteByte(']')
	default:
		w.compact(v.Interface())
	}
}

// next begins the line of element i.
func (w *jsonWriter) next(i, depth int) {
	if i > 0 {
		w.buf.WriteByte(',')
	}
	w.line(depth)
}

// line begins a line, one space in for every level.
func (w *jsonWriter) line(depth int) {
	w.buf.WriteByte('\n')
	w.buf.WriteString(strings.Repeat(" ", depth))
}

// compact writes v on the line. Signs such as < and & stay as they are.
func (w *jsonWriter) compact(v any) {
	encoder := json.NewEncoder(&w.buf)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(v); err != nil {
		if w.err == nil {
			w.err = err
		}
		return
	}
	w.buf.Truncate(w.buf.Len() - 1) // the line feed that Encode adds
}

// jsonName is the key of a field.
func jsonName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name
}
