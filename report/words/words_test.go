package words

import (
	"strings"
	"testing"

	"humdiff/report/internal/golden"
	"humdiff/report/internal/sample"
	"humdiff/report/result"
)

func TestCompareGolden(t *testing.T) {
	for name, r := range map[string]result.Compare{
		"rose.txt":         sample.Compare(),
		"no-volts.txt":     sample.NoVolts(),
		"two-channels.txt": sample.TwoChannels(),
		"nothing.txt":      sample.NothingFound(),
		"new-in-near.txt":  sample.NewInNear(),
		"fell.txt":         sample.Swapped(),
		"unchanged.txt":    sample.Unchanged(),
		"mains-differ.txt": sample.MainsDiffer(),
		"clipped.txt":      sample.Clipped(),
	} {
		golden.Check(t, name, strings.Join(Compare(r), "\n")+"\n")
	}
}

func TestMeasureGolden(t *testing.T) {
	golden.Check(t, "measure.txt", strings.Join(Measure(sample.Measure()), "\n")+"\n")
}

// An undetected line or total never gets a number, whatever the fields hold.
func TestNoNumberForTheUndetected(t *testing.T) {
	r := sample.NewInNear()
	p := &r.Pairs[0]
	p.Hum.Quiet.DBFS, p.Hum.QuietDBFS, p.Hum.Quiet.Volts = -77.7, -77.7, 77.7
	for i := range p.Lines {
		for _, l := range []*result.Line{&p.Lines[i].Quiet, &p.Lines[i].Near} {
			if l.State != result.Detected {
				l.DBFS, l.Volts = 77.7, 77.7
			}
		}
		if d := &p.Lines[i].Delta; d.State != result.Measured {
			d.DB = 77.7
		}
	}
	for _, s := range Compare(r) {
		if strings.Contains(s, "77.7") {
			t.Errorf("says a number of what was not detected: %s", s)
		}
	}
}

// Where hum was found but can't be compared, nothing says that none was found.
func TestNotComparableIsNotNothing(t *testing.T) {
	differ := sample.MainsDiffer().Pairs[0]
	unlike := differ
	unlike.Mains = sample.Compare().Pairs[0].Mains
	silent := unlike
	silent.Health.Quiet.Silent = true
	both := silent
	both.Health.Near.Silent = true
	for _, c := range []struct {
		p    result.Pair
		want string
	}{
		{differ, "Not comparable: the mains is 50 Hz in quiet and 60 Hz in near."},
		{unlike, "Not comparable: the hum totals of quiet and near are sums over different lines."},
		{silent, "Not comparable: nothing was recorded in quiet."},
		{both, "Not comparable: nothing was recorded in quiet nor in near."},
	} {
		if got := Headline(c.p, result.Settings{}); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
		for _, s := range Compare(result.Compare{Pairs: []result.Pair{c.p}}) {
			if strings.Contains(s, "was found") || strings.Contains(s, "immune") || strings.Contains(s, "witness") {
				t.Errorf("%s and yet: %s", c.want, s)
			}
		}
	}
}

// Clipping comes first, and what follows claims nothing.
func TestClippedComesFirst(t *testing.T) {
	p := sample.Compare().Pairs[0]
	for _, c := range []struct {
		quiet, near int
		want        string
	}{
		{0, 12, "Not usable as it is: 12 samples of near are clipped."},
		{1, 0, "Not usable as it is: 1 sample of quiet is clipped."},
		{3, 1, "Not usable as it is: 3 samples of quiet and 1 of near are clipped."},
	} {
		p.Health.Quiet.Clipped, p.Health.Near.Clipped = c.quiet, c.near
		said := Compare(result.Compare{Pairs: []result.Pair{p}})
		if said[0] != c.want {
			t.Errorf("got %q, want %q", said[0], c.want)
		}
		for _, s := range said[1:] {
			for _, claim := range []string{"Hum rose", "Hum fell", "pickup", "immunity"} {
				if strings.Contains(s, claim) {
					t.Errorf("claims: %s", s)
				}
			}
		}
	}
	m := sample.Measure()
	m.Captures = m.Captures[:1]
	m.Captures[0].Health.Clipped = 2
	if said := Measure(m); said[0] != "Not usable as it is: 2 samples are clipped." || !strings.HasPrefix(said[1], "As read, and not to be relied on: hum is -101.4 dBFS") {
		t.Errorf("%q", said)
	}
}

// A fall is never called immunity, nor is silence.
func TestNeverImmunity(t *testing.T) {
	for name, r := range map[string]result.Compare{"fell": sample.Swapped(), "nothing": sample.NothingFound(), "unchanged": sample.Unchanged()} {
		text := strings.Join(Compare(r), "\n")
		if !strings.Contains(text, "immun") {
			t.Errorf("%s: nothing is said about immunity", name)
		}
		text = strings.ReplaceAll(text, "never immunity", "")
		text = strings.ReplaceAll(text, "This does not show that the cable is immune", "")
		if strings.Contains(text, "immun") {
			t.Errorf("%s: %s", name, text)
		}
	}
}

