package doc

import (
	"math"
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
)

// Expected strings follow from the SI Brochure (BIPM 2019, tables of prefixes)
// and from rounding by hand.
func TestNumbers(t *testing.T) {
	nan := model.Num(math.NaN())
	for _, c := range []struct{ got, want string }{
		{SI(1.449e-6, "V"), "1.45 µV"},
		{SI(126.4e-9, "V"), "126 nV"},
		{SI(999.4e-9, "V"), "999 nV"},
		{SI(999.6e-9, "V"), "1.00 µV"},
		{SI(99.96e-9, "V"), "100 nV"},
		{SI(9.996e-9, "V"), "10.0 nV"},
		{SI(0.0123, "V"), "12.3 mV"},
		{SI(2, "V"), "2.00 V"},
		{SI(0, "V"), "0 V"},
		{SI(-3.3e-6, "V"), "−3.30 µV"},
		{SI(3e-15, "V"), "0.0030 pV"},
		{SI(nan, "V"), "unknown"},
		{Quantity(estimate.Between(0.09e-6, 1.2e-6), "V"), "0.090 to 1.20 µV"},
		{Quantity(estimate.Between(0, 203e-9), "V"), "below 203 nV"},
		{Quantity(estimate.Between(1e-12, 203e-6), "V"), "below 203 µV"},
		{Prefix{"µ", 1e-6}.Digits(1.23e-9), "0.0012"},
		{Prefix{"µ", 1e-6}.Digits(0.00996e-6), "0.010"},
		{Prefix{"µ", 1e-6}.Digits(0.0402e-6), "0.040"},
		{Prefix{"µ", 1e-6}.Digits(0.3064e-6), "0.306"},
		{Prefix{"µ", 1e-6}.Digits(0.09996e-6), "0.100"},
		{DB(14.25), "14.2 dB"}, // 14.25 is exact in binary: half to even
		{DB(-0.04), "0.0 dB"},
		{DB(-0.06), "−0.1 dB"},
		{DBFS(-104), "−104.0 dBFS"},
		{DBFS(model.None), "unknown"},
		{dbRange(13.91, 14.52), "13.9 to 14.5"},
		{dbRange(13.91, 13.95), "13.91 to 13.95"},
		{DB(down(19.88)), "19.8 dB"},
		{DB(down(-2.11)), "−2.2 dB"},
		{DB(down(0.3)), "0.3 dB"}, // 0.3·10 is 3 but for the last bit
		{DB(up(-141.38)), "−141.3 dB"},
		{DB(up(-141.3)), "−141.3 dB"},
		{DB(up(-0.04)), "0.0 dB"},
		{DB(up(model.None)), "unknown"},
		{dbRange(-80.61, -80.59), "−80.61 to −80.59"},
		{dbRange(-80.601, -80.599), "−80.60"},
		{Delta(estimate.Of(14.23, 13.91, 14.52)), "14.2 dB"},
		{deltaLong(estimate.Of(14.23, 13.91, 14.52), 0.95), "14.2 dB (95 % interval 13.9 to 14.5 dB)"},
		{Delta(estimate.Above(9.19)), "at least 9.1 dB"},
		{Delta(estimate.Below(-9.19)), "at most −9.1 dB"},
		{Delta(estimate.None("")), "not measurable"},
		{Level(estimate.Below(-160.16)), "below −160.1 dBFS"},
		{Level(estimate.None("")), "unknown"},
		{Quantity(estimate.Below(1.2341e-6), "V"), "below 1.24 µV"},
		{Quantity(estimate.Below(0), "V"), "none"},
		{Quantity(estimate.Between(0.95e-12, 1.05e-12), "F"), "0.950 to 1.05 pF"},
		{Quantity(estimate.Between(1.0001e-12, 1.0002e-12), "F"), "1.00 pF"},
		{Hz(50), "50 Hz"},
		{Hz(49.98), "49.98 Hz"},
		{Hz(999.996), "1000 Hz"},
		{Hz(5000), "5 kHz"},
		{Hz(11200.41), "11.20041 kHz"},
		{ToneHz(1000.2), "1000.2 Hz"},
		{ToneHz(50.014), "50.01 Hz"},
		{Samples(model.Side{Bits: 24}), "24 bit"},
		{Samples(model.Side{Bits: 32, Float: true}), "32-bit float"},
		{mainsHz(49.98123, 0.0004), "49.9812 Hz ±0.0004 Hz"},
		{mainsHz(49.98123, 0.03), "49.98 Hz ±0.03 Hz"},
		{mainsHz(49.98123, 1e-9), "49.9812 Hz ±0.0001 Hz"},
		{mainsHz(50, model.None), "50 Hz"},
		{Seconds(60), "60 s"},
		{Seconds(1.5), "1.5 s"},
		{Percent(0.95), "95 %"},
		{Percent(0.975), "97.5 %"},
		{Count(1, "line"), "1 line"},
		{Count(0, "line"), "0 lines"},
		{File(""), "(no name)"},
		{File("a\x1b[31m\u202eb\n\xffc"), "a<U+001B>[31m<U+202E>b<U+000A>\ufffdc"},
		{File("/home/somebody/Example Ltd/Kabel 1.wav"), "Kabel 1.wav"},
		{File(`C:\Users\somebody\Kabel 1.wav#t=0,60`), "Kabel 1.wav#t=0,60"},
		{File("Kabel für Gerät.wav"), "Kabel für Gerät.wav"},
	} {
		kit.Same(t, c.got, c.want, "c.got")
	}
}

