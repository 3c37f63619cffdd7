package dataset

import "testing"

func TestRenameInTags(t *testing.T) {
	const strict, common = "http://purl.oclc.org/ooxml/spreadsheetml/main", "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	for _, c := range []struct{ in, want string }{
		{`<a xmlns="` + strict + `" conformance="strict">`, `<a xmlns="` + common + `">`},
		{`<t>xmlns="` + strict + `"</t>`, `<t>xmlns="` + strict + `"</t>`},
		{`<a b=">" xmlns='` + strict + `'/>` + strict, `<a b=">" xmlns='` + common + `'/>` + strict},
		{`<![CDATA[<a x="` + strict + `">]]><b>`, `<![CDATA[<a x="` + strict + `">]]><b>`},
		{`<!-- "` + strict + ` --><b y="` + strict + `">`, `<!-- "` + strict + ` --><b y="` + common + `">`},
		{`<a "`, `<a "`},
		{`<`, `<`},
		{`<Relationship Type="http://purl.oclc.org/ooxml/officeDocument/relationships/worksheet"/>`, `<Relationship Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"/>`},
	} {
		if got := string(renameInTags([]byte(c.in))); got != c.want {
			t.Errorf("%s\ngives %s\nwant  %s", c.in, got, c.want)
		}
	}
}
