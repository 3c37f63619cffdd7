package result

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
)

// ReadJSON reads results that WriteJSON wrote. Every key must be there, no
// other key may be, and null stands for absent numbers only, so that nothing
// absent is ever taken for a zero.
func ReadJSON(r io.Reader) (*Results, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	if !json.Valid(data) {
		var any json.RawMessage
		return nil, fmt.Errorf("results: not a JSON document: %w", json.Unmarshal(data, &any))
	}
	res := &Results{}
	if err := decode(data, reflect.ValueOf(res).Elem(), ""); err != nil {
		return nil, fmt.Errorf("results: %w", err)
	}
	if res.Schema != SchemaID {
		return nil, fmt.Errorf("results: schema is %q, expected %q", res.Schema, SchemaID)
	}
	return res, nil
}

// decode reads raw into v; at is the place, for errors.
func decode(raw json.RawMessage, v reflect.Value, at string) error {
	if v.Type() == reflect.TypeFor[Number]() {
		if err := v.Addr().Interface().(*Number).UnmarshalJSON(raw); err != nil {
			return placed(at, err)
		}
		return nil
	}
	if bytes.Equal(bytes.TrimSpace(raw), []byte("null")) {
		return placed(at, errors.New("found null, expected a "+wordFor(v)))
	}
	switch v.Kind() {
	case reflect.Struct:
		return decodeStruct(raw, v, at)
	case reflect.Slice:
		var items []json.RawMessage
		if err := json.Unmarshal(raw, &items); err != nil {
			return placed(at, err)
		}
		v.Set(reflect.MakeSlice(v.Type(), len(items), len(items)))
		for i, item := range items {
			if err := decode(item, v.Index(i), at+"["+strconv.Itoa(i)+"]"); err != nil {
				return err
			}
		}
		return nil
	default:
		if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
			return placed(at, err)
		}
		return nil
	}
}

// decodeStruct reads an object whose keys are exactly the fields of v.
func decodeStruct(raw json.RawMessage, v reflect.Value, at string) error {
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(raw, &keys); err != nil {
		return placed(at, err)
	}
	for i := range v.NumField() {
		name := jsonName(v.Type().Field(i))
		part, ok := keys[name]
		if !ok {
			return placed(at, fmt.Errorf("no key %q", name))
		}
		delete(keys, name)
		place := name
		if at != "" {
			place = at + "." + name
		}
		if err := decode(part, v.Field(i), place); err != nil {
			return err
		}
	}
	unknown := ""
	for name := range keys {
		if unknown == "" || name < unknown {
			unknown = name
		}
	}
	if len(keys) > 0 {
		return placed(at, fmt.Errorf("unknown key %q", unknown))
	}
	return nil
}

// placed puts the place before an error.
func placed(at string, err error) error {
	if at == "" {
		return err
	}
	return fmt.Errorf("%s: %w", at, err)
}

// wordFor names what v holds, for errors.
func wordFor(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Slice:
		return "list"
	case reflect.Struct:
		return "mapping"
	case reflect.Bool:
		return "truth value"
	case reflect.Int:
		return "whole number"
	}
	return "text"
}
