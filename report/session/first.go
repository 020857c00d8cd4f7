package session

import (
	"bytes"
	"fmt"
	"math"
	"slices"
)

// First is Encode for a session that people are to fill in: what isn't stated is
// there as an example behind a #, and what the columns of the list mean is said.
func (s Session) First() (file, runs []byte) {
	var b bytes.Buffer
	b.WriteString("# Lines that begin with # are examples: to state something, take the # away and put in your own.\n\n")
	fillable(&b, s, topFields, topExamples)
	if s.RunsFile != "" {
		b.WriteString(columnsSaid)
	}
	b.WriteString("\n[bench]\n")
	fillable(&b, s.Bench, benchFields, benchExamples)
	b.WriteString("\n[roles]\n")
	fillable(&b, s.Roles, roleFields, roleExamples)
	b.WriteString("\n[playback]\n")
	if !s.Playback.Stated() {
		s.Playback = BlankPlayback()
	}
	fillable(&b, s.Playback, playbackFields, playbackExamples)
	for _, c := range s.Claims {
		table(&b, "\n[[claim]]\n", c, claimFields)
	}
	if len(s.Claims) == 0 {
		b.WriteString(claimExamples)
	}
	if s.RunsFile != "" {
		return b.Bytes(), s.csv()
	}
	for _, r := range s.Runs {
		table(&b, "\n[[run]]\n", r, runFields)
	}
	return b.Bytes(), nil
}

// example is a value of a key as it is written, and what to say of it.
type example struct{ value, says string }

// fillable writes what is stated, and examples of what isn't.
func fillable[T any](b *bytes.Buffer, t T, fields []field[T], examples map[string]example) {
	for _, f := range fields {
		if v := f.get(t); v != nil {
			fmt.Fprintf(b, "%s = %s\n", f.name, literal(v))
			continue
		}
		x, ok := examples[f.name]
		if !ok {
			continue
		}
		line := fmt.Sprintf("# %s = %s", f.name, x.value)
		if x.says != "" {
			line = fmt.Sprintf("%-40s # %s", line, x.says)
		}
		b.WriteString(line + "\n")
	}
}

const columnsSaid = `# In that list, condition is quiet, near, dead (the lead in place, but unplugged) or residual (the input shorted);
# exposure is how the lead was brought to bear, in your words; termination_ohms is a number, or open; replaced is yes
# where the lead was taken away and put back since the repeat before; plug is 1 or 2, for which way round; loaded and
# bonded (the far device, to the mains' earth) are yes or no; start is as 2026-05-31 14:05; left_out is the reason why a run isn't used. guessed names the columns that nobody has
# confirmed yet; where it names start, and start is empty, nothing is said of the order in which the runs were made.
`

var topExamples = map[string]example{
	"title": {`"Three cables beside a mains lead"`, ""},
}

var benchExamples = map[string]example{
	"mains_volts":  {"230", "rms, as measured"},
	"mains_hz":     {"50", "or 60; left out, both are looked for"},
	"full_scale":   {`"2.0V"`, "rms of a full-scale sine at the converter: V, mV, dBV or dBu"},
	"gain":         {`"40dB"`, "ahead of the converter"},
	"calibration":  {`["tone.wav=1.0V ±0.5%"]`, "in place of full_scale and gain: captures of a known tone"},
	"input_ohms":   {"100000", "of the input"},
	"input_farads": {"1e-10", "of the input"},
	"balanced":     {"false", "whether the input is"},
	"spacing_mm":   {"10", "between lead and cable"},
	"parallel_mm":  {"1000", "the length over which they run beside each other"},
	"notes":        {`"Wooden table, no lamp on."`, ""},
	"photos":       {`["bench.jpg"]`, "their SHA-256 goes into the report"},
}

var roleExamples = map[string]example{
	"witness":      {`"old wire"`, "a cable known to leak, recorded under every exposure"},
	"idle_channel": {"2", "the channel, counted from 1, whose input had nothing connected"},
}

const claimExamples = `
# Claims to be tested. Date them before you record. There are three kinds: "less" than another cable by so many dB,
# "below" a voltage, and "rise", at most so many dB above quiet. Each may be about one termination, one exposure,
# and in place of the hum total about one line ("harmonic 3") or "A-weighted hum".
# [[claim]]
# name = "twenty decibels"
# says = "Cable one picks up at least 20 dB less than cable two."
# by = "the maker of cable one"
# written = 2026-05-01
# kind = "less"
# cable = "cable one"
# than = "cable two"
# db = 20
#
# [[claim]]
# name = "a microvolt"
# written = 2026-05-01
# kind = "below"
# cable = "cable two"
# volts = "1uV"
# termination_ohms = 20
# exposure = "beside"
#
# [[claim]]
# name = "no rise"
# written = 2026-05-01
# kind = "rise"
# cable = "cable one"
# db = 3
# of = "A-weighted hum"
`

// KeyCount is of how many runs something is true of a key.
type KeyCount struct {
	Key  string
	Runs int
}

// Guessed counts what was guessed and nobody has confirmed, by key.
func (s Session) Guessed() []KeyCount {
	return s.counts(func(r Run, key string) bool {
		return slices.Contains(r.Guessed, key) && (key != StartKey || !r.Start.IsZero())
	})
}

// Missing counts what every run has to have, or what most runs should, and doesn't.
func (s Session) Missing() []KeyCount {
	return s.counts(func(r Run, key string) bool {
		withLead := r.Condition == Near || r.Condition == Dead
		switch key {
		case "condition":
			return r.Condition == ""
		case "cable":
			return r.Cable == "" && r.Condition != Residual
		case "termination_ohms":
			return math.IsNaN(r.Termination) && r.Condition != Residual
		case "exposure":
			return r.Exposure == "" && withLead
		case "replaced":
			return r.Condition == Near && r.Repeat > 1 && !r.Replaced
		case "plug":
			return withLead && r.Plug == 0
		case StartKey:
			return r.Start.IsZero()
		}
		return false
	})
}

// counts are the keys of runs for which a question is answered with yes by any.
func (s Session) counts(of func(r Run, key string) bool) (all []KeyCount) {
	for _, f := range runFields {
		n := 0
		for _, r := range s.Runs {
			if of(r, f.name) {
				n++
			}
		}
		if n > 0 {
			all = append(all, KeyCount{f.name, n})
		}
	}
	return all
}
