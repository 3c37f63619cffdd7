package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// drawn lists the SVG elements that a figure may have: shapes and text, no
// script, no style sheet, no outside picture.
var drawn = map[string]bool{
	"svg": true, "g": true, "defs": true, "title": true, "desc": true, "path": true, "rect": true, "line": true,
	"polyline": true, "polygon": true, "circle": true, "ellipse": true, "text": true, "tspan": true, "use": true,
	"clipPath": true, "linearGradient": true, "radialGradient": true, "stop": true, "marker": true, "pattern": true,
}

// inlineSVG makes a figure ready to stand in the page: the drawing alone,
// named by its label for those who cannot see it, its ids made the page's own
// by the prefix. Anything that could act or fetch is an error.
func inlineSVG(data []byte, prefix, label string) (string, error) {
	var out strings.Builder
	decoder := xml.NewDecoder(bytes.NewReader(data))
	depth, roots := 0, 0
	for {
		token, err := decoder.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return "", err
		}
		switch token := token.(type) {
		case xml.StartElement:
			if token.Name.Space != "" || !drawn[token.Name.Local] {
				return "", fmt.Errorf("element <%s> is not one of a figure", token.Name.Local)
			}
			if depth == 0 {
				if roots++; token.Name.Local != "svg" || roots > 1 {
					return "", errors.New("expected one svg element")
				}
			}
			if err := writeStart(&out, token, prefix, label, depth == 0); err != nil {
				return "", err
			}
			depth++
		case xml.EndElement:
			depth--
			out.WriteString("</" + token.Name.Local + ">")
		case xml.CharData:
			if depth > 0 {
				out.WriteString(escapeXML(string(token)))
			}
		}
	}
	if depth != 0 || roots == 0 {
		return "", errors.New("expected one whole svg element")
	}
	return out.String(), nil
}

// writeStart writes an element's start with its attributes.
func writeStart(out *strings.Builder, e xml.StartElement, prefix, label string, root bool) error {
	out.WriteString("<" + e.Name.Local)
	for _, a := range e.Attr {
		name := a.Name.Local
		if a.Name.Space != "" {
			name = a.Name.Space + ":" + name
		}
		value, keep, err := figureAttribute(name, a.Value, prefix)
		if err != nil {
			return fmt.Errorf("<%s>: %w", e.Name.Local, err)
		}
		if root && (name == "role" || name == "aria-label") {
			keep = false
		}
		if keep {
			out.WriteString(" " + name + `="` + escapeXML(value) + `"`)
		}
	}
	if root {
		out.WriteString(` role="img" aria-label="` + escapeXML(label) + `"`)
	}
	out.WriteString(">")
	return nil
}

// figureAttribute is the value of an attribute with its ids prefixed. Names of
// namespaces are not kept: within a page they mean nothing.
func figureAttribute(name, value, prefix string) (text string, keep bool, err error) {
	lower := strings.ToLower(name)
	switch {
	case lower == "xmlns" || strings.HasPrefix(lower, "xmlns:"):
		return "", false, nil
	case strings.HasPrefix(lower, "on"):
		return "", false, fmt.Errorf("attribute %s would act", name)
	case lower == "id":
		return prefix + value, true, nil
	case lower == "href" || lower == "xlink:href":
		if !strings.HasPrefix(value, "#") {
			return "", false, fmt.Errorf("attribute %s points outside the figure", name)
		}
		return "#" + prefix + value[1:], true, nil
	case strings.Contains(lower, ":") && lower != "xml:space":
		return "", false, nil
	}
	compact := strings.ToLower(strings.Join(strings.Fields(value), ""))
	if strings.Contains(compact, "@import") || strings.Contains(compact, "javascript:") || strings.Contains(compact, `\`) {
		return "", false, fmt.Errorf("attribute %s would act", name)
	}
	if strings.Count(compact, "url(") != strings.Count(value, "url(#") {
		return "", false, fmt.Errorf("attribute %s points outside the figure", name)
	}
	return strings.ReplaceAll(value, "url(#", "url(#"+prefix), true, nil
}

// escapeXML writes text so that it stays text.
func escapeXML(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;").Replace(s)
}