// One prefix and three digits give back the number within half a unit of the
// third digit, over the whole range of voltages.
func TestPrefixKeepsTheValue(t *testing.T) {
	for v := 1.1e-12; v < 900; v *= 1.07 {
		p := PrefixFor(model.Num(v))
		if x := v / p.Scale; x < 0.9995 || x >= 999.5 {
			t.Errorf("%g V is %g %sV", v, x, p.Name)
		}
	}
}

// says fails where a text isn't as wanted.
func says(t *testing.T, what, got, want string) {
	t.Helper()
	kit.Same(t, got, want, "%s says", what)
}

// What a residual shows of the instrument, in each of its turns.
func TestAResidualIsTold(t *testing.T) {
	const begins = "The residual, which has no cable, "
	for want, own := range map[string]model.Hum{
		"has hum of −110.0 dBFS, 20.0 dB below near's.":                          {Level: estimate.Of(-110, -110.1, -109.9)},
		"has hum of −80.0 dBFS, 10.0 dB above near's.":                           {Level: estimate.Of(-80, -80.1, -79.9)},
		"has no hum that could be found: it lies at least 30.0 dB below near's.": {Level: estimate.Below(-120)},
		"has no hum that could be found: it lies below −70.0 dBFS.":              {Level: estimate.Below(-70)},
		"has no hum that could be found.":                                        {},
	} {
		p := model.Pair{Residual: &model.Capture{Hum: own}}
		p.Quiet.Side, p.Near.Side = model.Side{File: "quiet.wav", EndS: 1}, model.Side{File: "near.wav", EndS: 1}
		p.Hum.Near, p.Hum.Delta, p.Hum.Lines = estimate.Of(-90, -90.1, -89.9), estimate.Of(10, 9.9, 10.1), 10
		says(t, "a residual", strings.Join(residual(pairOf(p, model.Settings{FullScaleVolts: model.None})), " "), begins+want)
		p.Residual.Health.Silent = true
		says(t, "a silent residual", strings.Join(residual(pairOf(p, model.Settings{})), " "), begins+"is silent: it says nothing of the instrument.")
	}
}

// A change in each of its turns: on the page, and above a figure.
func TestAChangeIsTold(t *testing.T) {
	for _, c := range []struct {
		quiet, near, delta   model.Estimate
		headline, rise, sure string
	}{
		{estimate.Below(-120), estimate.Of(-100, -100.1, -99.9), estimate.Above(19.88), "Hum rose by at least 19.8 dB on one placement of the lead.", "Hum rises by at least 19.8 dB beside a live lead",
			"In quiet hum lies below its upper limit, so the rise has no upper end. Placing the lead again changes pickup by decibels."},
		{estimate.Of(-100, -100.1, -99.9), estimate.Below(-120), estimate.Below(-19.88), "Hum fell by at least 19.8 dB on one placement of the lead.", "Hum falls by at least 19.8 dB beside a live lead",
			"In near hum lies below its upper limit, so the fall has no upper end. That is cancellation, or a changed bench, never immunity."},
		{estimate.Of(-80, -80.1, -79.9), estimate.Of(-90, -90.1, -89.9), estimate.Of(-10, -10.4, -9.7), "Hum fell 10.0 dB on one placement of the lead.", "Hum falls 10.0 dB beside a live lead",
			"The 0 % interval from recording noise alone is 9.7 to 10.4 dB. That is cancellation, or a changed bench, never immunity."},
		{estimate.Of(-80, -80.01, -79.99), estimate.Of(-79.96, -79.97, -79.95), estimate.Of(0.04, 0.02, 0.06), "Hum rose by less than 0.1 dB on one placement of the lead.", "Hum rises by less than 0.1 dB beside a live lead",
			"The 0 % interval from recording noise alone is 0.02 to 0.06 dB. Placing the lead again changes pickup by decibels."},
		{estimate.Below(-95), estimate.Of(-100, -100.1, -99.9), estimate.Above(-5.04), "Hum was found in near alone, yet a rise is not decided: the delta is at least −5.1 dB.", "A change of hum beside a live lead is not decided",
			"Placing the lead again changes pickup by decibels."},
		{estimate.Of(-100, -100.1, -99.9), estimate.Below(-95), estimate.Below(5.04), "Hum was found in quiet alone, yet a fall is not decided: the delta is at most 5.1 dB.", "A change of hum beside a live lead is not decided",
			"Placing the lead again changes pickup by decibels."},
		{model.Estimate{}, model.Estimate{}, model.Estimate{}, "No hum was found in either capture.", "No hum is found, quiet or beside a live lead", ""},
	} {
		var p model.Pair
		p.Quiet.Side, p.Near.Side = model.Side{File: "quiet.wav", EndS: 1}, model.Side{File: "near.wav", EndS: 1}
		p.Hum.Quiet, p.Hum.Near, p.Hum.Delta, p.Hum.Lines = c.quiet, c.near, c.delta, 10
		says(t, "the headline", headline(p, model.Settings{}), c.headline)
		says(t, "the figure", rise(p, model.Settings{}), c.rise)
		says(t, "how sure", tellOne("pair.sure", pairOf(p, model.Settings{})), c.sure)
	}
}

