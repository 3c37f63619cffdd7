package ooxml

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"
)

// sheetOf is a sheet of cells.
func sheetOf(rows string) string { return "<sheetData>" + rows + "</sheetData>" }

const oneCell = `<row r="1"><c r="A1"><v>1</v></c></row>`

// laughs is a document type whose entities grow tenfold at each step.
const laughs = `<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>`

// withMember is a good workbook with one more member, written raw.
func withMember(header zip.FileHeader, data []byte) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	r, err := zip.NewReader(bytes.NewReader(newMade(sheetOf(oneCell)).bytes()), int64(len(newMade(sheetOf(oneCell)).bytes())))
	if err != nil {
		panic(err)
	}
	for _, f := range r.File {
		if f.Name != header.Name {
			if err := z.Copy(f); err != nil {
				panic(err)
			}
		}
	}
	w, err := z.CreateRaw(&header)
	if err == nil {
		_, err = w.Write(data)
	}
	if err != nil {
		panic(err)
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// deflated packs what write writes.
func deflated(level int, write func(io.Writer)) []byte {
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, level)
	if err != nil {
		panic(err)
	}
	write(w)
	if err := w.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// bomb is a sheet that unpacks to n bytes of blanks, with the size that its
// directory gives.
func bomb(n int64, size uint64) []byte {
	data := deflated(flate.DefaultCompression, func(w io.Writer) {
		io.WriteString(w, `<worksheet xmlns="`+mainNS+`"><sheetData>`)
		block := bytes.Repeat([]byte(" "), 1<<20)
		for ; n > 0; n -= int64(len(block)) {
			w.Write(block)
		}
		io.WriteString(w, `</sheetData></worksheet>`)
	})
	return withMember(zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Deflate, CompressedSize64: uint64(len(data)), UncompressedSize64: size}, data)
}

// overlapping points the directory's last entry to the first member.
func overlapping() []byte {
	data := newMade(sheetOf(oneCell)).bytes()
	last := bytes.LastIndex(data, []byte("PK\x01\x02"))
	first := bytes.Index(data, []byte("PK\x01\x02"))
	copy(data[last+42:last+46], data[first+42:first+46])
	copy(data[last+20:last+24], data[first+20:first+24])
	return data
}

// flagged sets the flags or the method of every member.
func flagged(flags, method uint16) []byte {
	data := newMade(sheetOf(oneCell)).bytes()
	for at := 0; ; at++ {
		i := bytes.Index(data[at:], []byte("PK\x01\x02"))
		if i < 0 {
			return data
		}
		at += i
		binary.LittleEndian.PutUint16(data[at+8:], binary.LittleEndian.Uint16(data[at+8:])|flags)
		if method > 0 {
			binary.LittleEndian.PutUint16(data[at+10:], method)
		}
	}
}

