package doc

import (
	"strings"
	"sync"
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/fft/estimate"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
)

// comparisons are results of every kind.
var comparisons = sync.OnceValue(func() map[string]model.Compare {
	return map[string]model.Compare{
		"rose": samples.Compare(), "no volts": samples.NoVolts(), "two channels": samples.TwoChannels(), "nothing": samples.NothingFound(),
		"new in near": samples.NewInNear(), "fell": samples.Swapped(), "unchanged": samples.Unchanged(), "mains differ": samples.MainsDiffer(),
		"clipped": samples.Clipped(), "unsteady": samples.Unsteady(), "two scales": samples.TwoScales(), "residual": samples.WithResidual(),
		"long names": samples.LongNames(), "hostile": samples.Hostile(), "nothing at all": {},
	}
})

var documents = sync.OnceValue(func() map[string]Document {
	all := map[string]Document{"measure": Measure(samples.Measure(), InDBFS), "check": Check(samples.Check()), "trend": Trend(samples.Trend(), InDBFS)}
	for name, r := range comparisons() {
		all[name] = Compare(r, UnitFor(r.Settings))
	}
	return all
})

// texts are all texts of a document but warnings, whose sentences are tried in
// their table.
func allTexts(d Document) []string {
	out := []string{d.Title, d.Gate, d.Lead, d.Footer}
	for _, s := range d.Sections {
		out = append(out, s.Title)
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case List:
				if b.Kind != Warnings {
					out = append(append(out, b.Title), b.Items...)
				}
			case Facts:
				for _, f := range b.Of {
					out = append(out, f.Name+": "+f.Value)
				}
			case Table:
				out = append(append(out, b.Title, b.Rest), b.Notes...)
				for _, r := range b.Rows {
					for _, c := range r.Cells {
						out = append(out, c.String())
					}
				}
			}
		}
	}
	return out
}

func TestHeadlines(t *testing.T) {
	for name, want := range map[string]string{
		"rose":         "Hum rose 16.3 dB on one placement of the lead.",
		"two channels": "Hum rose 16.3 dB on channel 1 and 16.3 dB on channel 2, on one placement of the lead.",
		"nothing":      "No hum was found: quiet lies below −141.3 dBFS (1.73 nV), near below −141.3 dBFS (1.73 nV).",
		"new in near":  "Hum rose by at least 19.9 dB on one placement of the lead.",
		"fell":         "Hum fell 16.3 dB on one placement of the lead.",
		"unchanged":    "No change of hum is shown on one placement of the lead: the delta is 0.0 dB.",
		"mains differ": "Not comparable: the mains is 50 Hz in quiet and 60 Hz in near.",
		"clipped":      "Not usable as it is: 12 samples of near are clipped.",
	} {
		kit.Same(t, Compare(comparisons()[name], InDBFS).Title, want, "%s", name)
	}
}

// One sentence says one thing.
func TestSentencesAreShort(t *testing.T) {
	for name, d := range documents() {
		for _, text := range allTexts(d) {
			for _, sentence := range strings.Split(strings.ReplaceAll(text, "; ", ". "), ". ") { // clauses count by themselves
				if n := len(strings.Fields(sentence)); n > 25 && !strings.Contains(sentence, "0 dBFS is") && !strings.Contains(sentence, "0 dBFS of") && !strings.HasPrefix(sentence, "False alarms") && name != "long names" {
					t.Errorf("%s: %d words: %s", name, n, sentence)
				}
			}
		}
	}
}

// Folders name people and their customers.
func TestNoFolders(t *testing.T) {
	for _, text := range allTexts(Compare(samples.LongNames(), InDBFS)) {
		kit.Lacks(t, "names a folder", text, "a-folder")
	}
}

// No number is NaN or infinite, none is minus nothing, and minus signs are minus
// signs.
func TestNumbersAreNumbers(t *testing.T) {
	for name, d := range documents() {
		if name == "hostile" {
			continue // its texts hold what they like
		}
		for _, text := range allTexts(d) {
			kit.Lacks(t, name, text, "template:", "NaN", "Inf", "−0.0 ", "−0 ", " -1", "+-", "%!")
		}
	}
}

