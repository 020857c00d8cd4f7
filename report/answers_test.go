package report_test

import (
	"errors"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/antenna"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/situation"
	"humdiff/fixtures/trials"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/text"
)

// answers are the first lines that a screen may have: whether hum rose, and by how
// much; or why that can't be said.
var answers = regexp.MustCompile(`^(Hum (rose|fell) (by (at least|less than) )?\d+\.\d dB on one placement of the lead\.` +
	`|Hum (rose|fell) (\d+\.\d dB on channel \d( and )?)+, on one placement of the lead\.` +
	`|The lead added \d+(\.\d+)? [pnµm]V \(rms\) on one placement: hum (rose( by less than)?|fell( by less than)?|changed by) −?\d+\.\d dB\.` +
	`|(Channel \d: (hum|no|not) .*\. ?)+` +
	`|No change of hum is shown on one placement of the lead: the delta is −?\d+\.\d dB\.` +
	`|Hum was found in (near|quiet) alone, yet a (rise|fall) is not decided: the delta is at (least|most) −?\d+\.\d dB\.` +
	`|No hum( of a \d0 Hz mains)? was found(: quiet lies below −\d+\.\d dBFS \([^)]*\), near below −\d+\.\d dBFS \([^)]*\)| in either capture)\.` +
	`|Not comparable: .+\.|Not usable as it is: .+\.)$`)

var gates = regexp.MustCompile(`^May I publish this\? (Yes, as it stands\.|Only as it is worded here\.|Not yet\.)$`)

// On every kind of result the first two lines of a screen answer: did it rise, by how
// much, may I publish it. What limits that stands right below. CI tries each kind, else it
// is every other one.
func TestAnswersStandFirst(t *testing.T) {
	kit.Unraced(t)
	kinds := situation.Pairs()
	for i, k := range kinds {
		if i%2 > 0 && !trials.Shared() {
			continue
		}
		p := k.Draw(1)
		answered(t, k.Name, [][]float64{p.Quiet.Samples}, [][]float64{p.Near.Samples}, p.Quiet, p.Near)
	}
	rising, still, none := draw("pair, hum rises"), draw("pair, no change"), draw("pair, no hum")
	for name, other := range map[string]situation.Pair{"two channels, both rise": rising, "two channels, one rises": still, "two channels, one without hum": none} {
		n := min(len(rising.Quiet.Samples), len(rising.Near.Samples), len(other.Quiet.Samples), len(other.Near.Samples))
		answered(t, name, [][]float64{rising.Quiet.Samples[:n], other.Quiet.Samples[:n]}, [][]float64{rising.Near.Samples[:n], other.Near.Samples[:n]}, rising.Quiet, rising.Near)
	}
}

// By a reference the first line says what the lead added; where the reference is no good, or
// nothing came, it is as without.
func TestAnswersByAReferenceStandFirst(t *testing.T) {
	kit.Unraced(t)
	for name, k := range map[string]struct {
		change func(*antenna.Bench)
		begins string
	}{
		"above the room's hum":       {func(b *antenna.Bench) { b.Cable.Lead.Farads = 3 * b.Cable.Room.Farads }, "The lead added "},
		"far below it":               {func(b *antenna.Bench) { b.Cable.Lead.Farads = b.Cable.Room.Farads / 50 }, "The lead added "},
		"against it":                 {func(b *antenna.Bench) { b.Cable.Lead.Turn = b.Cable.Room.Turn + math.Pi }, "The lead added "},
		"nothing":                    {func(b *antenna.Bench) { b.Cable.Lead.Farads = 0 }, "No change of hum is shown"},
		"by a useless reference":     {func(b *antenna.Bench) { b.Antenna.Recorder.NoiseVolts = 2e-2 }, "Hum "},
		"by one that the lead moves": {func(b *antenna.Bench) { b.Antenna.Lead.Farads = b.Antenna.Room.Farads / 5 }, "Hum rose "},
	} {
		b := steady()
		k.change(&b)
		dir := t.TempDir()
		quiet, errQuiet := b.Record(bench.Quiet, filepath.Join(dir, "quiet.wav"))
		near, errNear := b.Record(bench.Near, filepath.Join(dir, "near.wav"))
		r := report.Request{Scaling: report.Scaling{FullScale: "2.0V"}}
		r.UpTo, r.Reference = 500, antenna.ReferenceChannel
		c, err := report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near})
		kit.OK(t, errors.Join(errQuiet, errNear, err))
		lines := strings.Split(text.Short(doc.Compare(c, doc.UnitFor(c.Settings)), 0), "\n")
		t.Logf("%s\n%s", name, strings.Join(lines[:8], "\n"))
		if !strings.HasPrefix(lines[0], k.begins) || !answers.MatchString(lines[0]) || !gates.MatchString(lines[1]) {
			t.Errorf("%s begins with\n%s\n%s", name, lines[0], lines[1])
		}
	}
}

func draw(name string) situation.Pair {
	for _, k := range situation.Pairs() {
		if k.Name == name {
			return k.Draw(2)
		}
	}
	panic(name)
}

func answered(t *testing.T, name string, quiet, near [][]float64, q, n situation.Capture) {
	t.Helper()
	dir := t.TempDir()
	at := func(file string, channels [][]float64, c situation.Capture) capture.Address {
		path := filepath.Join(dir, file)
		kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: c.Rate, Bits: max(c.Bits, 24)}, channels...))
		return capture.Address{Path: path}
	}
	r, err := report.Compare(t.Context(), report.Request{Scaling: report.Scaling{FullScale: "2.0V"}}, report.Compared{Quiet: at("quiet.wav", quiet, q), Near: at("near.wav", near, n)})
	if err != nil {
		t.Fatal(name, err)
	}
	lines := strings.Split(text.Short(doc.Compare(r, doc.UnitFor(r.Settings)), 0), "\n")
	t.Logf("%s\n%s", name, strings.Join(lines[:4], "\n"))
	if !answers.MatchString(lines[0]) || !gates.MatchString(lines[1]) {
		t.Errorf("%s begins with\n%s\n%s", name, lines[0], lines[1])
	}
	if r.MayPublish.State != model.Ready && !strings.HasPrefix(lines[2], "  ") {
		t.Errorf("%s doesn't say why: %q", name, lines[2])
	}
	for i, said := range regexp.MustCompile(`hum (?:rose|fell) (\d+\.\d) dB`).FindAllStringSubmatch(strings.ToLower(lines[0]), -1) {
		v, ok := r.Pairs[i].Hum.Delta.Value()
		if want := strconv.FormatFloat(max(v, -v), 'f', 1, 64); len(r.Pairs) == 1 && (!ok || said[1] != want) {
			t.Errorf("%s says %s dB, the result has %s", name, said[1], want)
		}
	}
}
