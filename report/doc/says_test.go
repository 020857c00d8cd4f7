package doc

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template"
	"text/template/parse"

	"humdiff/fft/note"
)

// examples are notes of every code and every turn of its sentence, as they are
// emitted, each with the part of the sentence that has the arguments.
var examples = []struct {
	note note.Note
	want string
}{
	{note.New("tag_left_out", "tag_bytes", 1034), "A tag of 1034 bytes that stands"},
	{note.New("not_finite", "samples", 4, "first_s", 49.999, "channel", 2), "4 samples are not numbers (NaN, infinite or beyond any signal), the first at 49.999 s in channel 2;"},
	{note.New("fmt_repeated"), "It has more than one fmt chunk; they say the same."},
	{note.New("byte_rate", "rate_hz", 1000, "frame_bytes", 2, "bytes_per_s", 2000, "said_bytes_per_s", 96000),
		"1000 frames a second of 2 bytes make 2000 bytes a second, but it says 96000. The rate of 1000 Hz was believed;"},
	{note.New("open_size", "read_s", 1.0), "up to the end of the file was read: 1.000 s."},
	{note.New("truncated", "promised_s", 1500000.0, "read_s", 1.0), "its header promises 1500000.000 s, but only 1.000 s are there"},
	{note.New("pad_missing"), "A pad byte after a chunk of odd length is missing;"},
	{note.New("data_left_out", "data_chunks", 2, "read_s", 1.0), "more data chunks than one (2); only the first was read, 1.000 s."},
	{note.New("partial_frame", "left_bytes", 1), "The samples end within a frame; its 1 bytes were left out."},
	{note.New("bytes_left_out", "left_bytes", 12, "outgrown", false, "read_s", 1.0), "12 bytes after the samples belong to no chunk and were left out."},
	{note.New("bytes_left_out", "left_bytes", 1<<32, "outgrown", true, "read_s", 536870.912),
		"4294967296 bytes after the samples belong to no chunk. A recording that outgrew a WAV file's 4 GiB looks like this; only 536870.912 s of it were read."},
	{note.New("bytes_left_out", "read_s", 2.0), "Behind the 2.000 s that its header promises there are more samples, which were left out."},

	{note.New("silent"), "every sample has the same value"},
	{note.New("clipped", "samples", 3, "runs", 1, "first_s", 1.25), "3 samples are clipped, in 1 run, the first at 1.25 s: lines"},
	{note.New("over_full_scale", "over_db", 0.126), "the peak lies 0.13 dB above full scale"},
	{note.New("near_full_scale", "below_db", 0.2), "the peak reaches 0.20 dB below full scale"},
	{note.New("flat_tops", "samples", 40, "level_dbfs", -3.04, "runs", 12, "first_s", 0.5), "40 samples are cut off flat at −3.0 dBFS, in 12 runs, the first at 0.50 s: something"},
	{note.New("digital_zero", "longest_s", 0.0125, "stretches", 3, "first_s", 1.25), "zero for up to 12.5 ms at a time (3 stretches, the first at 1.25 s): samples"},
	{note.New("stuck", "longest_s", 1.5, "stretches", 1, "first_s", 0.0), "for up to 1.5e+03 ms at a time (1 stretch, the first at 0.00 s): samples"},
	{note.New("repeated_block", "longest_s", 0.1, "stretches", 2, "first_s", 7.0), "for up to 100 ms at a time (2 stretches, the first at 7.00 s): the recorder"},
	{note.New("clicks", "clicks", 1, "first_s", 3.14159), "1 click, the first at 3.14 s: a break"},
	{note.New("dc_offset", "dc_share", -0.0153), "the mean is −1.5 % of full scale"},
	{note.New("code_gaps", "one_in", 256), "only one code in 256 is ever used"},
	{note.New("channels_identical", "channel", 1), "equals that of channel 1:"},

	{note.New("noise_unsteady", "loudest_s", 12.34, "worth_share", 0.456), "loudest near 12.3 s (a thump, handling, or a change on the bench), and the capture is worth 46 % of its length"},
	{bursts(false, 3, 0), "bursts of low frequency (2, of 1.5 s in all), the first near 4.2 s (steps, handling, microphonics): those seconds are left out, and levels, floors and limits are of the other 57.0 s; hum that came with the bursts alone isn't in them"},
	{bursts(true, 3, 1), "(steps, handling, or where samples were lost): those seconds are left out, and levels, floors and limits are of the other 57.0 s; hum that came with the bursts alone isn't in them (in 1 of them one line differs as well: a thump of that frequency, or hum that came or went for a moment)"},
	{bursts(false, 0, 0), "microphonics): that is too much to leave out; averages below 150 Hz count for 40 % of their number, intervals and limits with them; record again without it, or measure the longest stretch without, from 10.0 to 20.0 s of what was read"},
	{note.New("ends_unlike", "at_start", true, "at_end", false), "the first seconds are unlike"},
	{note.New("ends_unlike", "at_start", false, "at_end", true), "the last seconds are unlike"},
	{note.New("ends_unlike", "at_start", true, "at_end", true), "the first and last seconds are unlike"},
	{note.New("gated", "gated_s", 2.0, "first_s", 4.56), "for 2.0 s, the first time near 4.6 s: a noise gate"},
	{note.New("gain_moves", "range_db", 3.21), "together, by 3.2 dB:"},
	{note.New("hum_fades", "change_db", 2.0), "hum rises steadily, by 2.0 dB from"},
	{note.New("hum_fades", "change_db", -2.0), "hum falls steadily, by 2.0 dB from"},
	{note.New("phase_jumps", "jumps", 3, "first_s", 10.0, "missing_samples", 512.3), "jumps (3 in all), the first time near 10.0 s as if 512 samples were missing there"},
	{note.New("phase_jumps", "jumps", 1, "first_s", 10.0, "missing_samples", -64.0), "as if 64 samples were too many there"},
	{note.New("buzz", "swing_share", 0.25), "by 25 % of its mean"},
	{note.New("band_cut", "cut_hz", 16000.0), "breaks off at 16.0 kHz"},
	{note.New("short", "length_s", 2.0, "bin_hz", 1.5, "wanted_bin_hz", 0.75), "2.0 s long: bins lie 1.5 Hz apart instead of 0.75, so"},
	{note.New("mains_ambiguous", "taken_hz", 50.0), "alike; 50 Hz was taken"},
	{note.New("track_broken", "followed", 2, "parts", 6), "followed in 2 of 6 parts"},
	{note.New("fast_wander", "from_harmonic", 12, "loss_db", 0.62), "from harmonic 12 up read low, by 0.6 dB and more"},
	{note.New("unsteady", "harmonics", []int{3}), "(harmonic 3 scatters more than noise explains)"},
	{note.New("unsteady", "harmonics", []int{1, 2, 3, 4, 5, 6, 7, 8}), "(harmonics 1, 2, 3, 4, 5, 6, and 2 more scatter more than noise explains)"},
	{note.New("tone_on_line", "tone_hz", 1000.004, "harmonic", 20), "a tone near 1000.00 Hz that doesn't follow the mains lies on line 20 "},
	{note.New("bus_or_mains", "harmonic", 20, "line_hz", 1000.1, "bus_hz", 1000.0), "line 20 at 1000.10 Hz can't be told from a tone of a digital bus at 1 kHz:"},
	{note.New("lines_hidden", "harmonics", []int{20, 40}), "right beside harmonics 20, 40: those"},
	{note.New("undithered", "step_dbfs", -90.31), "one step, −90.3 dBFS, can be told"},
	{note.New("few_codes", "codes", 12, "bits", 16, "step_dbfs", -90.31), "only 12 values of a 16-bit scale and the noise hardly dithers them: levels near one step, −90.3 dBFS, may"},
	{note.New("floor_of_rounding", "bits", 16), "rounding to 16 bits, not"},
	{note.New("mains_far_off", "mains_hz", 51.234, "off_share", 0.0247), "would be 51.23 Hz, 2.5 % off its nominal"},
	{note.New("mains_doubtful", "mains_hz", 49.55, "why", []string{"lone"}, "off_hz", 0.45, "clock_share", 1.0), "at 49.55 Hz may be no mains: it has next to no other line, and lies 0.45 Hz off nominal (music"},
	{note.New("mains_doubtful", "mains_hz", 49.55, "why", []string{"lone", "moves"}, "off_hz", 0.45, "clock_share", 0.123), "off nominal; 12 % of the power at its lines follows one clock, and a mains' does"},
	{note.New("mains_doubtful", "mains_hz", 50.0, "why", []string{"bus_tone"}, "off_hz", 0.0, "clock_share", 1.0), "may be no mains: a line on a multiple of 1 kHz makes nearly all of it (music"},
	{note.New("two_combs", "mains_hz", 50.01, "other_hz", 59.94, "other_dbfs", -92.14), "at 50.01 Hz and at 59.94 Hz, the second with −92.1 dBFS on"},
	{note.New("even_harmonics", "over_odd_db", 12.4), "hold 12 dB more"},
	{note.New("sidebands", "tone_hz", 1234.56), "the tone at 1234.6 Hz has"},
	{note.New("bus_tones", "tones_hz", []float64{1000, 8000, 16000}), "tones at 1, 8, 16 kHz are"},

	{note.New("left_out", "channels", []int{3, 4}, "why", "silent"), "Left out: channel 3, 4, silent from end to end."},
	{note.New("left_out", "channels", []int{3}, "why", "both_silent"), "channel 3, silent from end to end, in quiet too."},
	{note.New("left_out", "channels", []int{3}, "why", "not_in_near"), "channel 3, without a counterpart in near."},
	{note.New("left_out", "channels", []int{3}, "why", "not_in_quiet"), "channel 3, without a counterpart in quiet."},
	{note.New("calibration_clipped", "samples", 7, "db", 0.00123), "In the calibration 7 samples of the tone are clipped, which takes 0.0012 dB off it."},
	{note.New("calibration_partial", "from_s", 1.0, "to_s", 9.5, "db", 0.0206), "In the calibration the tone doesn't hold its level all through, but from 1.0 to 9.5 s: its mean lies +0.021 dB off."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", false, "db", 0.0206),
		"In the calibration there is noise beside the tone at 1000.0 Hz: a voltmeter that reads all there is reads 0.021 dB more than the tone."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", true, "db", 0.0206, "second_hz", 2000.0, "second_db", -20.0),
		"there is a second tone at 2000.0 Hz, 20.0 dB below it beside the tone at 1000.0 Hz: a voltmeter that reads all there is reads 0.021 dB more than the tone; the voltage was taken as that of the tone named."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", true, "db", 3.5, "second_hz", 2000.0, "second_db", 1.0), "1.0 dB above it beside"},
	{note.New("calibration_unsteady", "db", 0.034, "blocks", 20), "moves by 0.03 dB (standard deviation of 20 blocks)."},
	{note.New("calibration_noisy", "db", 0.123), "uncertain by ±0.12 dB."},
}

func bursts(lost bool, leftOut float64, onLine int) note.Note {
	return note.New("low_bursts", "bursts", 2, "bursts_s", 1.5, "first_s", 4.2, "samples_lost", lost, "left_out_s", leftOut, "kept_s", 60-leftOut,
		"on_line", onLine, "worth_share", 0.4, "clean_start_s", 10.0, "clean_end_s", 20.0)
}

func TestSays(t *testing.T) {
	for _, e := range examples {
		got, err := say(e.note, "says")
		if err != nil || !strings.Contains(got, e.want) || strings.Contains(got, unknown) {
			t.Errorf("%v: %v, %q, want %q in it", e.note, err, got, e.want)
		}
		if got != strings.TrimSpace(got) || strings.Contains(got, "  ") || strings.ContainsAny(got, "\n{}") {
			t.Errorf("%v: not set as one sentence: %q", e.note, got)
		}
	}
}

// Every code that the program emits has a sentence that asks for no more than
// the note holds, every sentence is of a code that is emitted, and each stands
// among the examples with the arguments it is emitted with.
func TestEveryNoteHasItsSentence(t *testing.T) {
	all, err := table()
	if err != nil {
		t.Fatal(err)
	}
	made := emitted(t)
	shown := map[string][]string{}
	for _, e := range examples {
		for _, a := range e.note.Args {
			if !slices.Contains(shown[e.note.Code], a.Name) {
				shown[e.note.Code] = append(shown[e.note.Code], a.Name)
			}
		}
	}
	for code, names := range made {
		sentence, err := sentenceOf(code)
		if err != nil {
			t.Errorf("%s is emitted and has no sentence in sentences.toml: %v", code, err)
			continue
		}
		for _, want := range asked(sentence) {
			if !slices.Contains(names, want) {
				t.Errorf("%s: its sentence asks for %q, the note has %q", code, want, names)
			}
		}
		if !slices.ContainsFunc(examples, func(e struct {
			note note.Note
			want string
		}) bool {
			return e.note.Code == code
		}) || !slices.Equal(slices.Sorted(slices.Values(names)), slices.Sorted(slices.Values(shown[code]))) {
			t.Errorf("%s: emitted with %q, its examples have %q", code, names, shown[code])
		}
	}
	for _, code := range slices.Sorted(maps.Keys(all)) {
		if _, ok := made[code]; !ok {
			t.Errorf("%s has a sentence, and nothing emits it", code)
		}
	}
}

// emitted are the codes of all notes made in the program with their arguments'
// names, read from its source: every call of note.New, or of an add or a warn that
// hands on to it, with a code written out.
func emitted(t *testing.T) map[string][]string {
	made := map[string][]string{}
	for _, root := range []string{"../../fft", "../../report/assemble", "../../report/volts"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			if !slices.ContainsFunc(file.Imports, func(i *ast.ImportSpec) bool { return i.Path.Value == `"humdiff/fft/note"` }) && !strings.Contains(path, "fft/capture") {
				return nil
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if call, ok := n.(*ast.CallExpr); ok && makesNote(call.Fun) && len(call.Args) > 0 {
					gather(made, call.Args)
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return made
}

func makesNote(f ast.Expr) bool {
	switch f := f.(type) {
	case *ast.Ident:
		return f.Name == "add"
	case *ast.SelectorExpr:
		of, ok := f.X.(*ast.Ident)
		return ok && (of.Name == "note" && f.Sel.Name == "New" || f.Sel.Name == "warn")
	}
	return false
}

func gather(made map[string][]string, args []ast.Expr) {
	code, ok := literal(args[0])
	if !ok {
		return
	}
	names := made[code]
	for i := 1; i < len(args); i += 2 {
		if name, ok := literal(args[i]); ok && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	made[code] = names
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(l.Value)
	return s, err == nil
}

// asked are the arguments that a sentence names.
func asked(t *template.Template) (names []string) {
	var walk func(n parse.Node)
	walk = func(n parse.Node) {
		switch n := n.(type) {
		case *parse.ListNode:
			if n != nil {
				for _, x := range n.Nodes {
					walk(x)
				}
			}
		case *parse.ActionNode:
			walk(n.Pipe)
		case *parse.IfNode:
			walk(n.Pipe)
			walk(n.List)
			walk(n.ElseList)
		case *parse.WithNode:
			walk(n.Pipe)
			walk(n.List)
			walk(n.ElseList)
		case *parse.PipeNode:
			for _, c := range n.Cmds {
				for _, a := range c.Args {
					walk(a)
				}
			}
		case *parse.FieldNode:
			if n.Ident[0] != "Has" {
				names = append(names, n.Ident[0])
			}
		}
	}
	for _, each := range t.Templates() {
		walk(each.Root)
	}
	return names
}

func TestANoteWithoutItsSentenceLosesNothing(t *testing.T) {
	for _, n := range []note.Note{note.New("unheard_of", "x_db", 1.5), note.New("clipped", "samples", 3)} {
		if got := Says(n); got != n.String() {
			t.Errorf("%v: %q", n, got)
		}
	}
}
