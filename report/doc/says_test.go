package doc

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template"
	"text/template/parse"

	"humdiff/fft/note"
	"humdiff/fixtures/kit"
)

// example is a note as it is emitted, with the part of its sentence that has the
// arguments.
type example struct {
	note note.Note
	want string
}

// examples are of every code and every turn of its sentence.
var examples = []example{
	{note.New("not_driven", "drive", "wire"), "with the wire driven: no coupling capacitance."},
	{note.New("no_drive_scale", "drive", "coil"), "that of the drive’s channel and shunt_ohms: so far the coil gives ratios alone."},
	{note.New("no_drive_input", "drive", "coil"), "State input_ohms under [bench]: without it no number follows from the coil."},
	{note.New("drive_balanced", "drive", "wire"), "what the wire brings is the difference of two couplings"},
	{note.New("no_second_terminal", "drive", "wire"), "Record the wire at a second termination"},
	{note.New("no_drive_residual", "drive", "shield", "ohms", 20.0), "with the shield driven and the input closed by 20 Ω"},
	{note.New("one_driven_placement", "drive", "wire"), "Lay the wire anew and record again"},
	{note.New("drive_clipped", "samples", 3), "3 samples of the cable’s or the drive’s channel are clipped"},
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
	{note.New("flat_tops", "samples", 40, "level_dbfs", -3.04, "runs", 12, "first_s", 0.5), "40 samples are cut off flat at −3.0 dBFS, in 12 runs, the first at 0.50 s. Something"},
	{note.New("digital_zero", "longest_s", 0.0125, "stretches", 3, "first_s", 1.25), "zero for up to 12.5 ms at a time (3 stretches, the first at 1.25 s). Samples"},
	{note.New("stuck", "longest_s", 1.5, "stretches", 1, "first_s", 0.0), "for up to 1.5e+03 ms at a time (1 stretch, the first at 0.00 s). Samples"},
	{note.New("repeated_block", "longest_s", 0.1, "stretches", 2, "first_s", 7.0), "for up to 100 ms at a time (2 stretches, the first at 7.00 s). The recorder"},
	{note.New("clicks", "clicks", 1, "first_s", 3.14159), "1 click, the first at 3.14 s: a break"},
	{note.New("dc_offset", "dc_share", -0.0153), "the mean is −1.5 % of full scale"},
	{note.New("code_gaps", "one_in", 256), "only one code in 256 is ever used"},
	{note.New("channels_identical", "channel", 1), "equals that of channel 1:"},

	{note.New("noise_unsteady", "loudest_s", 12.34, "worth_share", 0.456), "loudest near 12.3 s. The capture is worth 46 % of its length"},
	{note.New("low_bursts", "bursts", 2, "bursts_s", 1.5, "first_s", 4.2, "kept_s", 57.0, "on_line", 0), "noise below 150 Hz comes in bursts (2, of 1.5 s in all), the first near 4.2 s. Those seconds are left out: levels, floors and limits are of the other 57.0 s. Hum that came with the bursts alone isn't in them"},
	{note.New("low_bursts", "bursts", 2, "bursts_s", 1.5, "first_s", 4.2, "kept_s", 57.0, "on_line", 1), "isn't in them. In 1 of them one line differs as well"},
	{note.New("bursts_kept", "bursts", 2, "bursts_s", 1.5, "first_s", 4.2, "worth_share", 0.4, "clean_start_s", 10.0, "clean_end_s", 20.0), "too much to leave out: lines there may be the bursts' own. Averages below 150 Hz count for 40 % of their number, intervals and limits with them. Record again without it, or measure the longest stretch without, from 10.0 to 20.0 s of what was read"},
	{note.New("gated", "gated_s", 2.0, "first_s", 4.56), "for 2.0 s, the first time near 4.6 s. A noise gate"},
	{note.New("gain_moves", "range_db", 3.21), "together, by 3.2 dB."},
	{note.New("hum_fades", "change_db", 2.0), "hum rises steadily, by 2.0 dB from"},
	{note.New("hum_fades", "change_db", -2.0), "hum falls steadily, by 2.0 dB from"},
	{note.New("phase_jumps", "jumps", 3, "first_s", 10.0, "missing_samples", 512.3), "jumps (3 in all), the first time near 10.0 s as if 512 samples were missing there"},
	{note.New("phase_jumps", "jumps", 1, "first_s", 10.0, "missing_samples", -64.0), "as if 64 samples were too many there"},
	{note.New("buzz", "swing_share", 0.25), "by 25 % of its mean"},
	{note.New("band_cut", "cut_hz", 16000.0), "breaks off at 16.0 kHz"},
	{note.New("short", "length_s", 2.0, "bin_hz", 1.5, "wanted_bin_hz", 0.75), "2.0 s long: bins lie 1.5 Hz apart instead of 0.75, so"},
	{note.New("mains_ambiguous", "taken_hz", 50.0), "alike. 50 Hz was taken"},
	{note.New("track_broken", "followed", 2, "parts", 6), "followed in 2 of 6 parts"},
	{note.New("unsteady", "harmonics", []int{3}), "(harmonic 3 scatters more than noise explains)"},
	{note.New("unsteady", "harmonics", []int{1, 2, 3, 4, 5, 6, 7, 8}), "(harmonics 1, 2, 3, 4, 5, 6 and 2 more scatter more than noise explains)"},
	{note.New("lines_low", "from_harmonic", 12), "from harmonic 12 up they may read low"},
	{note.New("bus_or_mains", "harmonic", 20, "line_hz", 1000.1, "bus_hz", 1000.0), "line 20 at 1000.10 Hz can't be told from a tone of a digital bus at 1 kHz."},
	{note.New("undithered", "step_dbfs", -90.31), "one step, −90.3 dBFS, can be told"},
	{note.New("few_codes", "codes", 12, "bits", 16, "step_dbfs", -90.31), "only 12 values of a 16-bit scale, and the noise hardly dithers them. Levels near one step, −90.3 dBFS, may"},
	{note.New("floor_of_rounding", "bits", 16), "rounding to 16 bits, not"},
	{note.New("mains_far_off", "mains_hz", 51.234, "off_share", 0.0247), "would be 51.23 Hz, 2.5 % off its nominal"},
	{note.New("mains_doubtful", "mains_hz", 49.55, "why", []string{"lone"}, "off_hz", 0.45, "clock_share", 1.0), "at 49.55 Hz may be no mains: it has next to no other line, and lies 0.45 Hz off nominal. Music"},
	{note.New("mains_doubtful", "mains_hz", 49.55, "why", []string{"lone", "moves"}, "off_hz", 0.45, "clock_share", 0.123), "off nominal; 12 % of the power at its lines follows one clock, and a mains' does"},
	{note.New("mains_doubtful", "mains_hz", 50.0, "why", []string{"one_tone"}, "off_hz", 0.0, "clock_share", 1.0), "may be no mains: its lines are one tone and overtones of it. Music"},
	{note.New("mains_doubtful", "mains_hz", 50.0, "why", []string{"bus_tone"}, "off_hz", 0.0, "clock_share", 1.0), "may be no mains: a line on a multiple of 1 kHz makes nearly all of it. Music"},
	{note.New("mains_steady", "mains_hz", 59.9401, "moves_hz", 4.2e-6, "seconds", 10.0), "at 59.940 Hz keeps its frequency to 0.004 mHz over 10 s, as a crystal"},
	{note.New("two_combs", "mains_hz", 50.01, "other_hz", 59.94, "other_dbfs", -92.14), "at 50.01 Hz and at 59.94 Hz, the second with −92.1 dBFS on"},
	{note.New("hum_comes_and_goes", "stretches", 2, "on_share", 0.6184, "on_dbfs", -80.04, "first_start_s", 0.0, "first_end_s", 12.34), "it is there for 62 % of the time, in 2 stretches, with −80.0 dBFS while it is on. The first is from 0.0 to 12.3 s."},
	{note.New("bus_tones", "tones_hz", []float64{1000, 8000, 16000}), "tones at 1, 8, 16 kHz are"},

	{note.New("left_out", "channels", []int{3, 4}, "why", "silent"), "Left out: channel 3, 4, silent from end to end."},
	{note.New("left_out", "channels", []int{3}, "why", "silent_in_both"), "channel 3, silent from end to end, in quiet too."},
	{note.New("left_out", "channels", []int{3}, "why", "no_counterpart_in_near"), "channel 3, without a counterpart in near."},
	{note.New("left_out", "channels", []int{3}, "why", "no_counterpart_in_quiet"), "channel 3, without a counterpart in quiet."},
	{note.New("calibration_clipped", "samples", 7, "db", 0.00123), "In the calibration 7 samples of the tone are clipped, which takes 0.0012 dB off it."},
	{note.New("calibration_partial", "from_s", 1.0, "to_s", 9.5, "db", 0.0206), "In the calibration the tone doesn't hold its level all through, but from 1.0 to 9.5 s: its mean lies +0.021 dB off."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", false, "db", 0.0206),
		"In the calibration there is noise beside the tone at 1000.0 Hz. A voltmeter that reads all there is reads 0.021 dB more than the tone."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", true, "db", 0.0206, "second_hz", 2000.0, "second_db", -20.0),
		"there is a second tone at 2000.0 Hz, 20.0 dB below it beside the tone at 1000.0 Hz. A voltmeter that reads all there is reads 0.021 dB more than the tone; the voltage was taken as that of the tone named."},
	{note.New("calibration_other_tones", "hz", 1000.0, "given", true, "db", 3.5, "second_hz", 2000.0, "second_db", 1.0), "1.0 dB above it beside"},
	{note.New("calibration_unsteady", "db", 0.034, "blocks", 20), "moves by 0.03 dB (standard deviation of 20 blocks)."},
	{note.New("calibration_noisy", "db", 0.123), "uncertain by ±0.12 dB."},

	{note.New("calibration_far", "hz", 1000.0), "A tone of 1 kHz says nothing"},
	{note.New("calibration_far", "hz", 250.0), "A tone of 250 Hz says nothing"},
	{note.New("calibration_tones_differ", "for", "all", "db", 0.123), "The calibrations use tones of different frequency: what they differ by, 0.12 dB, holds"},
	{note.New("calibration_drift", "for", "near", "db", 0.256), "Full scale of near drifted by 0.26 dB between"},
	{differs(48000, 24, true, 1), "Its calibration tone.wav=1V was sampled at 96000 Hz, not 48000, recorded as 24 bit, not 24-bit float, recorded on channel 2, not 1. Another setting"},
	{differs(96000, 24, false, 1), "Its calibration tone.wav=1V was recorded on channel 2, not 1. Another setting"},
	{differs(96000, 16, false, 2), "Its calibration tone.wav=1V was recorded as 24 bit, not 16 bit. Another setting"},
	{note.New("scale_unknown", "for", "all", "gain", false), "Volts are unknown: levels are relative"},
	{note.New("scale_unknown", "for", "quiet", "gain", true), "Volts of quiet are unknown: a gain was given"},
	{note.New("scale_uncertainty_unknown", "for", "all", "parts", []string{"full scale", "gain"}), "Intervals in volts, dBV and dBu don't hold what the full scale and the gain may be off by: it was not given. Write it behind the value, such as \"1.0V ±0.5%\"."},
	{note.New("two_scales", "db", 20.0, "complete", true), "near's full scale is +20.00 dB from quiet's at the input. Levels in dBFS can't be compared; deltas and pickups are those at the input. Their own intervals hold how far that step is known."},
	{note.New("two_scales", "db", -20.0, "complete", false), "is −20.00 dB from quiet's at the input. Levels in dBFS can't be compared; deltas and pickups are those at the input. What that step may be off by was not given, or not all of it: every delta may be off by as much."},

	{note.New("one_placement"), "from one placement of the lead."},
	{note.New("fewer_bits", "bits", 24, "used", 16), "The file says 24 bits, its samples use 16: the rest is filled with zeros. The floor may be that of rounding to 16 bits."},
	{note.New("noise_interpolated", "share", 0.62), "occupy 62 % of the noise band"},
	{note.New("no_mains", "captures", 1, "limits", false), "No mains was found. With --mains 50 or --mains 60 the lines' upper limits are given."},
	{note.New("no_mains", "captures", 1, "limits", true, "nominal_hz", 50.0), "No 50 Hz mains was found. Hum of a 50 Hz mains, if there is any, lies below the limits given;"},
	{note.New("no_mains", "captures", 2, "limits", true, "nominal_hz", 60.0), "No 60 Hz mains was found in quiet or in near. Hum of a 60 Hz mains"},
	{note.New("no_mains", "captures", 1, "limits", false, "followed", true), "No mains was found in it. With --mains 50 or --mains 60 hum is sought"},
	{note.New("mains_from_other", "how", "none"), "No mains was found here, and no lines were sought. With --mains 50 or --mains 60 they are."},
	{note.New("mains_from_other", "how", "nominal"), "No mains was found here; lines were sought around the nominal frequency."},
	{note.New("mains_from_other", "how", "stated", "around_hz", 49.98), "sought around 49.980 Hz."},
	{note.New("mains_from_other", "how", "other", "around_hz", 49.98, "other", "near"), "sought around the 49.980 Hz of near."},
	{note.New("mains_differ", "nominal_hz", 60.0, "quiet_nominal_hz", 50.0), "Mains is 60 Hz here and 50 Hz in quiet:"},
	{note.New("mains_moved", "hz", -0.123), "The mains is −0.12 Hz from quiet's"},
	{note.New("lines_differ", "count", 0, "quiet_count", 100), "0 lines were measured here and 100 in quiet:"},
	{note.New("rates_differ", "rate_hz", 48000, "quiet_rate_hz", 96000), "Sampled at 48000 Hz, quiet at 96000 Hz:"},
	{note.New("bits_differ", "bits", 24, "quiet_bits", 16), "Recorded with 24 bits, quiet with 16:"},
	{note.New("formats_differ", "bits", 32, "float", true, "quiet_bits", 24, "quiet_float", false), "Recorded as 32-bit float, quiet as 24 bit:"},
	{note.New("channels_differ", "channel", 2, "quiet_channel", 1), "Channel 2 here is compared with channel 1 of quiet:"},
	{note.New("channels_swapped", "channel", 1, "other_channel", 2), "channels 1 and 2 look swapped"},
	{note.New("spans_overlap"), "Quiet and near overlap"},
	{note.New("same_recording", "lag_s", 0, "gain_db", 0, "inverted", false, "correlation", 1, "seconds", 60.0, "other", "quiet"), "Quiet and near are one recording: they hold the same samples. A recording"},
	{note.New("same_recording", "lag_s", 3.25, "gain_db", -3.01, "inverted", true, "correlation", 0.998, "seconds", 50.0, "other", "quiet"),
		"their noise is the same, from 3.25 s into it on, 3.0 dB softer, upside down. A recording"},
	{note.New("same_recording", "lag_s", -3.25, "gain_db", 0, "inverted", false, "correlation", 1, "seconds", 50.0, "other", "a.wav"),
		"This is a copy of a.wav: they hold the same samples, from 3.25 s before it on. A recording"},
	{note.New("reference_clipped", "channel", 2), "The reference, channel 2, is clipped: it is not used."},
	{note.New("reference_weak", "channel", 2), "none of its hum lines stands 10 dB above its noise"},
	{note.New("reference_clock", "channel", 2, "ppm", -12.34), "by −12.3 parts in a million. It runs on another clock"},
	{note.New("reference_other", "channel", 2), "its mains has another frequency"},
	{note.New("reference_moved", "channel", 2, "db", 0.82, "harmonic", 1, "below_db", 20.9),
		"its harmonic 1 by +0.82 dB. If the lead or a hand did that, and not the mains, it alone makes a pickup 21 dB below"},
	{note.New("reference_moved", "channel", 2, "turn_deg", -0.57, "below_db", 40.0),
		"itself turned from quiet to near: all its lines by −0.57°, as the mains do not. The antenna hears the lead, or a hand. That alone makes a pickup 40 dB below"},
	{note.New("quiet_close_to_near", "found", true, "db", 5.55), "Quiet's hum lies only 5.5 dB below near's, and the phase between them is unknown: what the lead added is known only as a range."},
	{note.New("quiet_close_to_near", "found", true, "db", 5.0, "known", true), "only as a range. The pickup has no lower end."},
	{note.New("quiet_close_to_near", "found", true, "db", 5.0, "known", true, "span_db", 11.06), "only as a range. The pickup's range spans 11.1 dB."},
	{note.New("quiet_close_to_near", "found", false, "db", -3.0), "Quiet's hum was not detected, but may lie above near's, by as much as 3.0 dB: record longer to know whether hum rose."},
	{note.New("quiet_close_to_near", "found", false, "db", 3.0), "may lie as little as 3.0 dB below near's: record longer"},
	{note.New("near_below_quiet", "total", true, "harmonics", []int{}, "lines", 20), "Near lies below quiet in the hum total. Hum adds"},
	{note.New("near_below_quiet", "total", false, "harmonics", []int{3, 5}, "lines", 20), "Near lies below quiet in 2 of 20 lines by more than twice the interval (harmonics 3 and 5). Hum adds"},
	{note.New("near_below_quiet", "total", true, "harmonics", []int{3}, "lines", 20), "in the hum total and in 1 of 20 lines by more than twice the interval (harmonic 3). Hum adds"},
	{note.New("noise_differs", "db", 4.0, "scales", false), "Noise without lines lies +4.0 dB from quiet's. Either the lead brought noise"},
	{note.New("noise_differs", "db", -4.0, "scales", true), "At the input, noise without lines lies −4.0 dB from quiet's. It is the converter's own"},
	{note.New("gain_changed", "db", 6.02), "lies +6.0 dB from quiet's"},
	{note.New("residual_differs", "rate_hz", 48000, "near_rate_hz", 96000), "sampled at 48000 Hz, near at 96000 Hz:"},
	{note.New("residual_hum", "db", 4.56), "hum only 4.6 dB below near's"},
	{note.New("residual_floor", "within_db", 3), "lies within 3 dB of the residual's"},

	{note.New("odd_repeats"), "With an odd number of repeats"},
	{note.New("card_long"), "The card takes more than one page"},
	{note.New("too_long"), "No recording of six hours or less"},
	{note.New("list_no_utf8", "line", 7), "Line 7 holds letters"},
	{note.New("not_measured"), "It could not be measured."},
	{note.New("not_measured", "error", "it holds no samples", "hint", "record it again"), "it holds no samples"},
	{note.New("blind", "sha256", "0a1b"), "has the SHA-256 0a1b."},
	{note.New("blind_key", "letters", []string{"A", "B"}, "cables", []string{"Heron", "Wren"}, "sha256", "0a1b"), "In the blind report A is Heron, B is Wren; the key's file has the SHA-256 0a1b."},
}

