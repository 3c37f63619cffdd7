package printedtable

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func file(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// What is written reads back as it was, texts that look like formulas too.
func TestAddressesRoundTrip(t *testing.T) {
	list := []Address{
		{Row: 3, Column: 2, Number: 1, Printed: "−1.2 (−2.1 to −0.3)", Result: "table-1/values/age/mean", Part: "value", Times: "100", Confirmed: true, Because: "by hand"},
		{Sheet: "Table 2", Row: 4, Column: 28, Number: 2, Printed: "-1.2, \"x\"", Result: "a/b/c=d, e/f", Part: "upper"},
		{Row: 5, Column: 1, Number: 1, Printed: "2011", Part: None, Confirmed: true},
		{Row: 6, Column: 1, Number: 1, Printed: "=1"},
	}
	var b bytes.Buffer
	if err := WriteAddresses(&b, list); err != nil {
		t.Fatal(err)
	}
	got, err := ReadAddresses(context.Background(), file(t, "a.csv", b.String()))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(list, got, cmpopts.IgnoreFields(Address{}, "Line")); diff != "" {
		t.Error(diff)
	}
}

func TestReadAddressesRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"row,colum,address,part\n1,B,x,p\n":               `a.csv, line 1, column 2: found "colum", expected one of the columns sheet`,
		"row,column,address\n1,B,x\n":                     `found no column "part"`,
		"row,column,address,part\n1,B,x,estimat\n":        `a.csv, line 2, column 4: found "estimat", expected one of value`,
		"row,column,address,part\n1,B,x,uper\n":           `did you mean "upper"?`,
		"row,column,address,part\nx,B,x,p\n":              `line 2, column 1: found "x", expected the number of a row`,
		"row,column,address,part\n1,?,x,p\n":              `line 2, column 2: found "?", expected a column`,
		"row,column,address,part,times\n1,B,x,p,0\n":      `found "0", expected a factor other than 0`,
		"row,column,address,part,confirmed\n1,B,x,p,si\n": `found "si", expected yes or no`,
		"row,column,address,part\n1,B,x,p\n1,2,y,p\n":     "number 1 of B1 is addressed already on line 2",
		"row,column,address,part\n1,B,x,none\n":           `found "none" beside the address x`,
		"row,column,address,part\n":                       "found no address",
	} {
		_, err := ReadAddresses(context.Background(), file(t, "a.csv", text))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// One table tells its style; two styles, and a table that does not tell, are
// refused with their cells.
func TestStyle(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"x;a\ny;\"1,5 (0,8; 1,9)\"\nz;\"1.234\"\n", "comma"},
		{"x,a\ny,1.5\nz,\"1,234\"\n", "point"},
		{"x,a\ny,12\n", "point"},
		{"x,a\ny,\"0,034\"\n", "comma"},
		{"x,a\ny,\"1,5\"\nz,1.5\n", `a.csv, line 2, column 2: found "1,5", with a comma before decimals, where a.csv, line 3, column 2 has "1.5"`},
		{"x,a\ny,\"1,234\"\n", `a.csv, line 2, column 2: found "1,234", which may have thousands or decimals`},
	} {
		f, err := Read(context.Background(), file(t, "a.csv", c.text), Detect)
		switch {
		case err != nil && !strings.Contains(err.Error(), c.want):
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		case err == nil && string(f.Tables[0].Style) != c.want:
			t.Errorf("%q: %s, want %s", c.text, f.Tables[0].Style, c.want)
		}
	}
}