func TestVoltsUnknownIsSaid(t *testing.T) {
	text := strings.Join(Compare(sample.NoVolts()), "\n")
	if !strings.Contains(text, "Volts are unknown") || strings.Contains(text, "nV") || strings.Contains(text, "µV") {
		t.Errorf("without a scale: %s", text)
	}
}

func TestEveryDirection(t *testing.T) {
	none := result.None
	for _, c := range []struct {
		d    result.Delta
		want change
	}{
		{result.Delta{State: result.Measured, DB: 3, LoDB: 2, HiDB: 4}, rose},
		{result.Delta{State: result.Measured, DB: -3, LoDB: -4, HiDB: -2}, fell},
		{result.Delta{State: result.Measured, DB: 0.1, LoDB: -0.2, HiDB: 0.4}, same},
		{result.Delta{State: result.AtLeast, DB: none, LoDB: 2, HiDB: none}, rose},
		{result.Delta{State: result.AtLeast, DB: none, LoDB: -2, HiDB: none}, undecided},
		{result.Delta{State: result.AtMost, DB: none, LoDB: none, HiDB: -2}, fell},
		{result.Delta{State: result.AtMost, DB: none, LoDB: none, HiDB: 2}, undecided},
		{result.Delta{State: result.NotMeasurable, DB: none, LoDB: none, HiDB: none}, nothing},
	} {
		if got := changeOf(c.d); got != c.want {
			t.Errorf("%+v: %d, want %d", c.d, got, c.want)
		}
	}
}

func TestBelow(t *testing.T) {
	none := result.None
	for _, c := range []struct {
		d    result.Delta
		want bool
	}{
		{result.Delta{State: result.Measured, DB: -3.4, LoDB: -3.7, HiDB: -3.1}, true},
		{result.Delta{State: result.Measured, DB: -3, LoDB: -5.3, HiDB: -0.9}, false}, // by 1.4 intervals: one in many lines does that
		{result.Delta{State: result.Measured, DB: 3, LoDB: 2, HiDB: 4}, false},
		{result.Delta{State: result.AtMost, DB: none, LoDB: none, HiDB: -0.1}, true},
		{result.Delta{State: result.AtMost, DB: none, LoDB: none, HiDB: 0.1}, false},
	} {
		if got := Below(c.d); got != c.want {
			t.Errorf("%+v: %v", c.d, got)
		}
	}
}

// Sentences for terminals: no control characters from a file's name.
func TestHostileNames(t *testing.T) {
	r := sample.Measure()
	r.Captures[0].File = sample.HostileNear
	for _, s := range Measure(r) {
		if strings.ContainsAny(s, "\x1b\u202e\n") {
			t.Errorf("control characters pass: %q", s)
		}
	}
}

// With the mains given, nothing is said of another, and tones that may be its
// hum are pointed to: 50.01 and 150.03 Hz lie within 2 % of 50 and 150 Hz, 130
// Hz does not, and 1234.5 Hz is too high for it to mean anything.
func TestHumOfAnotherMains(t *testing.T) {
	r := sample.NothingFound()
	r.Settings.Mains = "60"
	p := &r.Pairs[0]
	p.Tones = result.PairTones{Quiet: []result.Tone{{Hz: 50.01}}, Near: []result.Tone{{Hz: 1234.5}, {Hz: 150.03}, {Hz: 50.01}, {Hz: 130}}}
	said := strings.Join(Compare(r), "\n")
	for _, want := range []string{"No hum of a 60 Hz mains was found: its total lies below",
		"The tones at 50.01 Hz and 150.03 Hz lie near multiples of 50 Hz and may be hum of another mains", "--mains auto or --mains 50"} {
		if !strings.Contains(said, want) {
			t.Errorf("lacks %q:\n%s", want, said)
		}
	}
	r.Settings.Mains = "auto"
	if said := strings.Join(Compare(r), "\n"); strings.Contains(said, "another mains") || !strings.Contains(said, "No hum was found") {
		t.Errorf("both were sought, and yet:\n%s", said)
	}
}

// Limits need a nominal frequency: where neither was found nor given, it is
// asked for.
func TestAsksForTheMains(t *testing.T) {
	const ask = "For detection limits say which mains you have: --mains 50 or --mains 60."
	r := sample.NothingFound()
	if strings.Contains(strings.Join(Compare(r), "\n"), ask) {
		t.Error("asks, though limits are given")
	}
	p := &r.Pairs[0]
	p.Hum.Quiet.LimitDBFS, p.Hum.Near.LimitDBFS = result.None, result.None
	if !strings.Contains(strings.Join(Compare(r), "\n"), ask) {
		t.Error("doesn't ask")
	}
}

