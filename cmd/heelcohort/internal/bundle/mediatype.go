package bundle

import (
	"path"
	"strings"
)

// mediaTypes are those of the endings of files that a study has.
var mediaTypes = map[string]string{
	".yaml": "application/yaml", ".yml": "application/yaml", ".json": "application/json",
	".csv": "text/csv", ".tsv": "text/tab-separated-values", ".tab": "text/tab-separated-values", ".txt": "text/plain", ".md": "text/markdown",
	".html": "text/html", ".svg": "image/svg+xml", ".png": "image/png", ".pdf": "application/pdf",
	".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// mediaType is a file's media type by its name.
func mediaType(name string) string {
	ending := strings.ToLower(path.Ext(name))
	if t := mediaTypes[ending]; t != "" {
		return t
	}
	for _, n := range licenceNames {
		if strings.EqualFold(path.Base(name), n) {
			return "text/plain"
		}
	}
	return "application/octet-stream"
}

// packed reports whether a file's content is compressed already.
func packed(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".xlsx", ".png", ".pdf":
		return true
	}
	return false
}