// By a reference, the answer is what the lead added, however little the sum changed.
func TestWhatTheLeadAddedComesFirst(t *testing.T) {
	var p model.Pair
	p.Quiet.Side, p.Near.Side = model.Side{File: "quiet.wav", EndS: 1}, model.Side{File: "near.wav", EndS: 1}
	p.Hum.Quiet, p.Hum.Near, p.Hum.Delta, p.Hum.Lines = estimate.Of(-70, -70.1, -69.9), estimate.Of(-70.5, -70.6, -70.4), estimate.Of(-0.5, -0.6, -0.4), 10
	p.Hum.Pickup = estimate.Of(1e-5, 0.99e-5, 1.01e-5)
	p.Quiet.Reference, p.Near.Reference = &model.Reference{}, &model.Reference{}
	says(t, "the headline", headline(p, model.Settings{FullScaleVolts: model.None}), "The lead added −100.0 dBFS on one placement: hum fell 0.5 dB.")
	says(t, "the figure", rise(p, model.Settings{FullScaleVolts: model.None}), "A live lead adds −100.0 dBFS, though hum falls 0.5 dB")
	if asked := strings.Join(tell("pair.open", pairOf(p, model.Settings{})), " "); strings.Contains(asked, "Lower the hum") || strings.Contains(asked, "wrong order") || !strings.Contains(asked, "unplugged-lead control") {
		t.Errorf("what a reference has settled is asked again, or what it hasn't is not: %s", asked)
	}
	p.Near.Reference.Why = "weak"
	says(t, "the headline by a useless reference", headline(p, model.Settings{FullScaleVolts: model.None}), "Hum fell 0.5 dB on one placement of the lead.")
}

// A capture by itself, in each of its turns.
func TestACaptureIsTold(t *testing.T) {
	set := model.Settings{Confidence: 0.95, FullScaleVolts: model.None}
	for _, c := range []struct {
		level                model.Estimate
		clipped              int
		silent               bool
		headline, sure, next string
	}{
		{estimate.Of(-80, -80.3, -79.8), 0, false, "Hum is −80.0 dBFS.", "The 95 % interval from recording noise alone is −80.3 to −79.8 dBFS.", "Compare it with a capture in which one thing was changed, to see where the hum comes from."},
		{estimate.Of(-80, -80.3, -79.8), 1, false, "Not usable as it is: 1 sample is clipped.", "", "Clipping makes lines of its own and changes the levels of others. Record again at a lower gain."},
		{model.Estimate{}, 0, true, "Nothing was recorded: every sample has the same value.", "", "Check the input that was recorded, and record again."},
		{estimate.Below(-120), 0, false, "No hum was found: its total lies below −120.0 dBFS.", "That there is no hum is not shown: only that it lies below the upper limit.", "Record longer: that lowers the upper limit."},
		{model.Estimate{}, 0, false, "No hum was found.", "That there is no hum is not shown: only that none was found.", "No upper limit is known. For upper limits say which mains you have: --mains 50 or --mains 60."},
	} {
		x := samples.Compare().Pairs[0].Near
		x.Hum.Level, x.Health.Clipped, x.Health.Silent = c.level, c.clipped, c.silent
		says(t, "the headline", captureHeadline(x, set), c.headline)
		told := tellCapture(x, set, nil)
		says(t, "how sure", strings.Join(told.sure, " "), c.sure)
		says(t, "what is next", strings.TrimSpace(told.open[0].what + " " + told.open[0].next)[:len(c.next)], c.next)
	}
}

