package doc

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
)

// rich is a result with everything that a comparison can have.
func rich() model.Compare {
	r := samples.WithResidual()
	a := samples.Audible()
	r.Pairs[0].Audibility = &a
	return r
}

// Every number in the text of a rich result is one of the model, rounded as it is
// printed; told of another model, nearly all of them are wrong.
func TestEveryNumberIsTheModels(t *testing.T) {
	r := rich()
	d := Compare(r, UnitFor(r.Settings))
	rows, wrong := walkRows(d, r)
	if rows < 350 || len(wrong) > 0 {
		t.Errorf("%d numbers in lines, not the model's: %q", rows, wrong)
	}
	said, wrong := walkSentences(d, r)
	if said < 150 || len(wrong) > 0 {
		t.Errorf("%d numbers in sentences, not the model's: %q", said, wrong)
	}
	moved := rich()
	for _, lines := range [][]model.Line{moved.Pairs[0].Quiet.Lines, moved.Pairs[0].Near.Lines} {
		for i := range lines {
			lines[i].Level = lines[i].Level.Shift(0.3)
		}
	}
	if _, wrong := walkRows(d, moved); len(wrong) < 60 { // as many levels were found
		t.Errorf("only %d of the moved levels were missed", len(wrong))
	}
}

// So it is of what a reference tells, of a pair and of a survey.
func TestEveryNumberByAReferenceIsTheModels(t *testing.T) {
	r := referenced()
	p := pairOf(r.Pairs[0], r.Settings)
	said, wrong := walkSentences(Compare(r, UnitFor(r.Settings)), r, append(around(p.Added()), p.Under().Float(), float64(p.Referred()), p.Steady().Float())...)
	if said < 150 || len(wrong) > 0 {
		t.Errorf("%d numbers in sentences, not the model's: %q", said, wrong)
	}
	trend := surveyed()
	n := 0
	known := []float64{float64(len(trend.Captures[0].Steps)), 500, 1, 2, 3, float64(trend.Captures[0].Lines - 1)} // of spans; a step in ms; lines summed
	collect(reflect.ValueOf(trend), &known)
	scale, _ := trend.Settings.ScaleOf(model.ForAll)
	for _, x := range trend.Captures[0].Spans {
		added := scale.AmplitudeInVolts(referred(x).Added)
		for _, e := range []model.Estimate{scale.InVolts(x.Hum), added, added.Map(func(v float64) float64 { return v * 1e9 })} { // the column is in nV
			known = append(known, around(e)...)
		}
		for _, r := range referred(x).Ratios {
			size := func(v float64) float64 { return 20 * math.Log10(v) }
			known = append(known, around(estimate.Of(size(math.Hypot(float64(r.Re), float64(r.Im))), size(float64(r.Lo)), size(float64(r.Hi))))...)
		}
	}
	for _, text := range allTexts(Trend(trend, InDBFS)) {
		for _, token := range numbersIn(trendConstants.ReplaceAllString(constants.ReplaceAllString(text, " "), " ")) {
			if n++; !anyOf(token, text, known) && !strings.Contains(text, "0 dBFS is") {
				t.Errorf("%s in %s", token, text)
			}
		}
	}
	if n < 40 {
		t.Errorf("%d numbers", n)
	}
}

// trendConstants are what is said of any trend.
var trendConstants = regexp.MustCompile(`for 2 s or more|changes by 2 dB|drifts by 1.5 dB|asks for 10 s|parts of 20 to 40 s|ch=\d|harmonic \d`)

// referenced is a rich result by a reference: the pickup and two lines of it have values.
func referenced() model.Compare {
	r := rich()
	r.Settings.Reference = 2
	p := &r.Pairs[0]
	p.Quiet.Reference, p.Near.Reference = &model.Reference{Channel: 2, SteadyDB: -71.3}, &model.Reference{Channel: 2, SteadyDB: -68.4}
	p.Hum.Pickup = estimate.Of(3.17e-5, 3.05e-5, 3.29e-5).At(0.4, 0.03)
	for h := range 2 {
		p.Quiet.Lines[h].Ratio, p.Near.Lines[h].Ratio = &model.Ratio{Re: 0.01, Lo: 0.009, Hi: 0.011}, &model.Ratio{Re: 0.02, Lo: 0.019, Hi: 0.021}
		p.Lines[h].Pickup = estimate.Of(2.1e-5, 2e-5, 2.2e-5).At(0.3, 0.02)
	}
	return r
}