func differs(rate, bits int, float bool, channel int) note.Note {
	return note.New("calibration_differs", "address", "tone.wav=1V", "rate_hz", rate, "bits", bits, "float", float, "channel", channel,
		"its_rate_hz", 96000, "its_bits", 24, "its_float", false, "its_channel", 2)
}

func TestSays(t *testing.T) {
	for _, e := range examples {
		got, err := say(e.note)
		if err != nil || !strings.Contains(got, e.want) {
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
	all := kit.Must(sentences())(t)
	made, constants := emitted(t)
	shown := emissions{}
	for _, e := range slices.Concat(examples, judgedExamples) {
		shown.add(e.note.Code, nil)
		for _, a := range e.note.Args {
			shown.add(e.note.Code, []string{a.Name})
		}
	}
	for code, is := range made {
		sentence, err := sentenceOf(code)
		if err != nil {
			t.Errorf("%s is emitted and has no sentence in sentences.toml: %v", code, err)
			continue
		}
		if shown[code] == nil {
			t.Errorf("%s has no example", code)
			continue
		}
		for _, want := range asked(sentence) {
			if !is.open && !slices.Contains(is.names, want) || !slices.Contains(shown[code].names, want) {
				t.Errorf("%s: its sentence asks for %q, the note has %q, its examples %q", code, want, is.names, shown[code].names)
			}
		}
		for _, name := range shown[code].names {
			if !is.open && !slices.Contains(is.names, name) {
				t.Errorf("%s: an example has %q, the note %q", code, name, is.names)
			}
		}
	}
	for _, code := range slices.Sorted(maps.Keys(all)) {
		ofSession := strings.Contains(code, ".") // TestEveryCodeOfASessionIsSaid has those
		if made[code] == nil && !ofSession && !slices.Contains(constants, code) {
			t.Errorf("%s has a sentence, and nothing emits it", code)
		}
	}
}

// emissions are the codes of notes with their arguments' names.
type emissions map[string]*struct {
	names []string
	open  bool // some names are put together while running
}

func (e emissions) add(code string, names []string) {
	if e[code] == nil {
		e[code] = new(struct {
			names []string
			open  bool
		})
	}
	for _, name := range names {
		if !slices.Contains(e[code].names, name) {
			e[code].names = append(e[code].names, name)
		}
	}
}

// emitted are the codes of all notes made in the program, read from its source:
// every call of note.New, or of an add or a warn that hands on to it, with its code
// written out or a constant. With them come all constants, for notes made elsewise.
func emitted(t *testing.T) (emissions, []string) {
	var files []*ast.File
	constants := map[string]string{} // "judge.NoMains": "no_mains"
	for _, root := range []string{"../../fft", "../../report", "../../cmd"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.Contains(filepath.ToSlash(path), "/internal/") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err == nil {
				files = append(files, file)
				gatherConstants(constants, file)
			}
			return err
		})
		kit.OK(t, err)
	}
	handOn := map[string]bool{} // "judge.add", where it makes notes
	eachFunc(files, func(pkg string, f *ast.FuncDecl) {
		if contains(f, isNew) {
			handOn[pkg+"."+f.Name.Name] = true
		}
	})
	made := emissions{}
	eachFunc(files, func(pkg string, f *ast.FuncDecl) {
		own := map[string]bool{} // add := func(code string, …)
		ast.Inspect(f, func(n ast.Node) bool {
			if a, ok := n.(*ast.AssignStmt); ok {
				if name, ok := a.Lhs[0].(*ast.Ident); ok && contains(a.Rhs[0], isNew) {
					own[name.Name] = true
				}
			}
			return true
		})
		contains(f, func(call ast.Expr) bool {
			switch fun := call.(*ast.CallExpr).Fun.(type) {
			case *ast.Ident:
				if own[fun.Name] {
					made.gather(pkg, call.(*ast.CallExpr), constants)
				}
			case *ast.SelectorExpr:
				if isNew(call) || (fun.Sel.Name == "add" || fun.Sel.Name == "warn") && handOn[pkg+"."+fun.Sel.Name] {
					made.gather(pkg, call.(*ast.CallExpr), constants)
				}
			}
			return false
		})
	})
	return made, slices.Collect(maps.Values(constants))
}

