package assemble

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"humdiff/fft"
	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/result"
)

func power(dB float64) float64 { return math.Pow(10, dB/10) }

func detected(dB float64) mains.Level {
	return mains.Level{Detected: true, Power: power(dB), Lo: power(dB - 1), Hi: power(dB + 1), Limit: math.NaN()}
}

func undetected(limit float64) mains.Level {
	return mains.Level{Power: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Limit: power(limit)}
}

func line(h int, hz float64, l mains.Level) mains.Line {
	share := mains.Share{Noise: power(-165), Variance: power(-165) * power(-165) / 4}
	if l.Detected {
		share.Excess, share.Variance = l.Power, math.Pow((l.Hi-l.Power)/1.96, 2)
	}
	return mains.Line{Harmonic: h, Hz: hz, Level: l, Share: share, Floor: power(-150), Steadiness: math.NaN(), Rho: math.NaN(), Method: mains.MethodBlocks}
}

// spectrumOf is white noise of a density at 48 kHz.
func spectrumOf(density float64) fft.Spectrum {
	s := fft.Spectrum{Rate: 48000, N: 1 << 14, Window: "nuttall", ENBW: 2.02, Averages: 10, Density: make([]float64, 1<<13+1)}
	for j := range s.Density {
		s.Density[j] = density
	}
	return s
}

// heard is a channel in which mains was found: hum at -100 dBFS and up by more.
func heard(file string, f0, more float64) Channel {
	return Channel{
		Side: result.Side{File: file, Channel: 1, StartS: 0, EndS: 60, RateHz: 48000, Bits: 24, SHA256: strings.Repeat(file[:1], 64)},
		Measurement: mains.Measurement{
			Rate: 48000, Seconds: 60, UpTo: 5000,
			Mains:    mains.Mains{Detected: true, Nominal: 50, Hz: f0, U95: 0.0004, Min: f0 - 0.01, Max: f0 + 0.01, Tracked: true},
			Lines:    []mains.Line{line(1, f0, detected(-100+more)), line(2, 2*f0, undetected(-165)), line(3, 3*f0, detected(-120+more))},
			Hum:      detected(-99.96 + more),
			Cycle:    &mains.Cycle{Hz: f0, Samples: []float64{0, 1e-5, 0, -1e-5}, Crest: 1.5},
			Tones:    []mains.Tone{{Hz: 1234.5, Power: power(-110)}},
			Spectrum: spectrumOf(power(-150)),
			Health:   mains.Health{Facts: health.Facts{Peak: 0.5, PeakSeconds: 3, DC: -0.001}},
		},
	}
}

// unheard is a channel in which nothing was found, not even a nominal.
func unheard(file string) Channel {
	c := heard(file, 50, 0)
	c.Mains = mains.Mains{Hz: math.NaN(), U95: math.NaN(), Min: math.NaN(), Max: math.NaN()}
	c.Lines, c.Cycle, c.Tones = nil, nil, nil
	c.Hum = mains.Level{}
	return c
}

// searched is a channel without mains whose lines were sought around f0.
func searched(file string, f0 float64) Channel {
	c := heard(file, f0, 0)
	c.Mains = mains.Mains{Nominal: 50, Hz: f0, U95: math.NaN(), Min: math.NaN(), Max: math.NaN()}
	c.Lines = []mains.Line{line(1, f0, undetected(-160)), line(2, 2*f0, undetected(-160)), line(3, 3*f0, undetected(-160))}
	c.Hum, c.Cycle, c.Tones = undetected(-155), nil, nil
	return c
}

// silent is a channel of zeros.
func silent(file string) Channel {
	c := unheard(file)
	c.Spectrum = spectrumOf(0)
	c.Health = mains.Health{Facts: health.Facts{Silent: true}}
	return c
}

var (
	onVolts = result.Settings{Mains: "auto", UpToHz: 5000, Window: "nuttall", FullScaleVolts: 2, FullScaleSaid: "2.0V", Confidence: 0.95, FalseAlarmShare: 0.01}
	noVolt  = result.Settings{Mains: "auto", UpToHz: 5000, Window: "nuttall", FullScaleVolts: result.None, Confidence: 0.95, FalseAlarmShare: 0.01}
)

func pairOf(q, n Channel) []Pair { return []Pair{{Quiet: q, Near: n}} }

