package doc

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/note"
)

// judgedExamples are notes as judging makes them, each with what its sentence says.
var judgedExamples = []struct {
	note note.Note
	want string
}{
	{note.New("noise_interpolated", "share", 0.42), "occupy 42 % of"},
	{note.New("fewer_bits", "bits", 24, "used", 16), "says 24 bits, and 16 of them"},
	{note.New("no_mains", "captures", 2, "nominal_hz", 50.0, "limits", true), "No 50 Hz mains was found in quiet or in near. Its hum"},
	{note.New("no_mains", "captures", 1, "limits", false), "No mains was found. With --mains 50"},
	{note.New("rates_differ", "rate_hz", 48000, "quiet_rate_hz", 96000), "Sampled at 48000 Hz, quiet at 96000 Hz."},
	{note.New("bits_differ", "bits", 16, "quiet_bits", 24), "with 16 bits, quiet with 24."},
	{note.New("formats_differ", "bits", 32, "float", true, "quiet_bits", 24, "quiet_float", false), "as 32-bit float, quiet as 24-bit integers."},
	{note.New("channels_differ", "channel", 2, "quiet_channel", 1), "Channel 2 here is compared with channel 1"},
	{note.New("spans_overlap"), "overlap"},
	{note.New("same_recording"), "the same samples"},
	{note.New("mains_differ", "nominal_hz", 60.0, "quiet_nominal_hz", 50.0), "is 60 Hz here and 50 Hz in quiet"},
	{note.New("mains_from_other", "how", "none"), "no lines were sought. With"},
	{note.New("mains_from_other", "how", "other", "around_hz", 49.98, "other", "near"), "the 49.980 Hz of near."},
	{note.New("mains_from_other", "how", "stated", "around_hz", 50.1), "around 50.100 Hz."},
	{note.New("mains_from_other", "how", "nominal"), "around the nominal frequency."},
	{note.New("mains_moved", "hz", -0.123), "lies −0.123 Hz from quiet's."},
	{note.New("lines_differ", "count", 80, "quiet_count", 100), "80 lines were measured here and 100 in quiet"},
	{note.New("quiet_close_to_near", "found", true, "db", 11.26, "known", true, "span_db", 4.8), "only 11.3 dB below near's, and the phase between them is unknown. What the lead added is known only as a range. The pickup's range spans 4.8 dB."},
	{note.New("quiet_close_to_near", "found", true, "db", 1.0, "known", true), "range. The pickup has no lower end."},
	{note.New("quiet_close_to_near", "found", true, "db", 1.0), "known only as a range."},
	{note.New("quiet_close_to_near", "found", false, "db", -2.0), "as much as 2.0 dB. Record"},
	{note.New("quiet_close_to_near", "found", false, "db", 2.0), "as little as 2.0 dB below near's. Record"},
	{note.New("near_below_quiet", "total", true, "harmonics", []int{2, 4}, "lines", 100), "in the hum total and in 2 of 100 lines by more than twice the interval (harmonics 2, 4)."},
	{note.New("near_below_quiet", "total", true, "harmonics", []int{}, "lines", 100), "in the hum total. Hum"},
	{note.New("near_below_quiet", "total", false, "harmonics", []int{2}, "lines", 100), "in 1 of 100 lines"},
	{note.New("noise_differs", "db", 3.4, "scales", false), "lies +3.4 dB from quiet's. Either"},
	{note.New("noise_differs", "db", -3.4, "scales", true), "At the input, noise without lines lies −3.4 dB"},
	{note.New("gain_changed", "db", 6.0), "stepped by +6.0 dB"},
	{note.New("channels_swapped", "channel", 1, "other_channel", 2), "Channels 1 and 2 of near"},
	{note.New("one_placement"), "recording noise only"},
	{note.New("residual_differs", "rate_hz", 48000, "near_rate_hz", 96000), "at 48000 Hz, near at 96000 Hz."},
	{note.New("residual_hum", "db", 4.04), "only 4.0 dB below near's."},
	{note.New("residual_floor", "within_db", 3), "within 3 dB of the residual's."},
	{note.New("scale_unknown", "for", "all", "gain", false), "relative to full scale. Give"},
	{note.New("scale_unknown", "for", "near", "gain", true), "Volts of near are unknown: a gain"},
	{note.New("scale_unknown"), "was not given."},
	{note.New("scale_uncertainty_unknown", "for", "all", "parts", []string{"full scale", "gain"}), "what the full scale and the gain may be off by"},
	{note.New("two_scales", "db", 20.0, "complete", true), "is +20.00 dB from quiet's"},
	{note.New("two_scales", "db", 20.0, "complete", false), "at the input. What that step"},
	{note.New("calibration_differs", "address", "/a/tone.wav", "rate_hz", 96000, "bits", 24, "float", false, "channel", 1, "its_rate_hz", 48000, "its_bits", 24, "its_float", false, "its_channel", 2),
		"Its calibration tone.wav was sampled at 48000 Hz, not 96000 Hz; recorded on channel 2, not 1; another"},
	{note.New("calibration_far", "hz", 1000.0), "A tone of 1 kHz"},
	{note.New("calibration_tones_differ", "for", "quiet", "db", 0.25), "The calibrations of quiet use"},
	{note.New("calibration_drift", "for", "all", "db", 0.25), "Full scale drifted by 0.25 dB"},
	{note.New("gate_other_comb", "side", "near", "mains_hz", 50.0, "other_hz", 60.02, "other_dbfs", -80.0, "total_dbfs", -90.0), "In near another comb, of 60.02 Hz,"},
	{note.New("gate_tone", "side", "near", "tone_hz", 49.6, "tone_dbfs", -80.0, "total_dbfs", -90.0), "a tone at 49.60 Hz"},
	{note.New("gate_left_out", "side", "near", "harmonic", 20, "line_dbfs", -80.0, "total_dbfs", -90.0), "harmonic 20, hidden"},
	{note.New("gate_one_line", "side", "near", "harmonic", 3, "line_hz", 150.0, "share", 0.953), "is 95 % of"},
	{note.New("gate_sum", "side", "near", "lines_dbfs", -80.0, "total_dbfs", -90.0), "add up to −80.0 dBFS"},
	{note.New("gate_line", "harmonic", 1, "db", -3.0, "total_db", 4.0), "changed by −3.0 dB, and the total by +4.0 dB."},
	{note.New("change_open", "db", 2.5), "by as much as 2.5 dB."},
	{note.New("objection_holds", "objection", "gain"), "themselves: gain."},
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
	all, err := judged()
	if err != nil {
		t.Fatal(err)
	}
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if shown[code] {
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
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
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
