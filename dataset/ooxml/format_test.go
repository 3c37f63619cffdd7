package ooxml

import "testing"

// The codes are those that spreadsheet programs offer or write; the kinds were
// set by hand.
func TestFormatOf(t *testing.T) {
	for code, want := range map[string]Format{
		"General": Plain, "GENERAL": Plain, "Standard": Plain, "": Plain, "@": Plain, "0": Plain, "0.00": Plain, "#,##0": Plain, "#,##0.00": Plain,
		`#,##0.00 "€"`: Plain, `[$-407]#,##0.00 "€"`: Plain, `_-* #,##0.00_-;-* #,##0.00_-;_-* "-"??_-;_-@_-`: Plain, "[Red]0.0;[Blue]-0.0": Plain,
		"0.00E+00": Plain, "##0.0E+0": Plain, "# ?/?": Plain, "# ??/??": Plain, `0.0" cm"`: Plain, `0" days"`: Plain, `0\ \d`: Plain, `"m"0`: Plain,
		"0 kg": Plain, `General" cm"`: Plain, "[>99]0;0.0": Plain, "0.0;;": Plain, `"yes";"yes";"no"`: Plain, "#": Plain, "?": Plain, "\"": Plain, "[": Plain, `\`: Plain,

		"yyyy-mm-dd": Date, "dd.mm.yyyy": Date, "DD.MM.YYYY": Date, "d/m/yy": Date, "m/d/yy h:mm": Date, "mmm-yy": Date, "h:mm AM/PM": Date, "[h]:mm": Date, "[hh]:mm:ss": Date,
		"[mm]:ss": Date, "mm:ss.0": Date, "ss.00": Date, "yyyy\\-mm\\-dd": Date, `yyyy"-"mm"-"dd`: Date, "[$-407]d. mmmm yyyy": Date, "[$-F800]dddd, mmmm dd, yyyy": Date,
		`[$-409]mmmm\ d\,\ yyyy;@`: Date, "yyyy-mm-dd;@": Date, `[$-411]ggge"年"m"月"d"日"`: Date, `yyyy"年"m"月"d"日"`: Date, "上午/下午h\"時\"mm\"分\"": Date, "[Red]yyyy": Date,
		"TT.MM.JJJJ": Date, "tt.mm.jjjj": Date, "TT.MM.JJ": Date, "T. MMMM JJJJ": Date, "jj/mm/aaaa": Date, "dd.mm.åååå": Date, "pp.kk.vvvv": Date, "gg.aa.yyyy": Date, "дд.мм.гггг": Date,
		"yyyy": Date, "mmmm": Date, "dddd": Date, "hh:mm:ss": Date, "yyyy-mm-ddThh:mm:ss": Date, `yyyy-mm-dd\Thh:mm:ss`: Date,

		"0%": Percent, "0.00%": Percent, "#,##0%": Percent, "0 %": Percent, `0.0\ %`: Percent, "[Red]0%": Percent, "00%": Percent, `0"%"`: Plain, `0\%`: Plain,

		"00": Padded, "0000": Padded, `"SM-"0000`: Padded, "000-00-0000": Padded, "00.0": Padded, "0,000": Padded, "00000;-00000": Padded, "[<=9999]0000;General": Padded,
		"0;0000": Plain,
	} {
		if got := formatOf(code); got != want {
			t.Errorf("%q is of kind %d, want %d", code, got, want)
		}
	}
}

func TestBuiltIn(t *testing.T) {
	want := map[int]Format{9: Percent, 10: Percent, 67: Percent, 68: Percent}
	for _, id := range []int{14, 15, 16, 17, 18, 19, 20, 21, 22, 27, 28, 29, 30, 31, 32, 33, 34, 35, 36, 45, 46, 47, 50, 51, 52, 53, 54, 55, 56, 57, 58, 71, 72, 73, 74, 75, 76, 77, 78, 79, 80, 81} {
		want[id] = Date
	}
	for id := -1; id < 200; id++ {
		if got := builtIn(id); got != want[id] {
			t.Errorf("number %d is of kind %d, want %d", id, got, want[id])
		}
	}
}

// A style names its format by number; a code in the file comes before the
// built-in one.
func TestStyles(t *testing.T) {
	m := newMade(`<sheetData><row><c><v>1</v></c><c s="1"><v>2</v></c><c s="2"><v>3</v></c><c s="3"><v>4</v></c><c s="4"><v>5</v></c><c s="9"><v>6</v></c><c s="1" t="str"><v>7</v></c></row></sheetData>`).styles(
		`<numFmts count="2"><numFmt numFmtId="170" formatCode="0000"/><numFmt numFmtId="14" formatCode="&quot;x&quot;0%"/></numFmts>` +
			`<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs>` +
			`<cellXfs><xf/><xf numFmtId="170"/><xf numFmtId="14"/><xf numFmtId="57"/><xf numFmtId="0"/></cellXfs><dxfs><dxf><numFmt numFmtId="170" formatCode="yyyy"/></dxf></dxfs>`)
	wantCells(t, m, "A1:n=1 | B1:n/padded=2 | C1:n/percent=3 | D1:n/date=4 | E1:n=5 | F1:n=6 | G1=7")
}