// Where hum stands still, in each of its turns.
func TestATrendIsTold(t *testing.T) {
	span := func(from, to float64, state string) model.TrendSpan {
		return model.TrendSpan{StartS: model.Num(from), EndS: model.Num(to), State: state, Hum: estimate.Of(-80, -80.1, -79.9)}
	}
	for want, c := range map[string]model.TrendCapture{
		"No hum was found.":                     {},
		"Hum is steady throughout: −80.0 dBFS.": {Steps: make([]model.TrendStep, 3), Spans: []model.TrendSpan{span(0, 9, model.Still)}},
		"Hum is strongest from 0 s to 9 s: −80.0 dBFS. It is steady in 1 span.": {Steps: make([]model.TrendStep, 3), Spans: []model.TrendSpan{span(0, 9, model.Still), span(9, 12, "")}},
		"Hum is steady in 1 span.": {Steps: make([]model.TrendStep, 3), Spans: []model.TrendSpan{span(0, 9, model.Still), span(9, 12, "")}, Loudest: -1},
	} {
		says(t, "a trend", trendHeadline(c, model.Settings{}), want)
	}
}

// Whether hum could be heard, in each of its turns; none says that it can't.
func TestAudibilityIsTold(t *testing.T) {
	for _, c := range []struct {
		volts, below, margin model.Estimate
		verdict              string
		unjudged             []int
		want                 string
	}{
		{model.Estimate{}, model.Estimate{}, model.Estimate{}, model.NotPlayed, nil, "How strong the hum is at the input is unknown: without the input's full scale there are no volts."},
		{estimate.Between(1e-6, 2e-6), estimate.Between(90, 96), model.Estimate{}, model.NotPlayed, nil, "With the lead near, the hum at the input is 1.00 to 2.00 µV rms, 90.0 to 96.0 dB below a programme of 1.00 V."},
		{estimate.Below(2e-6), estimate.Above(90.06), model.Estimate{}, model.NotPlayed, nil, "With the lead near, the hum at the input is below 2.00 µV rms, at least 90.0 dB below a programme of 1.00 V."},
		{estimate.Between(1, 2), estimate.Between(-3, 3), model.Estimate{}, model.NotPlayed, nil, "With the lead near, the hum at the input is 1.00 to 2.00 V rms, about as strong as a programme of 1.00 V."},
		{estimate.Between(2, 4), estimate.Between(-12, -6), model.Estimate{}, model.NotPlayed, nil, "With the lead near, the hum at the input is 2.00 to 4.00 V rms, 6.0 dB above a programme of 1.00 V."},
		{estimate.Below(1), model.Estimate{}, estimate.Between(12, 15), model.AboveThreshold, nil, "Played that way it lies 10 dB or more above the threshold of hearing (harmonic 3): most listeners would hear it in silence."},
		{estimate.Below(1), model.Estimate{}, estimate.Between(-30, -20.04), model.BelowThreshold, nil, "Under the assumptions below it lies at least 20.0 dB below the threshold of hearing (harmonic 3): few listeners would hear it even in silence."},
		{estimate.Below(1), model.Estimate{}, estimate.Between(-3, 2), model.NearThreshold, nil, "Whether it could be heard played that way is not decided: it lies 3.0 dB below to 2.0 dB above the threshold of hearing (harmonic 3). Listeners differ by as much as 10 dB."},
		{estimate.Below(1), model.Estimate{}, estimate.Between(1, 2), model.NearThreshold, nil, "Whether it could be heard played that way is not decided: it lies 1.0 to 2.0 dB above the threshold of hearing (harmonic 3). Listeners differ by as much as 10 dB."},
		{estimate.Below(1), model.Estimate{}, estimate.Between(-3, -2), model.NearThreshold, nil, "Whether it could be heard played that way is not decided: it lies 2.0 to 3.0 dB below the threshold of hearing (harmonic 3). Listeners differ by as much as 10 dB."},
		{estimate.Below(1), model.Estimate{}, estimate.Below(-2), model.NearThreshold, nil, "Whether it could be heard played that way is not decided: its limit lies 2.0 dB below the threshold of hearing (harmonic 3)."},
		{estimate.Below(1), model.Estimate{}, estimate.Below(-2), model.NearThreshold, []int{7}, "Whether it could be heard played that way is not decided: some lines have neither a level nor a limit."},
		{estimate.Below(1), model.Estimate{}, model.Estimate{}, model.NearThreshold, nil, "Whether it could be heard played that way is not decided: no line has a level or a limit."},
	} {
		a := samples.Audible()
		a.HumVolts, a.BelowProgrammeDB, a.Verdict, a.Unjudged, a.Playback.ProgrammeVolts = c.volts, c.below, c.verdict, c.unjudged, 1
		a.Band.MarginDB, a.Band.Harmonics = c.margin, []int{3}
		at := 1
		if c.verdict == model.NotPlayed {
			at = 0
		}
		says(t, "audibility", audibleSaid(a)[at], c.want)
	}
}