func gatherConstants(constants map[string]string, file *ast.File) {
	for _, d := range file.Decls {
		decl, ok := d.(*ast.GenDecl)
		if !ok || decl.Tok != token.CONST {
			continue
		}
		for _, s := range decl.Specs {
			spec := s.(*ast.ValueSpec)
			for i, v := range spec.Values {
				if text, ok := literal(v); ok {
					constants[file.Name.Name+"."+spec.Names[i].Name] = text
				}
			}
		}
	}
}

func eachFunc(files []*ast.File, do func(pkg string, f *ast.FuncDecl)) {
	for _, file := range files {
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok {
				do(file.Name.Name, f)
			}
		}
	}
}

// contains says whether some call within a part of the source is such.
func contains(part ast.Node, such func(call ast.Expr) bool) (found bool) {
	ast.Inspect(part, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok && such(call) {
			found = true
		}
		return true
	})
	return found
}

// isNew says whether a call is of note.New.
func isNew(call ast.Expr) bool {
	sel, ok := call.(*ast.CallExpr).Fun.(*ast.SelectorExpr)
	if !ok || sel.Sel.Name != "New" {
		return false
	}
	of, ok := sel.X.(*ast.Ident)
	return ok && of.Name == "note"
}

var aCode = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

// gather takes in a call whose first argument is a code, or the second behind a place.
func (e emissions) gather(pkg string, call *ast.CallExpr, constants map[string]string) {
	codes := call.Args[:min(2, len(call.Args))]
	if isNew(call) {
		codes = codes[:1]
	}
	for i, arg := range codes {
		code := constantOf(pkg, arg, constants)
		if !aCode.MatchString(code) {
			continue
		}
		var names []string
		for k := i + 1; k < len(call.Args); k += 2 {
			if name, ok := literal(call.Args[k]); ok {
				names = append(names, name)
			}
		}
		e.add(code, names)
		e[code].open = e[code].open || call.Ellipsis.IsValid()
		return
	}
}

