package gather

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"humdiff/report/figure"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/result"
)

// NamedFigure is a figure of a result, with the name of its file without an
// ending.
type NamedFigure struct {
	Name string
	figure.Figure
}

// ErrNoResult is the error of a file that is no result of humdiff.
var ErrNoResult = errors.New("is no result of humdiff that figures are drawn from")

// Figures are all figures that a result in JSON gives, under the names they have
// in its report, and the settings it was made with.
func Figures(data []byte) ([]NamedFigure, result.Settings, error) {
	var of struct {
		Schema   string          `json:"schema"`
		Settings result.Settings `json:"settings"`
	}
	of.Settings.FullScaleVolts = result.None
	if err := json.Unmarshal(data, &of); err != nil {
		return nil, of.Settings, fmt.Errorf("%w: %v", ErrNoResult, err)
	}
	var all []NamedFigure
	var err error
	switch {
	case of.Schema == result.CompareSchema:
		var r result.Compare
		err = json.Unmarshal(data, &r)
		all = pairFigures(r)
	case of.Schema == result.TrendSchema:
		var r result.Trend
		err = json.Unmarshal(data, &r)
		all = trendFigures(r)
	case of.Schema == result.SessionSchema:
		var r result.Session
		err = json.Unmarshal(data, &r)
		for _, f := range page.SessionFigures(r) {
			all = append(all, NamedFigure(f))
		}
	case of.Schema == result.MeasureSchema:
		var r result.Measure
		err = json.Unmarshal(data, &r)
		all = measureFigures(r)
	default:
		err = errors.New("figures are drawn from those of compare, measure, trend and batch")
	}
	if err != nil {
		return nil, of.Settings, fmt.Errorf("%w: %v", ErrNoResult, err)
	}
	return all, of.Settings, nil
}

// measureFigures are the spectra of captures measured by themselves; of several,
// a name ends in the capture's place in the list.
func measureFigures(r result.Measure) []NamedFigure {
	var all []NamedFigure
	for i, c := range r.Captures {
		f := figure.Alone(r.Settings, c)
		name := f.Name
		if len(r.Captures) > 1 {
			name = fmt.Sprintf("%s-%d", name, i+1)
		}
		all = append(all, NamedFigure{name, f})
	}
	return all
}

// pairFigures are those of a comparison. Where there are several pairs, a name
// ends in -chN or -pairN.
func pairFigures(r result.Compare) []NamedFigure {
	var all []NamedFigure
	ends := endings(r.Pairs)
	for i, p := range r.Pairs {
		for _, f := range figure.OfPair(r.Settings, p) {
			all = append(all, NamedFigure{f.Name + ends[i], f})
		}
	}
	return all
}

func trendFigures(r result.Trend) []NamedFigure {
	var all []NamedFigure
	for _, c := range r.Captures {
		if len(c.Steps) == 0 {
			continue
		}
		f := figure.Trend(r.Settings, c)
		name := f.Name
		if len(r.Captures) > 1 {
			name += fmt.Sprintf("-ch%d", c.Channel)
		}
		all = append(all, NamedFigure{name, f})
	}
	return all
}

// FileTypes are the forms that a figure is written in.
var FileTypes = []string{"svg", "png", "pdf"}

// Draw is a figure as a file of one of FileTypes. A PNG of more than one pixel to
// a CSS pixel says so at the end of its name, e.g. "spectrum@2x.png".
func (f NamedFigure) Draw(fileType string, o figure.Options) (out publish.File, err error) {
	if o.ID == "" {
		o.ID = f.Name
	}
	out.Name = f.Name + "." + fileType
	switch fileType {
	case "png":
		if o.Density > 1 {
			out.Name = fmt.Sprintf("%s@%dx.png", f.Name, o.Density)
		}
		out.Data, err = f.PNG(o)
	case "pdf":
		out.Data, err = f.PDF(o)
	case "svg":
		out.Data = f.SVG(o)
	default:
		err = fmt.Errorf("figures are written as %s, not as %q", strings.Join(FileTypes, ", "), fileType)
	}
	return out, err
}
