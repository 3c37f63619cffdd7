package figure

import (
	"fmt"
	"strconv"
	"strings"

	"heelcohort/plots"
)

// Settings of an incidence analysis that its figure of rates depends on.
const (
	Setting      = "figure"       // one of the names below
	FewSetting   = "figure.few"   // of a heat map: cells with fewer events are hatched
	AxisSetting  = "figure.axis"  // of a dot plot: log or linear
	WidthSetting = "figure.width" // as in "84 mm"
)

// The figures of rates.
const (
	Rates   = "rates"    // rates with limits along the first variable, a series a level of the second
	HeatMap = "heat-map" // a shaded cell for each pair of levels of two variables
	Dots    = "dots"     // a panel a level of the second variable, in it a row a level of the first
	Curve   = "curve"    // over the bands of a variable, as steps with their limits as a band
	None    = "none"     // no figure, of rate ratios neither
)

// DefaultFew is the number of events below which a cell of a heat map is
// hatched, unless the plan has another.
const DefaultFew = 5

// ofRates draws the figure of rates that the settings name.
func (s *source) ofRates() (*plots.Figure, error) {
	size, err := s.size()
	if err != nil {
		return nil, err
	}
	switch choice := s.Setting(Setting); choice {
	case "", Rates:
		f, err := s.rates()
		f.Size = size
		return draw(f, err)
	case HeatMap:
		f, err := s.heatMap()
		f.Size = size
		return draw(f, err)
	case Dots:
		f, err := s.dots()
		f.Size = size
		return draw(f, err)
	case Curve:
		f, err := s.bandCurve()
		f.Size = size
		return draw(f, err)
	default:
		return nil, fmt.Errorf("no figure of rates is named %q", choice)
	}
}

// size is the size that the settings want.
func (s *source) size() (plots.Size, error) {
	text := s.Setting(WidthSetting)
	if text == "" {
		return plots.Size{}, nil
	}
	number, unit := strings.CutSuffix(text, " mm")
	width, err := strconv.ParseFloat(number, 64)
	if err != nil || !unit {
		return plots.Size{}, fmt.Errorf("setting %s is %q, expected millimetres such as 84 mm", WidthSetting, text)
	}
	return plots.Size{Width: width}, nil
}

// few is the number of events below which a cell is hatched.
func (s *source) few() (float64, error) {
	text := s.Setting(FewSetting)
	if text == "" {
		return DefaultFew, nil
	}
	few, err := strconv.ParseFloat(text, 64)
	if err != nil || !(few >= 0) {
		return 0, fmt.Errorf("setting %s is %q, expected a number of events", FewSetting, text)
	}
	return few, nil
}