// manyShared has more shared texts than are read, in a part that no ratio
// gives away.
func manyShared() []byte {
	random := rand.New(rand.NewPCG(3, 4))
	n := 0
	data := deflated(flate.BestSpeed, func(w io.Writer) {
		count := func(s string) {
			n += len(s)
			io.WriteString(w, s)
		}
		count(`<sst xmlns="` + mainNS + `">`)
		var b strings.Builder
		for range maxSharedTexts/1000 + 1 {
			b.Reset()
			for range 1000 {
				fmt.Fprintf(&b, "<si><t>%d</t></si>", random.IntN(1e4))
			}
			count(b.String())
		}
		count("</sst>")
	})
	m := newMade(sheetOf(`<row><c t="s"><v>1</v></c></row>`)).link("sharedStrings", "s.xml").bytes()
	r, _ := zip.NewReader(bytes.NewReader(m), int64(len(m)))
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range r.File {
		if err := z.Copy(f); err != nil {
			panic(err)
		}
	}
	w, err := z.CreateRaw(&zip.FileHeader{Name: "xl/s.xml", Method: zip.Deflate, CompressedSize64: uint64(len(data)), UncompressedSize64: uint64(n)})
	if err != nil {
		panic(err)
	}
	if _, err := w.Write(data); err != nil {
		panic(err)
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// member is a good workbook with one more member of that name.
func member(name string) func() []byte {
	return func() []byte { return withMember(zip.FileHeader{Name: name, Method: zip.Store}, nil) }
}

// sheet is a workbook of a sheet with the given rows.
func sheet(rows string) func() []byte {
	return func() []byte { return newMade(sheetOf(rows)).bytes() }
}

// part is a workbook of which one part is exchanged.
func part(name, xml string) func() []byte {
	return func() []byte { return newMade(sheetOf(oneCell)).set(name, xml).bytes() }
}

// target is a workbook whose sheet lies at a target.
func target(target string) func() []byte {
	return part("xl/_rels/workbook.xml.rels", `<Relationships xmlns="`+packNS+`/relationships"><Relationship Id="r1" Type="`+relNS+`/worksheet" Target="`+target+`"/></Relationships>`)
}

// hostile are workbooks that are refused, with words of the sentence.
var hostile = map[string]struct {
	data  func() []byte
	words string
}{
	"empty":              {func() []byte { return nil }, "the file is empty"},
	"random":             {func() []byte { return bytes.Repeat([]byte("\x8d\x1f\xa0"), 5000) }, "not a zip archive"},
	"cut":                {func() []byte { d := newMade(sheetOf(oneCell)).bytes(); return d[:len(d)-30] }, "not a zip archive"},
	"bomb":               {func() []byte { return bomb(700<<20, 700<<20+110) }, `"xl/worksheets/sheet1.xml" unpacks from`},
	"bomb, false size":   {func() []byte { return bomb(300<<20, 1000) }, "unpacks to more than the 1000 bytes"},
	"bomb, false large":  {func() []byte { return bomb(1<<20, 20<<20) }, "it ends after"},
	"bomb, huge size":    {func() []byte { return bomb(1<<20, 1<<40) }, "more than the"},
	"overlap":            {overlapping, "overlap in the archive"},
	"encrypted":          {func() []byte { return flagged(1, 0) }, "encrypted"},
	"other method":       {func() []byte { return flagged(0, 12) }, "method 12"},
	"member above":       {member("../evil.xml"), `named "../evil.xml"`},
	"member within":      {member("xl/../../evil.xml"), "no name of a part"},
	"member absolute":    {member("/etc/passwd"), "no name of a part"},
	"member backslash":   {member(`xl\evil.xml`), "no name of a part"},
	"member drive":       {member("C:/evil.xml"), "no name of a part"},
	"member NUL":         {member("xl/a\x00b"), "no name of a part"},
	"target above":       {target("../../../etc/passwd"), "which is no part of the workbook"},
	"target backslash":   {target(`worksheets\sheet1.xml`), "which is no part of the workbook"},
	"target address":     {target("file:///etc/passwd"), "which is no part of the workbook"},
	"target absolute":    {target("/etc/passwd"), `lacks part "etc/passwd"`},
	"target coded":       {target("worksheets/%2e%2e/%2e%2e/%2e%2e/x"), "lacks part"},
	"target external":    {target(`http://example.org/s.xml" TargetMode="External`), "outside of the file, at \"http://example.org/s.xml\""},
	"member twice":       {func() []byte { return newMade("").twice("xl/workbook.xml") }, `part "xl/workbook.xml" stands twice`},
	"member twice, case": {func() []byte { return newMade("").twice("XL/Workbook.xml") }, "differ in case only"},
	"many members": {func() []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for i := range maxMembers + 1 {
			if _, err := z.CreateRaw(&zip.FileHeader{Name: fmt.Sprint(i)}); err != nil {
				panic(err)
			}
		}
		z.Close()
		return b.Bytes()
	}, "members that are read"},
	"two workbooks": {part("_rels/.rels", `<Relationships xmlns="`+packNS+`/relationships"><Relationship Id="a" Type="x/officeDocument" Target="xl/workbook.xml"/><Relationship Id="b" Type="x/officeDocument" Target="xl/other.xml"/></Relationships>`), "names two workbooks"},
	"same sheet":    {part("xl/workbook.xml", `<workbook xmlns="`+mainNS+`" xmlns:r="`+relNS+`"><sheets><sheet name="a" r:id="r1"/><sheet name="A" r:id="r1"/></sheets></workbook>`), `two sheets are named "A"`},

	"entities, sheet":    {part("xl/worksheets/sheet1.xml", laughs+`<worksheet xmlns="`+mainNS+`">&c;</worksheet>`), "has a document type"},
	"entities, workbook": {part("xl/workbook.xml", `<?xml version="1.0"?>`+laughs+`<workbook/>`), "has a document type"},
	"entities, rels":     {part("_rels/.rels", laughs+`<Relationships/>`), "has a document type"},
	"entities, styles":   {func() []byte { return newMade("").styles("").set("xl/styles.xml", laughs+"<styleSheet/>").bytes() }, "has a document type"},
	"entities, shared": {func() []byte {
		return newMade(sheetOf(`<row><c t="s"><v>0</v></c></row>`)).shared("").set("xl/sharedStrings.xml", laughs+"<sst/>").bytes()
	}, "has a document type"},
	"external entity": {part("xl/worksheets/sheet1.xml", `<!DOCTYPE x SYSTEM "file:///etc/passwd"><worksheet/>`), "has a document type"},
	"unknown entity":  {sheet(`<row><c t="str"><v>&nbsp;</v></c></row>`), "unknown entity &nbsp;"},
	"lone &":          {sheet(`<row><c t="str"><v>a & b</v></c></row>`), "begins no reference"},
	"long entity":     {sheet(`<row><c t="str"><v>&` + strings.Repeat("a", 1<<20) + `;</v></c></row>`), "begins no reference"},
	"surrogate":       {sheet(`<row><c t="str"><v>&#xD800;</v></c></row>`), "no character that XML allows"},
	"two surrogates":  {sheet(`<row><c t="str"><v>&#xD83D;&#xDE00;</v></c></row>`), "no character that XML allows"},
	"reference NUL":   {sheet(`<row><c t="str"><v>&#0;</v></c></row>`), "no character that XML allows"},
	"reference large": {sheet(`<row><c t="str"><v>&#x110000;</v></c></row>`), "no character that XML allows"},
	"NUL":             {sheet("<row><c t=\"str\"><v>a\x00b</v></c></row>"), "the byte 0x00"},
	"NUL, attribute":  {sheet("<row><c r=\"A\x001\"/></row>"), "the byte 0x00"},
	"no UTF-8":        {sheet("<row><c t=\"str\"><v>a\xffb</v></c></row>"), "not valid UTF-8"},
	"no UTF-8, cut":   {sheet("<row><c t=\"str\"><v>a\xc3</v></c></row>"), "not valid UTF-8"},
	"surrogate bytes": {sheet("<row><c t=\"str\"><v>\xed\xa0\x80</v></c></row>"), "not valid UTF-8"},
	"U+FFFF":          {sheet("<row><c t=\"str\"><v>\uffff</v></c></row>"), "U+FFFF"},
	"UTF-16":          {part("xl/worksheets/sheet1.xml", "\xff\xfe<\x00w\x00"), "written in UTF-16"},
	"UTF-16, no mark": {part("xl/worksheets/sheet1.xml", "\x00<\x00w"), "written in UTF-16"},
	"Latin-1":         {part("xl/worksheets/sheet1.xml", `<?xml version="1.0" encoding="ISO-8859-1"?><worksheet/>`), `written in "ISO-8859-1"`},

	"huge attribute":  {sheet(`<row><c r="` + strings.Repeat("A", 3<<20) + `"/></row>`), "more than 1048576 bytes"},
	"huge name":       {sheet(`<` + strings.Repeat("a", 3<<20) + `/>`), "more than 1048576 bytes"},
	"huge comment":    {sheet(`<!--` + strings.Repeat("a", 3<<20) + `-->`), "more than 1048576 bytes"},
	"many attributes": {sheet(`<row ` + strings.Repeat(`a="" `, 2) + `/>`), "attribute a twice"},
	"attributes": {func() []byte {
		var b strings.Builder
		for i := range 100_000 {
			fmt.Fprintf(&b, ` a%d=""`, i)
		}
		return newMade(sheetOf(`<row` + b.String() + `/>`)).bytes()
	}, "more than 256 attributes"},
	"long cell":    {sheet(`<row r="7"><c r="B7" t="str"><v>` + strings.Repeat("a", 1_000_000) + `</v></c></row>`), `sheet "data" B7: a text of more than`},
	"long inline":  {sheet(`<row r="7"><c r="B7" t="inlineStr"><is>` + strings.Repeat("<r><t>"+strings.Repeat("a", 1000)+"</t></r>", 1000) + `</is></c></row>`), `sheet "data" B7: a text of more than`},
	"long number":  {sheet(`<row r="7"><c r="B7"><v>` + strings.Repeat("1", 1_000_000) + `</v></c></row>`), `sheet "data" B7: a value of more than`},
	"long formula": {sheet(`<row r="7"><c r="B7"><f>` + strings.Repeat("1", 1_000_000) + `</f></c></row>`), `sheet "data" B7: a text of more than`},
	"long shared": {func() []byte {
		return newMade(sheetOf(`<row><c t="s"><v>0</v></c></row>`)).shared("<si><t>" + strings.Repeat("a", 1_000_000) + "</t></si>").bytes()
	}, `a text of more than`},
	"long row":         {sheet("<row>" + strings.Repeat(`<c t="str"><v>`+strings.Repeat("a", 32767)+`</v></c>`, 600) + "</row>"), "texts of the row are longer"},
	"many shared":      {manyShared, "texts that are read"},
	"deep":             {sheet("<row><c>" + strings.Repeat("<x>", 200_000)), "elements within each other"},
	"20,000 columns":   {sheet("<row>" + strings.Repeat("<c><v>1</v></c>", 20_000) + "</row>"), "beyond the 16384 columns"},
	"20,000 empty":     {sheet("<row>" + strings.Repeat("<c/>", 20_000) + "</row>"), "beyond the 16384 columns"},
	"A0":               {sheet(`<row><c r="A0"><v>1</v></c></row>`), `cell reference "A0" does not fit`},
	"lowercase":        {sheet(`<row><c r="a1"><v>1</v></c></row>`), `cell reference "a1"`},
	"AAAA1":            {sheet(`<row><c r="AAAA1"><v>1</v></c></row>`), `cell reference "AAAA1"`},
	"XFE1":             {sheet(`<row><c r="XFE1"><v>1</v></c></row>`), `cell reference "XFE1"`},
	"dollar":           {sheet(`<row><c r="$A$1"><v>1</v></c></row>`), "does not fit"},
	"empty reference":  {sheet(`<row><c r=""><v>1</v></c></row>`), "does not fit"},
	"disagree":         {sheet(`<row r="2"><c r="A3"><v>1</v></c></row>`), `cell reference "A3" does not fit in row 2`},
	"row 0":            {sheet(`<row r="0"/>`), `row number "0"`},
	"row -1":           {sheet(`<row r="-1"/>`), `row number "-1"`},
	"row too far":      {sheet(`<row r="1048577"/>`), `row number "1048577"`},
	"row beyond":       {sheet(`<row r="1048576"/><row/>`), `more than 1048576 rows`},
	"row huge":         {sheet(`<row r="99999999999999999999"/>`), `row number`},
	"row twice":        {sheet(`<row r="1"/><row r="1"/>`), "row 1 stands after row 1"},
	"rows back":        {sheet(`<row r="5"/><row r="2"/>`), "row 2 stands after row 5"},
	"cell twice":       {sheet(`<row><c r="A1"><v>1</v></c><c r="A1"><v>2</v></c></row>`), "cell A1 is out of order"},
	"cells back":       {sheet(`<row><c r="B1"/><c r="A1"/></row>`), "cell A1 is out of order"},
	"two sections":     {func() []byte { return newMade(sheetOf(oneCell) + sheetOf(oneCell)).bytes() }, "two sections of cells"},
	"no section":       {func() []byte { return newMade("<cols/>").bytes() }, "no cells' section"},
	"cut in cell":      {part("xl/worksheets/sheet1.xml", `<worksheet><sheetData><row><c><v>1`), "cut short inside <v>"},
	"cut in tag":       {part("xl/worksheets/sheet1.xml", `<worksheet><sheetData><row r="1`), "cut short inside <sheetData>"},
	"cut in comment":   {part("xl/worksheets/sheet1.xml", `<worksheet><!-- `), "cut short inside <worksheet>"},
	"no XML":           {part("xl/worksheets/sheet1.xml", `id,age`), "text stands outside"},
	"empty part":       {part("xl/worksheets/sheet1.xml", ``), "it is empty"},
	"two roots":        {part("xl/worksheets/sheet1.xml", `<worksheet><sheetData/></worksheet><worksheet/>`), "stands behind the end"},
	"nesting":          {sheet(`<row><c><v>1</c></v></row>`), "</c> stands where </v> was expected"},
	"no quotes":        {sheet(`<row r=1/>`), "no quotation marks"},
	"no blank":         {sheet(`<row r="1"s="1"/>`), "not written as"},
	"< in attribute":   {sheet(`<row r="<"/>`), "a < in the value"},
	"]]>":              {sheet(`<row><c t="str"><v>a]]>b</v></c></row>`), "]]> stands outside"},
	"-- in comment":    {sheet(`<!-- a -- b -->`), "-- stands within a comment"},
	"two values":       {sheet(`<row><c><v>1</v><v>2</v></c></row>`), "two values"},
	"value and text":   {sheet(`<row><c t="inlineStr"><v>1</v><is><t>2</t></is></c></row>`), "both a value and a text"},
	"value within":     {sheet(`<row><c><v><v>1</v></v></c></row>`), "stands within a value"},
	"text in row":      {sheet(`<row>5</row>`), "text stands between the cells"},
	"text in data":     {sheet(`5`), "text stands between the rows"},
	"other name space": {sheet(`<row><c xmlns="urn:x"><v>1</v></c></row>`), "another name space"},
	"unbound prefix":   {sheet(`<y:row><y:c><y:v>1</y:v></y:c></y:row>`), "another name space"},
	"alternatives":     {sheet(`<AlternateContent><row/></AlternateContent>`), "cannot be read"},
	"no such shared":   {sheet(`<row><c t="s"><v>5</v></c></row>`), "names shared text 5 of 0"},
	"negative shared":  {sheet(`<row><c t="s"><v>-1</v></c></row>`), `index "-1" of a shared text`},
	"unknown type":     {sheet(`<row><c t="q"><v>5</v></c></row>`), `unknown type "q"`},
	"style":            {sheet(`<row><c s="-1"><v>5</v></c></row>`), `style "-1"`},
	"merged": {func() []byte {
		return newMade(sheetOf("") + `<mergeCells><mergeCell ref="B2:A1"/></mergeCells>`).bytes()
	}, `merged area "B2:A1"`},
}

// twice is the archive with the same bytes as its last member once more under
// another name.
func (m *made) twice(name string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, n := range append(m.order[:len(m.order):len(m.order)], name) {
		w, err := z.Create(n)
		if err == nil {
			_, err = io.WriteString(w, m.parts[n])
		}
		if err != nil {
			panic(err)
		}
	}
	z.Close()
	return b.Bytes()
}

// processorTime is what this process used so far: other work on the machine
// does not count.
func processorTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func TestHostile(t *testing.T) {
	for name, c := range hostile {
		t.Run(name, func(t *testing.T) {
			if name == "many shared" && os.Getenv("HEELCOHORT_HOSTILE") == "" {
				t.Skip("takes long to make; TestHostileMemory has it")
			}
			data := c.data()
			start := processorTime(t)
			_, err := readAll(data)
			if err == nil || !strings.Contains(err.Error(), c.words) {
				t.Errorf("error %v, want it to hold %q", err, c.words)
			}
			if err != nil && len(err.Error()) > 600 {
				t.Errorf("a sentence of %d bytes", len(err.Error()))
			}
			if took := processorTime(t) - start; took > 5*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

// A process that reads the large ones, one after the other, needs less than
// 500 MB.
func TestHostileMemory(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(self, "-test.run=^TestHostile$/bomb|many|long|huge|attributes|deep|20,000|entit")
	child.Env = append(os.Environ(), "HEELCOHORT_HOSTILE=1")
	if out, err := child.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if usage, ok := child.ProcessState.SysUsage().(*syscall.Rusage); ok && usage.Maxrss > 500<<10 {
		t.Errorf("the child held %d MB", usage.Maxrss>>10)
	} else if ok {
		t.Logf("the child held %d MB", usage.Maxrss>>10)
	}
}
