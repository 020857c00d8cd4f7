package doc

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/note"
	"humdiff/fixtures/kit"
)

// judgedExamples are notes as judging makes them, each with what its sentence says.
var judgedExamples = []example{
	{note.New("gate_other_comb", "side", "near", "mains_hz", 50.0, "other_hz", 60.02, "other_dbfs", -80.0, "total_dbfs", -90.0), "In near another comb, of 60.02 Hz,"},
	{note.New("gate_tone", "side", "near", "tone_hz", 49.6, "tone_dbfs", -80.0, "total_dbfs", -90.0), "a tone at 49.60 Hz"},
	{note.New("gate_harmonic", "side", "quiet", "tone_hz", 1000.2, "tone_dbfs", -80.0, "total_dbfs", -90.0), "1000.20 Hz, on a harmonic"},
	{note.New("gate_left_out", "side", "near", "harmonic", 20, "line_dbfs", -80.0, "total_dbfs", -90.0), "harmonic 20, hidden"},
	{note.New("gate_one_line", "side", "near", "harmonic", 3, "line_hz", 150.0, "share", 0.953), "is 95 % of"},
	{note.New("gate_sum", "side", "near", "lines_dbfs", -80.0, "total_dbfs", -90.0), "add up to −80.0 dBFS"},
	{note.New("gate_sum", "side", "near", "total_dbfs", -90.0), "In near no line was found by itself, yet the hum total is −90.0 dBFS."},
	{note.New("gate_line", "harmonic", 1, "db", -3.0, "total_db", 4.0), "changed by −3.0 dB, and the total by +4.0 dB."},
	{note.New("change_open", "db", 2.5), "by as much as 2.5 dB."},
	{note.New("no_limits"), "there is no upper limit to print."},
	{note.New("no_difference"), "It shows no difference"},
	{note.New("copy_by_samples", "seconds", 40.0), "Over 40.0 s every sample"},
	{note.New("copy_by_noise"), "is the same: they are one"},
	{note.New("perhaps_copy", "correlation", 0.07), "A little of the noise of the two is the same. Check"},
	{note.New("perhaps_copy", "correlation", 0.07, "other", "a.wav"), "A little of the noise is also in a.wav. Check"},
	{note.New("separate_noise", "correlation", math.NaN()), "share no noise"},
	{note.New("too_short_to_compare", "seconds", 4.0, "least_s", 10.0), "from 4.0 s: it takes 10 s."},
	{note.New("same_dither", "bits", 16.0), "a converter of 16 bits"},
	{note.New("same_programme"), "a programme or a loud noise"},
	{note.New("other_cable", "quiet", []string{"heron"}, "near", []string{"egret", "blue"}), "no cable: heron in quiet, egret, blue in near."},
	{note.New("rate_label", "stated_hz", 44100.0, "rates_hz", []float64{48000}, "nominal_hz", []float64{50}, "share", 0.9, "stated_share", 0.1), "says 44.1 kHz. Its mains lies where that of a recording at 48 kHz does, at 50 Hz:"},
	{note.New("rate_label_perhaps", "stated_hz", 96000.0, "rates_hz", []float64{48000}, "nominal_hz", []float64{50}, "share", 0.9, "stated_share", 0.1), "at 48 kHz, where its mains would be 50 Hz"},
	{note.New("copies_in_reach", "count", 2000, "reach", 10), "compared with the 10 before it."},
	{note.New("odd_rate", "files", []string{"a.wav"}, "rates_hz", []float64{44100}, "usual_hz", 48000.0), "It is sampled otherwise than at the 48 kHz usual here."},
	{note.New("odd_bits", "files", []string{"a.wav", "b.wav"}, "bits", []float64{16, 16}, "usual_bits", 24.0), "another number of bits than the 24 usual here."},
	{note.New("odd_channels", "files", []string{"a.wav"}, "channels", []float64{1}, "usual_channels", 2.0), "than the 2 usual here."},
	{note.New("odd_length", "files", []string{"a.wav"}, "seconds", []float64{1}, "usual_s", 60.0), "than the 60.0 s usual here."},
	{note.New("odd_floor", "files", []string{"a.wav"}, "off_db", []float64{20}, "usual_dbfs_hz", -140.0), "than the −140.0 dBFS/Hz usual here"},
	{note.New("runs_failed", "count", 2, "runs", []int{3, 7}), "2 runs could not be measured: 3, 7."},
	{note.New("mains_of_runs", "runs", []int{3, 7}), "see runs 3, 7."},
}

func TestWhatIsJudgedIsSaid(t *testing.T) {
	shown := map[string]bool{}
	for _, e := range judgedExamples {
		shown[e.note.Code] = true
		if got := Says(e.note); !strings.Contains(got, e.want) {
			t.Errorf("%s says %q, want %q in it", e.note.Code, got, e.want)
		}
	}
	all := kit.Must(sentences())(t)
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if shown[code] || strings.Contains(code, ".") || slices.ContainsFunc(examples, func(e example) bool { return e.note.Code == code }) {
			continue
		}
		if got := Says(note.New(code)); got == note.New(code).String() {
			t.Errorf("%s needs arguments, and no example has them", code)
		}
	}
}

// Every code that stands among the judge's constants beside its arguments, in the
// files on pairs, scales and print, has its sentence.
func TestEveryCodeOfJudgingIsSaid(t *testing.T) {
	for _, name := range []string{"warnings.go", "scales.go", "gate.go", "publish.go"} {
		path := filepath.Join("..", "judge", name)
		if _, err := os.Stat(path); err != nil {
			continue
		}
		file := kit.Must(parser.ParseFile(token.NewFileSet(), path, nil, 0))(t)
		ast.Inspect(file, func(n ast.Node) bool {
			group, ok := n.(*ast.GenDecl)
			if !ok || group.Tok != token.CONST {
				return true
			}
			for _, spec := range group.Specs {
				for _, v := range spec.(*ast.ValueSpec).Values {
					if code, ok := literal(v); ok {
						if _, err := sentenceOf(code); err != nil {
							t.Errorf("%s of %s: %v", code, name, err)
						}
					}
				}
			}
			return true
		})
	}
}