// everyCompare are results in which everything, something and nothing is found.
func everyCompare() map[string]result.Compare {
	return map[string]result.Compare{
		"both found":    Compare("v1", onVolts, pairOf(heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 14))),
		"volts unknown": Compare("v1", noVolt, pairOf(heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 14))),
		"near alone":    Compare("v1", onVolts, pairOf(searched("q.wav", 49.99), heard("n.wav", 49.99, 14))),
		"one unknown":   Compare("v1", onVolts, pairOf(unheard("q.wav"), heard("n.wav", 49.99, 14))),
		"none found":    Compare("v1", noVolt, pairOf(unheard("q.wav"), unheard("n.wav"))),
		"silent":        Compare("v1", onVolts, pairOf(silent("q.wav"), silent("n.wav"))),
		"no spectrum":   Compare("v1", onVolts, pairOf(Channel{}, Channel{})),
		"no pair":       Compare("v1", onVolts, nil),
	}
}

func everyMeasure() map[string]result.Measure {
	return map[string]result.Measure{
		"found":         Measure("v1", onVolts, []Channel{heard("q.wav", 49.97, 0)}),
		"volts unknown": Measure("v1", noVolt, []Channel{heard("q.wav", 49.97, 0)}),
		"sought":        Measure("v1", onVolts, []Channel{searched("q.wav", 50)}),
		"not found":     Measure("v1", onVolts, []Channel{unheard("q.wav")}),
		"silent":        Measure("v1", onVolts, []Channel{silent("q.wav")}),
		"no capture":    Measure("v1", onVolts, nil),
	}
}

func TestResultsSurviveJSON(t *testing.T) {
	for name, want := range everyCompare() {
		roundTrip(t, name, want)
	}
	for name, want := range everyMeasure() {
		roundTrip(t, name, want)
	}
}

// sameNum takes absent numbers for equal.
var sameNum = cmp.Comparer(func(a, b result.Num) bool { return a == b || !a.Ok() && !b.Ok() })

// roundTrip fails unless a result read back from JSON equals the one written;
// absent numbers are equal, absent and empty lists are not.
func roundTrip[T any](t *testing.T, name string, want T) {
	t.Helper()
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var got T
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if diff := cmp.Diff(want, got, sameNum); diff != "" {
		t.Errorf("%s: written (-) and read back (+) differ:\n%s", name, diff)
	}
}

// The contract: DESIGN.md, section JSON, with every object spelled out.
const compareContract = `{"schema":"humdiff/compare/1","tool":{"version":""},"settings":{},
 "pairs":[{"quiet":{"file":"","channel":1,"start_s":0,"end_s":60,"rate_hz":96000,"bits":24,"sha256":""},
   "near":{"file":"","channel":1,"start_s":0,"end_s":60,"rate_hz":96000,"bits":24,"sha256":""},
   "mains":{"nominal_hz":50,"quiet_hz":49.97,"near_hz":49.99},
   "lines":[{"harmonic":1,"hz":49.98,
     "quiet":{"state":"detected","dbfs":-95.0,"lo_dbfs":-95.1,"hi_dbfs":-94.9,"limit_dbfs":null,
              "floor_dbfs_hz":-150.0,"volts":null,"steadiness":0.99},
     "near":{"state":"undetected","dbfs":null,"lo_dbfs":null,"hi_dbfs":null,"limit_dbfs":-160.1,
             "floor_dbfs_hz":-150.0,"volts":null,"steadiness":null},
     "delta":{"state":"measured","db":null,"lo_db":null,"hi_db":null},
     "pickup":{"lo_volts":null,"hi_volts":null}}],
   "hum":{"quiet_dbfs":null,"near_dbfs":null,"delta":{"state":"measured","db":null,"lo_db":null,"hi_db":null}},
   "noise":{"band_hz":[20,20000],"quiet_dbfs":null,"near_dbfs":null,"quiet_a_dbfs":null,"near_a_dbfs":null},
   "tones":{"quiet":[{"hz":1234.5,"dbfs":-100}],"near":[]}}],
 "warnings":[{"code":"clipped","file":"","channel":1,"message":""}]}`

const measureContract = `{"schema":"humdiff/measure/1",
 "captures":[{"file":"","channel":1,"start_s":0,"end_s":60,"rate_hz":96000,"bits":24,"sha256":"",
   "mains":{"detected":true,"nominal_hz":50,"hz":49.97,"u95_hz":0.0004,"min_hz":49.95,"max_hz":49.99},
   "lines":[{"harmonic":1,"hz":49.98,"state":"detected","dbfs":-95.0,"lo_dbfs":-95.1,"hi_dbfs":-94.9,"limit_dbfs":null,
     "floor_dbfs_hz":-150.0,"volts":null,"steadiness":0.99}],
   "hum":{},"noise":{},"tones":[]}],
 "warnings":[{"code":"clipped","file":"","channel":1,"message":""}]}`

