package gather

import (
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
)

// Trend is what there is of hum against time: trend.json, the spans as
// trend.csv and trend.md, every step as steps.csv, and for each channel with
// steps its figure, whose name ends in -chN where there are several.
func Trend(r result.Trend, u table.Unit) ([]publish.File, error) {
	numbers, err := JSON(r)
	if err != nil {
		return nil, err
	}
	t := table.Trend(r, u)
	files := []publish.File{
		{Name: "trend.json", Data: numbers},
		{Name: "trend.csv", Data: []byte(t.CSV())},
		{Name: "trend.md", Data: []byte(t.Markdown())},
		{Name: "steps.csv", Data: []byte(table.TrendSteps(r).CSV())},
	}
	return drawn(files, trendFigures(r))
}
