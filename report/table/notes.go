package table

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"
)

// notes says what the numbers of a table mean.
func notes(set result.Settings, u Unit, last string, groups []Group) []string {
	from := "recording noise alone"
	if u != DBFS {
		from = "recording noise and what is known of the scale"
	}
	out := []string{
		fmt.Sprintf("Behind each value: its %s interval, from %s. \"Below\": the line was not found, and lies below its detection limit.", words.Percent(set.Confidence), from),
		"0 dBFS is the rms of a full-scale sine (AES17). Floor: noise density at the line, in a band of 1 Hz; " + last + ".",
	}
	if marked(groups) {
		out = append(out, "\""+words.UnsteadyMark+"\": the line changed its level during the capture by more than noise explains, and its interval is for the mean. By chance alone one steady line in a hundred is marked.")
	}
	if known := words.Scales(set); len(known) > 0 {
		for _, k := range known {
			out = append(out, "Volts: "+k+".")
		}
		return append(out, "Intervals in volts, dBV and dBu hold the scale's uncertainty as far as it is known; those in dBFS, and deltas, recording noise alone"+steps(set)+".")
	}
	return append(out, "Volts are unknown, so no pickup in volts is given: the full scale of the input was not given.")
}

// steps says what deltas hold besides where there are two scales.
func steps(set result.Settings) string {
	if set.TwoScales() {
		return " and the step between the two scales"
	}
	return ""
}

func marked(groups []Group) bool {
	for _, g := range groups {
		for _, r := range g.Rows {
			if r.Shown && slices.ContainsFunc(r.Cells, func(c Cell) bool { return c.Mark != "" }) {
				return true
			}
		}
	}
	return false
}

// pairNoise gives the noise without hum of both captures.
func pairNoise(n result.PairNoise, u Unit) []string {
	say := func(quiet, near result.Num, q, v result.Voltage) string {
		if !quiet.Ok() && !near.Ok() {
			return ""
		}
		return fmt.Sprintf("%s in quiet, %s in near", u.said(quiet, q), u.said(near, v))
	}
	return noise(n.BandHz, n.Detector468, say(n.QuietDBFS, n.NearDBFS, n.Quiet.Flat, n.Near.Flat),
		say(n.QuietADBFS, n.NearADBFS, n.Quiet.A, n.Near.A), say(n.Quiet468DBFS, n.Near468DBFS, n.Quiet.W468, n.Near.W468))
}

func captureNoise(n result.CaptureNoise, u Unit) []string {
	say := func(dbfs result.Num, v result.Voltage) string {
		if !dbfs.Ok() {
			return ""
		}
		return u.said(dbfs, v)
	}
	return noise(n.BandHz, n.Detector468, say(n.DBFS, n.Voltage.Flat), say(n.ADBFS, n.Voltage.A), say(n.W468DBFS, n.Voltage.W468))
}

// noise is a sentence of what is said of each weighting; nothing of those of which
// nothing is.
func noise(band [2]float64, detector string, said ...string) []string {
	names := [3]string{"unweighted ", "A-weighted ", "weighted by ITU-R BS.468-4 (" + detector + " detector) "}
	var parts []string
	for i, name := range names {
		if said[i] != "" {
			parts = append(parts, name+said[i])
		}
	}
	if len(parts) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Noise without hum and tones, %s to %s: %s.",
		words.Hz(result.Num(band[0])), words.Hz(result.Num(band[1])), strings.Join(parts, "; "))}
}

// mostTones is how many tones are printed; JSON has them all.
const mostTones = 5

// tones lists the strongest tones; where says in which capture, e.g. " in near".
func tones(where string, all []result.Tone, u Unit) []string {
	if len(all) == 0 {
		return nil
	}
	strongest := slices.Clone(all)
	slices.SortStableFunc(strongest, func(a, b result.Tone) int { return cmp.Compare(b.DBFS, a.DBFS) })
	var parts []string
	for _, t := range strongest[:min(mostTones, len(all))] {
		at := words.ToneHz(t.Hz)
		if t.Harmonic > 0 {
			at += fmt.Sprintf(" (%d times the mains)", t.Harmonic)
		}
		parts = append(parts, at+" at "+u.said(t.DBFS, t.Voltage))
	}
	if more := len(all) - mostTones; more > 0 {
		parts = append(parts, fmt.Sprintf("and %d weaker", more))
	}
	return []string{fmt.Sprintf("Tones%s not counted as hum: %s.", where, strings.Join(parts, ", "))}
}

// bins says what a level read off the spectrum stands for.
func bins(t result.Trace) []string {
	if !t.BinHz.Ok() || !t.ENBWHz.Ok() {
		return nil
	}
	return []string{"Spectrum: " + Bins(t) + "."}
}

// Bins gives a trace's bin width and noise bandwidth, which any level in it
// depends on.
func Bins(t result.Trace) string {
	s := fmt.Sprintf("bins %s Hz apart, noise bandwidth of a bin %s Hz", words.Fixed(t.BinHz, 3), words.Fixed(t.ENBWHz, 3))
	if t.Window != "" {
		s += " (" + words.Printable(t.Window) + " window)"
	}
	return s
}

// Warnings writes a result's warnings, each once with all its places.
func Warnings(all []result.Warning) []string {
	type key struct{ code, message string }
	places := map[key][]string{}
	var order []key
	for _, w := range all {
		k := key{w.Code, w.Message}
		if _, seen := places[k]; !seen {
			order = append(order, k)
		}
		if p := place(w); !slices.Contains(places[k], p) {
			places[k] = append(places[k], p)
		}
	}
	var out []string
	for _, k := range order {
		line := words.Printable(k.message) + " (" + words.Printable(k.code)
		if in := strings.Join(nonEmpty(places[k]), "; "); in != "" {
			line += ": " + in
		}
		out = append(out, line+")")
	}
	return out
}

func place(w result.Warning) string {
	switch {
	case w.File == "":
		return ""
	case w.Channel == 0:
		return words.File(w.File)
	}
	return fmt.Sprintf("%s, channel %d", words.File(w.File), w.Channel)
}

func nonEmpty(all []string) []string {
	var out []string
	for _, s := range all {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}