func TestEveryKeyOfTheContractIsThere(t *testing.T) {
	for name, r := range everyCompare() {
		keep(t, name, compareContract, r)
	}
	for name, r := range everyMeasure() {
		keep(t, name, measureContract, r)
	}
}

func keep(t *testing.T, name, contract string, r any) {
	t.Helper()
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var want, got any
	if err := json.Unmarshal([]byte(contract), &want); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	for _, fault := range breaches("", want, got) {
		t.Errorf("%s: %s", name, fault)
	}
}

// breaches compares shapes: every key of want is in got, a list stays a list,
// and a number is a number or null. A list's elements follow want's first.
func breaches(at string, want, got any) (list []string) {
	switch want := want.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok {
			return []string{at + " is no object"}
		}
		for key, value := range want {
			if _, ok := object[key]; !ok {
				list = append(list, at+"."+key+" is missing")
				continue
			}
			list = append(list, breaches(at+"."+key, value, object[key])...)
		}
	case []any:
		elements, ok := got.([]any)
		if !ok {
			return []string{at + " is no list"}
		}
		for _, e := range elements {
			if len(want) > 0 {
				list = append(list, breaches(at+"[]", want[0], e)...)
			}
		}
	case string, bool:
		if got == nil {
			return []string{at + " is null"}
		}
	default:
		if _, ok := got.(float64); got != nil && !ok {
			return []string{at + " is neither number nor null"}
		}
	}
	return list
}

func near(t *testing.T, what string, got result.Num, want float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) < 1e-6) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func TestNumbersReachTheirPlaces(t *testing.T) {
	p := Compare("v1", onVolts, pairOf(heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 20))).Pairs[0]
	h1, h2 := p.Lines[0], p.Lines[1]
	near(t, "mains", p.Mains.QuietHz, 49.97)
	near(t, "hz", h1.Hz, 49.98)
	near(t, "quiet", h1.Quiet.DBFS, -100)
	near(t, "quiet lo", h1.Quiet.LoDBFS, -101)
	near(t, "near hi", h1.Near.HiDBFS, -79)
	near(t, "quiet volts", h1.Quiet.Volts, 2e-5) // -100 dB of 2 V
	near(t, "floor", h1.Near.FloorDBFSHz, -150)
	near(t, "delta", h1.Delta.DB, 20)
	near(t, "delta lo", h1.Delta.LoDB, 20-math.Sqrt2)
	near(t, "pickup", h1.Pickup.LoVolts, 2*(math.Pow(10, -81./20)-math.Pow(10, -99./20)))
	near(t, "pickup", h1.Pickup.HiFS, math.Pow(10, -79./20)+math.Pow(10, -99./20))
	near(t, "limit", h2.Quiet.LimitDBFS, -165)
	near(t, "hum delta", p.Hum.Delta.DB, 20)
	near(t, "noise", p.Noise.QuietDBFS, -150+10*math.Log10(19980))
	if a := p.Noise.NearADBFS - p.Noise.NearDBFS; !(math.Abs(float64(a)+2.048) < 0.001) { // see report/noise
		t.Errorf("noise, A-weighted less flat: %v dB, want -2.048", a)
	}
	if h2.Delta.State != result.NotMeasurable || h2.Quiet.DBFS.Ok() || h2.Quiet.Volts.Ok() || p.Hum.Lines != 3 {
		t.Errorf("h = 2: %+v; %d lines in the sum", h2, p.Hum.Lines)
	}
	c := Measure("v1", onVolts, []Channel{heard("q.wav", 49.97, 0)}).Captures[0]
	near(t, "peak", c.Health.PeakDBFS, 20*math.Log10(0.5))
	near(t, "tone", c.Tones[0].DBFS, -110)
	near(t, "u95", c.Mains.U95Hz, 0.0004)
	near(t, "crest", c.Cycle.Crest, 1.5)
}

// Nothing found is no number at all, least of all zero.
func TestNothingFoundIsNull(t *testing.T) {
	c := Compare("v1", onVolts, pairOf(unheard("q.wav"), unheard("n.wav")))
	p := c.Pairs[0]
	for what, n := range map[string]result.Num{
		"nominal": p.Mains.NominalHz, "quiet mains": p.Mains.QuietHz, "quiet hum": p.Hum.QuietDBFS, "quiet limit": p.Hum.Quiet.LimitDBFS,
		"hum delta": p.Hum.Delta.DB, "pickup": p.Hum.Pickup.LoVolts, "pickup fs": p.Hum.Pickup.HiFS, "cycle": p.Cycle.Near.Hz,
	} {
		if n.Ok() {
			t.Errorf("%s: got %v, want none", what, n)
		}
	}
	if len(p.Lines) != 0 || p.Hum.Delta.State != result.NotMeasurable || p.Hum.Quiet.State != result.Undetected {
		t.Errorf("lines %v, hum %+v", p.Lines, p.Hum)
	}
	p = Compare("v1", onVolts, pairOf(silent("q.wav"), silent("n.wav"))).Pairs[0]
	if p.Noise.QuietDBFS.Ok() || p.Noise.QuietADBFS.Ok() {
		t.Errorf("noise of digital silence: %+v", p.Noise)
	}
}