// Where hum was found but can't be compared, nothing says that none was found.
func TestNotComparableIsNotNothing(t *testing.T) {
	unlike := samples.MainsDiffer().Pairs[0]
	unlike.Near.Mains.NominalHz = 50
	silent := unlike
	silent.Quiet.Health.Silent = true
	both := silent
	both.Near.Health.Silent = true
	overlap := samples.Compare().Pairs[0]
	overlap.Near.Side = overlap.Quiet.Side
	for _, c := range []struct {
		p    model.Pair
		want string
	}{
		{unlike, "Not comparable: the hum totals of quiet and near are sums over different lines."},
		{silent, "Not comparable: nothing was recorded in quiet."},
		{both, "Not comparable: nothing was recorded in quiet nor in near."},
		{overlap, "Not comparable: quiet and near are the same recording, or share a part of it."},
	} {
		d := Compare(model.Compare{Pairs: []model.Pair{c.p}}, InDBFS)
		kit.Same(t, d.Title, c.want, "d.Title")
		for _, s := range d.Sections {
			if s.Short == 0 {
				continue
			}
			for _, text := range allTexts(Document{Sections: []Section{s}}) {
				if strings.Contains(text, "No hum") || strings.Contains(text, "immune") || strings.Contains(text, "positive control") {
					t.Errorf("%s and yet: %s", c.want, text)
				}
			}
		}
	}
}

// Clipping comes first, and what follows claims nothing.
func TestClippedComesFirst(t *testing.T) {
	p := samples.Compare().Pairs[0]
	for _, c := range []struct {
		quiet, near int
		want        string
	}{
		{0, 12, "Not usable as it is: 12 samples of near are clipped."},
		{1, 0, "Not usable as it is: 1 sample of quiet is clipped."},
		{3, 1, "Not usable as it is: 3 samples of quiet and 1 of near are clipped."},
	} {
		p.Quiet.Health.Clipped, p.Near.Health.Clipped = c.quiet, c.near
		d := Compare(model.Compare{Pairs: []model.Pair{p}}, InDBFS)
		kit.Same(t, d.Title, c.want, "d.Title")
		told := tellPair(p, model.Settings{}, nil)
		for _, text := range append(append(told.sure, told.found...), each(told.open, func(q question) string { return q.what + q.next })...) {
			kit.Lacks(t, "claims", text, "Hum rose", "Hum fell", "pickup lies", "immunity")
		}
	}
}

// A fall is never called immunity, nor is silence.
func TestNeverImmunity(t *testing.T) {
	for _, name := range []string{"fell", "nothing", "unchanged"} {
		text := strings.Join(allTexts(Compare(comparisons()[name], InDBFS)), "\n")
		if !strings.Contains(text, "never immunity") && !strings.Contains(text, "that shows no immunity") {
			t.Errorf("%s: nothing is said about immunity", name)
		}
	}
}

// What is said right behind a headline names doubts that can move the level.
func TestDoubtsStandFirst(t *testing.T) {
	r := samples.Compare()
	r.Warnings = append(r.Warnings, model.Warning{Note: model.Note{Code: "gated"}, File: "heron-near.wav", Channel: 1})
	sure := tellPair(r.Pairs[0], r.Settings, r.Warnings).sure
	if last := sure[len(sure)-1]; last != "Look at the warnings first: heron-near.wav has a gate that closes." {
		t.Errorf("says %q", sure)
	}
}

// Tones near multiples of a mains that wasn't sought may be its hum.
func TestOtherMains(t *testing.T) {
	set := model.Settings{Mains: "50"}
	tones := []model.Tone{{Hz: 60.02}, {Hz: 180.06}, {Hz: 60.03}, {Hz: 1000}}
	asked := otherMains(set, tones)
	if want := "The tones at 60.02 Hz and 180.06 Hz lie near multiples of 60 Hz and may be hum of another mains, which was not sought."; asked[0].what != want {
		t.Errorf("says %q, want %q", asked[0].what, want)
	}
}

// What is in no total is said.
func TestBesideTotal(t *testing.T) {
	c := samples.Compare().Pairs[0].Near
	c.Hum.OnShare, c.Hum.AboveDBFS, c.Hum.LeftOut = 0.347, -110.04, []int{20, 46}
	c.Hum.Present = []model.Span{{StartS: 12.02, EndS: 20.5, Level: estimate.Of(-95.04, -95.1, -94.9)}, {StartS: 30, EndS: 41, Level: estimate.Of(-95, -95.1, -94.9)}}
	c.Mains.AlsoFound = []model.Comb{{NominalHz: 60, Hz: 60.021, Lines: 12, Total: estimate.Of(-98, -98.1, -97.9)}}
	got := strings.Join(besideTotal(c, model.Settings{}, model.ForNear, " in near"), "\n")
	want := `Hum is there in near for 35 % of the time, in 2 stretches; the first is from 12 s to 20.5 s, at −95.0 dBFS.
The hum total in near leaves out harmonics 20 and 46: how much of what stands there is hum can't be told.
Harmonics above the sum in near are −110.0 dBFS together, and in no total.
Another comb of 12 lines at multiples of 60.02 Hz was found in near: −98.0 dBFS, and in no total.`
	if got != want {
		t.Errorf("says\n%s", got)
	}
}