// What holds of some channels alone names them.
func TestNamesTheChannel(t *testing.T) {
	r := sample.TwoChannels()
	r.Pairs[1] = sample.Unchanged().Pairs[0]
	r.Pairs[1].Quiet.Channel, r.Pairs[1].Near.Channel = 2, 2
	said := strings.Join(Compare(r), "\n")
	for _, want := range []string{"\nChannel 1: record a dead run", "\nChannel 2: record a witness", "\nChannel 2: this does not show that the cable is immune", "\nRepeat with the lead"} {
		if !strings.Contains(said, want) {
			t.Errorf("lacks %q:\n%s", want, said)
		}
	}
}

// The strongest line is said at its own frequency in near, 50.0127 Hz times 1,
// not at the mean of both captures.
func TestStrongestAtNearsFrequency(t *testing.T) {
	said := strings.Join(Compare(sample.Compare()), "\n")
	if !strings.Contains(said, "The strongest line in near is harmonic 1 (50.01 Hz)") {
		t.Error(said)
	}
}

// Of a capture held against itself nothing is claimed.
func TestSameRecording(t *testing.T) {
	r := sample.Compare()
	p := &r.Pairs[0]
	p.Near.SHA256, p.Near.Channel, p.Near.StartS, p.Near.EndS = p.Quiet.SHA256, p.Quiet.Channel, p.Quiet.EndS-1, p.Quiet.EndS+30
	said := Compare(r)
	if !strings.HasPrefix(said[0], "Not comparable: quiet and near are the same recording") {
		t.Errorf("%q", said[0])
	}
	if all := strings.Join(said, "\n"); !strings.Contains(all, "two spans of one that do not overlap") || strings.Contains(all, "Hum rose") {
		t.Errorf("%s", all)
	}
	p.Near.StartS = p.Quiet.EndS
	if said := Compare(r); strings.HasPrefix(said[0], "Not comparable") {
		t.Errorf("spans side by side: %q", said[0])
	}
}

// What can move a level by more than its interval says stands right behind the
// headline, with the capture it is in.
func TestDoubtful(t *testing.T) {
	r := sample.Compare()
	near := r.Pairs[0].Near
	warn := func(code string, at result.Side) {
		r.Warnings = append(r.Warnings, result.Warning{Code: code, File: at.File, Channel: at.Channel, Message: "."})
	}
	warn("digital_zero", near)
	warn("phase_jumps", near)
	warn("bus_tones", r.Pairs[0].Quiet)
	said := Compare(r)
	if want := "Look at the warnings first: " + File(near.File) + " has gaps of digital silence and samples lost or doubled."; said[1] != want || strings.Count(strings.Join(said, "\n"), "Look at") != 1 {
		t.Errorf("%q", said)
	}
	if said := Compare(sample.Compare()); strings.Contains(strings.Join(said, "\n"), "Look at") {
		t.Errorf("without such warnings: %q", said)
	}
}

// On two scales no level is in dBFS where volts are known, and one has its verb.
func TestSentencesOnTwoScales(t *testing.T) {
	for name, r := range map[string]result.Compare{"rose": sample.Compare(), "fell": sample.Swapped(), "nothing": sample.NothingFound()} {
		near := r.Settings.Scales[0]
		quiet := near
		quiet.For, near.For = result.ForQuiet, result.ForNear
		quiet.FullScaleVolts, near.FullScaleVolts = r.Settings.FullScaleVolts/10, r.Settings.FullScaleVolts
		r.Settings.Scales, r.Settings.Step = []result.Scale{quiet, near}, result.Step{DB: 20, U95DB: 0.1, Complete: true}
		said := strings.Join(Compare(r), "\n")
		if strings.Contains(said, "dBFS") || !strings.Contains(said, "nV") || !strings.Contains(said, "two scales") {
			t.Errorf("%s: %s", name, said)
		}
	}
	if got := were(1) + ", " + were(0) + ", " + were(2); got != "1 was, 0 were, 2 were" {
		t.Error(got)
	}
}

// What was left out isn't said to have been measured.
func TestLeftOutSeconds(t *testing.T) {
	r := sample.Compare()
	r.Pairs[0].Near.StartS, r.Pairs[0].Near.EndS = 2, 32
	r.Pairs[0].Health.Near.LeftOutS = 6.142
	if said := strings.Join(Compare(r), "\n"); !strings.Contains(said, "and 23.9 s (of 30 s; bursts are left out) of near;") {
		t.Error(said)
	}
}
