package report

import (
	"strings"
	"testing"
)

func TestInlineSVG(t *testing.T) {
	got, err := inlineSVG(read(t, "figure.svg"), "f-", `Rates <b> & "limits"`)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`<svg width="493pt" height="260pt" viewBox="0 0 493 260" role="img" aria-label="Rates &lt;b&gt; &amp; &#34;limits&#34;">`,
		`<clipPath id="f-plot">`, `clip-path="url(#f-plot)"`, `Days since onset – ≤ &amp; ö</text>`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
	for _, bad := range []string{"<?xml", "<!--", "xmlns"} {
		if strings.Contains(got, bad) {
			t.Errorf("%s was kept", bad)
		}
	}
}

func TestInlineSVGRefuses(t *testing.T) {
	for _, test := range []struct{ svg, want string }{
		{`<svg><script>alert(1)</script></svg>`, "<script> is not one of a figure"},
		{`<svg><style>@import "x"</style></svg>`, "<style> is not one of a figure"},
		{`<svg><foreignObject/></svg>`, "<foreignObject> is not one of a figure"},
		{`<svg><image href="https://example.org/x.png"/></svg>`, "<image> is not one of a figure"},
		{`<svg><a href="#x"/></svg>`, "<a> is not one of a figure"},
		{`<svg><x:script xmlns:x="http://www.w3.org/2000/svg"/></svg>`, "is not one of a figure"},
		{`<svg onload="alert(1)"/>`, "onload would act"},
		{`<svg><g OnClick="alert(1)"/></svg>`, "OnClick would act"},
		{`<svg><use href="https://example.org/#x"/></svg>`, "points outside"},
		{`<svg><use xlink:href="x.svg#y"/></svg>`, "points outside"},
		{`<svg><g style="fill:url(https://example.org/x)"/></svg>`, "points outside"},
		{`<svg><g style="fill: URL( 'x' )"/></svg>`, "points outside"},
		{`<svg><g style="background:u\72l(x)"/></svg>`, "would act"},
		{`<svg><g style="@import 'x'"/></svg>`, "would act"},
		{`<g/>`, "expected one svg element"},
		{`<svg/><svg/>`, "expected one svg element"},
		{`<svg><g></svg>`, ""},
		{`<svg>`, "expected one whole svg element"},
		{``, "expected one whole svg element"},
		{`<svg>&nbsp;</svg>`, "entity"},
	} {
		_, err := inlineSVG([]byte(test.svg), "f-", "label")
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: error %v, want %q", test.svg, err, test.want)
		}
	}
}
