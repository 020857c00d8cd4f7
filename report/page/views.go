package page

import (
	"html/template"

	"humdiff/report/result"
	"humdiff/report/table"
)

// Figures are a comparison's figures as its page has them, for a page that shows
// them beside other things.
func Figures(r result.Compare) []template.HTML { return figures(r) }

// Lines are the tables of a comparison's lines.
func Lines(r result.Compare) []template.HTML { return lines(table.Compare(r)) }

// MeasuredLines are the tables of the lines of captures measured one by one.
func MeasuredLines(r result.Measure) []template.HTML { return lines(table.Measure(r)) }
