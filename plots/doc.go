// Package plots draws the figures of an outcome study: rates by group, as
// bars, dots in panels, a heat map or curves in a band, forest plots of ratios
// or differences, and survival curves and mean cumulative counts with their
// table of numbers at risk. It computes nothing: every number arrives in a
// result of package stats, and is drawn as it arrives.
//
// A figure is described by a plain struct ([Rates], [Dots], [HeatMap],
// [Curves], [Forest], [Survival], [MeanCount]), laid out by its Draw method and
// written by [Figure.Save] as SVG, PDF or PNG.
//
// Promises:
//   - The same figure gives the same bytes, on any number of cores.
//   - Nothing is cut off in silence. Labels wrap, margins follow the measured
//     text, and a figure that does not fit its width is refused with
//     [ErrNoRoom]. Limits that leave the axis end in an arrow, and a note says
//     so.
//   - NaN is never drawn as a number: it leaves a gap.
//   - Data that cannot be drawn give an error with the place and the reason;
//     no data make the package panic.
//   - Text is drawn as outlines, so that it looks the same everywhere and
//     needs no font; SVG carries title and description for those who listen.
//   - Series differ in shape or dash as well as in colour, and stay apart in
//     grey. The shades of a heat map grow darker with the rate, in grey too.
//
// Lengths given by the caller are in millimetres. Text is 8 or 9 points, lines
// are at least 0.25 point.
package plots