func codes(list []result.Warning) (c []string) {
	for _, w := range list {
		c = append(c, w.Code)
	}
	return c
}

func TestWarnings(t *testing.T) {
	plain := func() (Channel, Channel) { return heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 30) }
	for name, c := range map[string]struct {
		settings result.Settings
		change   func(q, n *Channel)
		want     []string // beside one_placement
	}{
		"nothing":          {onVolts, func(q, n *Channel) {}, nil},
		"scale":            {noVolt, func(q, n *Channel) {}, []string{"scale_unknown"}},
		"rate":             {onVolts, func(q, n *Channel) { n.RateHz = 96000 }, []string{"rates_differ"}},
		"bits":             {onVolts, func(q, n *Channel) { q.Bits = 16 }, []string{"bits_differ"}},
		"float":            {onVolts, func(q, n *Channel) { q.Bits, q.Float = 32, true }, []string{"formats_differ"}},
		"channels":         {onVolts, func(q, n *Channel) { n.Channel = 2 }, []string{"channels_differ"}},
		"one's mains":      {onVolts, func(q, n *Channel) { *q = searched("q.wav", 49.99) }, []string{"mains_from_other"}},
		"other's mains":    {onVolts, func(q, n *Channel) { *n = searched("n.wav", 49.99) }, []string{"mains_from_other", "near_below_quiet"}},
		"nominals":         {onVolts, func(q, n *Channel) { n.Mains.Nominal = 60 }, []string{"mains_differ"}},
		"no mains":         {onVolts, func(q, n *Channel) { *q, *n = unheard("q.wav"), unheard("n.wav") }, []string{"no_mains"}},
		"no mains, sought": {onVolts, func(q, n *Channel) { *q, *n = searched("q.wav", 50), searched("n.wav", 50) }, []string{"no_mains"}},
		"quiet is close":   {onVolts, func(q, n *Channel) { *n = heard("n.wav", 49.99, 14) }, []string{"quiet_close_to_near"}},
		"quiet may be close": {onVolts, func(q, n *Channel) { *q = searched("q.wav", 49.99); q.Hum = undetected(-80) },
			[]string{"mains_from_other", "quiet_close_to_near"}},
		"below":         {onVolts, func(q, n *Channel) { *n = heard("n.wav", 49.99, -6) }, []string{"near_below_quiet"}},
		"a line below":  {onVolts, func(q, n *Channel) { n.Lines[2].Level = detected(-130) }, []string{"near_below_quiet"}},
		"a line barely": {onVolts, func(q, n *Channel) { n.Lines[2].Level = detected(-122) }, nil},
		"noise":         {onVolts, func(q, n *Channel) { n.Spectrum = spectrumOf(power(-146)) }, []string{"noise_differs"}},
		"one less line": {onVolts, func(q, n *Channel) { n.Lines = n.Lines[:2] }, nil},
		"no lines":      {onVolts, func(q, n *Channel) { q.Lines = nil }, []string{"lines_differ"}},
		"a silent side": {onVolts, func(q, n *Channel) {
			*q = silent("q.wav")
			q.Warnings = []note.Note{note.New("silent")}
		}, []string{"silent"}},
		"itself":        {onVolts, func(q, n *Channel) { n.SHA256, n.StartS = q.SHA256, 59 }, []string{"spans_overlap"}},
		"apart in file": {onVolts, func(q, n *Channel) { n.SHA256, n.StartS, n.EndS = q.SHA256, 60, 120 }, nil},
		"a file's":      {onVolts, func(q, n *Channel) { q.FileWarnings = []note.Note{note.New("open_size", "read_s", 1.0)} }, []string{"open_size"}},
		"a channel's": {onVolts, func(q, n *Channel) {
			n.Warnings = []note.Note{note.New("clipped", "samples", 3, "runs", 1, "first_s", 2.0)}
		}, []string{"clipped"}},
		"occupied": {onVolts, func(q, n *Channel) { n.Occupied = []mains.Band{{Lo: 1000, Hi: 15000}} }, []string{"noise_interpolated"}},
	} {
		q, n := plain()
		c.change(&q, &n)
		got := slices.DeleteFunc(codes(Compare("v1", c.settings, pairOf(q, n)).Warnings), func(s string) bool { return s == "one_placement" })
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

func TestWarningsNameTheirPlaceAndComeOnce(t *testing.T) {
	q1, n1 := heard("q.wav", 49.97, 0), heard("n.wav", 49.99, 30)
	q1.FileWarnings = []note.Note{note.New("open_size", "read_s", 1.0)}
	q2, n2 := q1, n1
	q2.Channel, n2.Channel = 2, 2
	n2.Measurement.Warnings = []note.Note{note.New("clipped", "samples", 3, "runs", 1, "first_s", 2.0)}
	got := Compare("v1", onVolts, []Pair{{Quiet: q1, Near: n1}, {Quiet: q2, Near: n2}}).Warnings[1:]
	want := []result.Warning{
		{Code: "open_size", File: "q.wav", Message: doc.Says(q1.FileWarnings[0])},
		{Code: "clipped", File: "n.wav", Channel: 2, Message: doc.Says(n2.Measurement.Warnings[0])},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A line that one side sums and the other doesn't would pass for hum: totals are
// over the lines that both have.
func TestUnlikeTotals(t *testing.T) {
	n := heard("n.wav", 49.99, 30)
	n.Lines, n.Hum = n.Lines[:2], detected(-70) // without the third's 0.04 dB
	p := Compare("v1", onVolts, pairOf(heard("q.wav", 49.97, 0), n)).Pairs[0]
	near(t, "quiet hum", p.Hum.QuietDBFS, -100)
	near(t, "near hum", p.Hum.NearDBFS, -70)
	if p.Hum.Delta.State != result.Measured || p.Hum.Lines != 2 || len(p.Lines) != 2 {
		t.Errorf("hum %+v, %d lines", p.Hum, len(p.Lines))
	}
	n.Lines = nil
	p = Compare("v1", onVolts, pairOf(heard("q.wav", 49.97, 0), n)).Pairs[0]
	if p.Hum.Delta.State != result.NotMeasurable || !p.Hum.QuietDBFS.Ok() || p.Hum.Lines != 0 || len(p.Lines) != 3 || p.Lines[2].Delta.State != result.NotMeasurable {
		t.Errorf("hum %+v, lines %+v", p.Hum, p.Lines)
	}
}

// The width of a pickup's range is that of its ends: 20·lg 2 = 6.02 dB.
func TestLoosenessOfThePickup(t *testing.T) {
	for _, c := range []struct {
		p    result.Pickup
		want string
	}{
		{result.Pickup{LoVolts: 1e-6, HiVolts: 2e-6}, " The pickup's range spans 6.0 dB."},
		{result.Pickup{LoVolts: 0, HiVolts: 2e-6}, " The pickup has no lower end."},
		{result.Pickup{LoVolts: result.None, HiVolts: result.None, LoFS: 1, HiFS: 2}, ""},
	} {
		got := said(note.New("quiet_close_to_near", append([]any{"found", true, "db", 5.0}, looseness(c.p)...)...))
		if _, got, _ := strings.Cut(got, "only as a range."); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.p, got, c.want)
		}
	}
}

// Where quiet's limit is above near's hum, nothing says that quiet is below by
// a negative number.
func TestQuietMayLieAboveNear(t *testing.T) {
	q, n := searched("q.wav", 49.99), heard("n.wav", 49.99, 0)
	for limit, want := range map[float64]string{
		-60:  "may lie above near's, by as much as 41.0 dB", // near's lower end is -100.96 dB
		-110: "may lie as little as 9.0 dB below near's",
	} {
		q.Hum = undetected(limit)
		said := Compare("v1", onVolts, pairOf(q, n)).Warnings
		if w := said[len(said)-1]; w.Code != "quiet_close_to_near" || !strings.Contains(w.Message, want) {
			t.Errorf("limit %g: %+v, want %q", limit, w, want)
		}
	}
}

// Where the mains was given, what is said of nothing found is said of it alone.
func TestNoMainsNamesTheOneSought(t *testing.T) {
	r := Measure("v1", onVolts, []Channel{searched("q.wav", 50), unheard("n.wav")})
	for i, want := range []string{
		"No 50 Hz mains was found. Hum of a 50 Hz mains, if there is any, lies below the limits given; tones are listed apart.",
		"No mains was found. With --mains 50 or --mains 60 the lines' detection limits are given.",
	} {
		if got := r.Warnings[i].Message; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