// surveyed is a trend by a reference.
func surveyed() model.Trend {
	r := samples.Trend()
	r.Settings.Reference = 2
	ratio := func(re model.Num) []model.TrendRatio {
		return []model.TrendRatio{{Harmonic: 1, Ratio: model.Ratio{Re: re, Im: 0.002, Lo: re, Hi: re + 0.004}}}
	}
	spans := r.Captures[0].Spans
	spans[0].Referred = &model.TrendReferred{SteadyDB: -66.1, Ratios: ratio(0.031), Added: estimate.None("")}
	spans[2].Referred = &model.TrendReferred{SteadyDB: -61.7, Ratios: ratio(0.047), Added: estimate.Of(4.31e-6, 4.21e-6, 4.41e-6)}
	return r
}

// walkRows holds each cell of the table of lines against what its own line has for
// its column.
func walkRows(d Document, r model.Compare) (n int, wrong []string) {
	p := r.Pairs[0]
	scale, _ := r.Settings.ScaleOf(model.ForNear)
	rows := p.Rows()
	for _, table := range tablesOf(d, "lines") {
		for _, row := range table.Rows {
			l := rows[row.Line-1]
			of := map[string]model.Estimate{"harmonic": exactly(model.Num(l.Harmonic)), "frequency": exactly(l.Hz), "quiet": l.Quiet.Level, "near": l.Near.Level,
				"delta": l.Delta, "pickup": scale.AmplitudeInVolts(l.Pickup).Map(func(v float64) float64 { return v * 1e9 }), "floor": exactly(l.Near.FloorDBFSHz)}
			for i, c := range row.Cells {
				if !row.Shown || table.Columns[i].Head == "" {
					continue
				}
				for _, token := range numbersIn(c.String()) {
					n++
					if !anyOf(token, c.String(), around(of[table.Columns[i].Head])) {
						wrong = append(wrong, fmt.Sprintf("%s of harmonic %d: %s", table.Columns[i].Head, l.Harmonic, token))
					}
				}
			}
		}
	}
	return n, wrong
}

func tablesOf(d Document, section string) (all []Table) {
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if t, ok := b.(Table); ok && s.ID == section {
				all = append(all, t)
			}
		}
	}
	return all
}

// around are an estimate's numbers and how far its ends lie from its value.
func around(e model.Estimate) []float64 {
	v, lo, hi := e.Numbers()
	return []float64{v, lo, hi, v - lo, lo - v, hi - v}
}

// walkSentences holds every other number against all that the model has.
func walkSentences(d Document, r model.Compare, besides ...float64) (n int, wrong []string) {
	known := append(known(r), besides...)
	for _, s := range d.Sections {
		if s.ID == "method" || s.ID == "others" || s.ID == "hashes" {
			continue // of these nothing is measured
		}
		for _, text := range allTexts(Document{Title: d.Title, Lead: d.Lead, Sections: []Section{withoutRows(s)}}) {
			for _, token := range numbersIn(constants.ReplaceAllString(text, " ")) {
				n++
				if !anyOf(token, text, known) {
					wrong = append(wrong, token+" in "+text)
				}
			}
		}
	}
	return n, wrong
}

// withoutRows is a section without the rows of its table of lines.
func withoutRows(s Section) Section {
	blocks := []Block{}
	for _, b := range s.Blocks {
		if t, ok := b.(Table); ok && s.ID == "lines" {
			t.Rows = nil
			b = t
		}
		blocks = append(blocks, b)
	}
	s.Blocks = blocks
	return s
}

// constants are what a sentence says of any result.
var constants = regexp.MustCompile(`0 dBFS (is|of)|band of 1 Hz|AES17|61672-1|389-7|BS.468-4|2\.83 V and 1 m|0\.9 dB|by 10 dB|much as 10 dB|reads? 0 dB|−3 dB|3 dB less|4c1e-9b07-d2f8|0\.0-sample|[a-z.0-9]*\.wav|2\.0V|--full`)

var numberToken = regexp.MustCompile(`−?\d+(\.\d+)?( [pnµmk]?(V|Hz|m|s)\b| %)?`)

// voltsRange is two voltages, of which only the second has a unit.
var voltsRange = regexp.MustCompile(`([\d.]+) to ([\d.]+ [pnµm]V)`)

func numbersIn(text string) []string {
	text = voltsRange.ReplaceAllStringFunc(text, func(s string) string {
		lo, hi, _ := strings.Cut(s, " to ")
		_, unit, _ := strings.Cut(hi, " ")
		return lo + " " + unit + " to " + hi
	})
	return numberToken.FindAllString(strings.ReplaceAll(text, "/+", " +"), -1)
}