func constantOf(pkg string, e ast.Expr, constants map[string]string) string {
	switch e := e.(type) {
	case *ast.Ident:
		return constants[pkg+"."+e.Name]
	case *ast.SelectorExpr:
		if of, ok := e.X.(*ast.Ident); ok {
			return constants[of.Name+"."+e.Sel.Name]
		}
	}
	text, _ := literal(e)
	return text
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
		case *parse.RangeNode:
			walk(n.Pipe)
			walk(n.List)
		case *parse.VariableNode:
			if n.Ident[0] == "$" {
				names = append(names, n.Ident[1])
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

// Every place of a document can be read; that each says what it should is for the
// tests of documents.
func TestEveryTellingIsRead(t *testing.T) {
	all := kit.Must(tellings())(t)
	for place := range all {
		if _, err := templateOf(place, all); err != nil {
			t.Errorf("%s: %v", place, err)
		}
	}
}

// One sentence says one thing.
func TestNotesAreShort(t *testing.T) {
	for _, e := range slices.Concat(examples, judgedExamples) {
		for _, sentence := range strings.Split(strings.ReplaceAll(Says(e.note), "; ", ". "), ". ") { // clauses count by themselves
			if n := len(strings.Fields(sentence)); n > 25 {
				t.Errorf("%s: %d words: %s", e.note.Code, n, sentence)
			}
		}
	}
}

func TestANoteWithoutItsSentenceLosesNothing(t *testing.T) {
	for _, n := range []note.Note{note.New("unheard_of", "x_db", 1.5), note.New("clipped", "samples", 3)} {
		kit.Same(t, Says(n), n.String(), "%v", n)
	}
}