// bounds are rounded away from the claim.
var bounds = regexp.MustCompile(`below|at least|at most|upper limit`)

// anyOf says whether a printed number is one of some values, rounded to its digits.
func anyOf(token, text string, values []float64) bool {
	digits, unit, _ := strings.Cut(strings.Replace(token, "−", "-", 1), " ")
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return false
	}
	_, decimals, _ := strings.Cut(digits, ".")
	step := math.Pow(10, -float64(len(decimals)))
	scale := map[string]float64{"pV": 1e-12, "nV": 1e-9, "µV": 1e-6, "mV": 1e-3, "kHz": 1e3, "%": 0.01, "mm": 1e-3}[unit]
	if scale == 0 {
		scale = 1
	}
	within := 0.5001
	if bounds.MatchString(text) {
		within = 1.0001
	}
	for _, v := range values {
		if math.Abs(v-x*scale) <= within*step*scale {
			return true
		}
	}
	return false
}

// known are all numbers of a result, and those that are worked out of them where
// they are shown.
func known(r model.Compare) []float64 {
	var all []float64
	collect(reflect.ValueOf(r), &all)
	scale, _ := r.Settings.ScaleOf(model.ForNear)
	p := r.Pairs[0]
	for _, e := range []model.Estimate{p.Hum.Quiet, p.Hum.Near, p.Near.Lines[0].Level, p.Residual.Hum.Level} {
		all = append(all, around(scale.InVolts(e))...)
	}
	all = append(all, around(scale.AmplitudeInVolts(p.Hum.Pickup))...)
	full := exactly(r.Settings.FullScaleVolts)
	all = append(append(all, around(model.DBV(full))...), around(model.DBu(full))...)
	all = append(all, limitsOf(p)...)
	below, _ := p.Audibility.Band.MarginDB.Lower()
	all = append(all, -below) // "4.1 dB below"
	c := CountLines(p)
	limit, _ := p.Residual.Hum.Level.Upper()
	near, _ := p.Hum.Near.Value()
	for _, h := range []int{1, 3, 9} { // the strongest
		l := p.Rows()[h-1]
		for _, hz := range []model.Num{l.LineHz(p.Near.Mains.Hz), l.LineHz(p.Quiet.Mains.Hz)} {
			all = append(all, float64(h), hz.Float())
		}
		all = append(append(append(all, around(l.Near.Level)...), around(l.Quiet.Level)...), around(l.Delta)...)
	}
	return append(all, float64(c.Both), float64(c.NearOnly), float64(c.QuietOnly), float64(c.Neither), float64(len(p.Lines)), near-limit,
		p.Near.EndS-p.Near.StartS, r.Settings.FalseAlarmShare/2, float64(len(p.Lines)-c.Neither-keyLines), 2, // lines below quiet
		math.Round(float64(p.Near.RateHz)/float64(p.Near.Trace.BinHz)))
}

// limitsOf are the ends of the upper limits of lines found on neither side.
func limitsOf(p model.Pair) []float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, l := range p.Rows() {
		for _, side := range []model.Line{l.Quiet, l.Near} {
			if v, ok := side.Level.Upper(); ok && !foundIn(l) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	return []float64{lo, hi}
}

// collect gathers every number that a value holds.
func collect(v reflect.Value, all *[]float64) {
	switch {
	case v.Type() == reflect.TypeFor[estimate.Estimate]():
		*all = append(*all, around(v.Interface().(estimate.Estimate))...)
	case v.CanFloat():
		*all = append(*all, v.Float())
	case v.CanInt():
		*all = append(*all, float64(v.Int()))
	case v.Type() == reflect.TypeFor[model.Trace]():
		t := v.Interface().(model.Trace)
		*all = append(*all, t.BinHz.Float(), t.ENBWHz.Float())
	case v.Type() == reflect.TypeFor[model.Cycle](), v.Type() == reflect.TypeFor[[]model.Line](), v.Type() == reflect.TypeFor[[]model.LineChange]():
		return // so many that some would be any number
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			collect(v.Field(i), all)
		}
	case v.Kind() == reflect.Pointer && !v.IsNil():
		collect(v.Elem(), all)
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8, v.Kind() == reflect.Array:
		for i := range v.Len() {
			collect(v.Index(i), all)
		}
	}
}
