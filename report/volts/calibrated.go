package volts

import (
	"fmt"
	"math"
	"strings"

	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/result"
)

// What a calibration may be off by before it is refused, and before a reader is
// warned, dB.
const (
	refusedDB = 0.1
	saidDB    = 0.005
	// A tone that swings, or that noise hides, still gives a scale, with an
	// uncertainty to match.
	refusedScatterDB = 0.5
	saidScatterDB    = 0.02
	// Where samples are clipped there may be more that doesn't show.
	refusedClippedDB = 0.01
)

// Calibrated is the scale that one or more captures of tones of known voltage
// give: the middle between the highest and the lowest. Before and after a
// session, the true scale of its captures lies anywhere between them.
func Calibrated(tones []result.Calibration) Scale {
	s := Scale{Drift: math.NaN(), Tones: tones}
	lo, hi := math.Inf(1), math.Inf(-1)
	var noise, within, other, clipped, partial float64
	var scatter result.Calibration
	for i, c := range tones {
		db := 20 * math.Log10(float64(c.FullScaleVolts))
		lo, hi = min(lo, db), max(hi, db)
		noise += math.Pow(float64(c.HiDBFS-c.LoDBFS)/2, 2)
		within = math.Max(within, float64(c.WithinDB)) // NaN stays
		if !c.GivenHz.Ok() {
			other = max(other, float64(c.OthersDB))
		}
		clipped, partial = max(clipped, float64(c.ClippedDB)), max(partial, math.Abs(float64(c.PartialDB)))
		if i == 0 || c.ScatterDB > scatter.ScatterDB {
			scatter = c
		}
		s.origin += c.SHA256 + fmt.Sprint(c.Channel, c.StartS, c.EndS) + c.Said
		if i > 0 {
			s.Said += "; "
		}
		s.Said += fmt.Sprintf("the %.1f Hz tone of %s is %s", float64(c.Hz), c.Address, c.Said)
	}
	s.base = math.Pow(10, (lo+hi)/40)
	s.own = []Part{voltmeter(within), {"recording noise", math.Sqrt(noise) / float64(len(tones)) / coverage(math.Inf(1)), math.Inf(1), "the 95 % intervals of the tones' levels"}}
	if len(tones) > 1 {
		first, last := tones[0], tones[len(tones)-1]
		s.Drift = 20 * math.Log10(float64(last.FullScaleVolts/first.FullScaleVolts))
		s.add("drift", (hi-lo)/2/math.Sqrt(3), math.Inf(1), "anywhere between the calibrations, as likely")
	}
	rectangular := func(what string, half float64, basis string) {
		s.add(what, half/math.Sqrt(3), math.Inf(1), basis)
	}
	rectangular("other tones and noise", other, "a voltmeter reads them too, as far as its bandwidth goes")
	rectangular("clipping", clipped, "what it takes off the tone")
	rectangular("tone not all through", partial, "the mean level against the usual one")
	s.add("unsteady tone", float64(scatter.ScatterDB), float64(scatter.Blocks-1), "standard deviation from block to block: the voltmeter was read at one moment")
	return s
}

func voltmeter(within float64) Part {
	p := Part{What: "voltmeter", U: within / math.Sqrt(3), DOF: math.Inf(1), Basis: "not stated"}
	if !math.IsNaN(within) {
		p.Basis = fmt.Sprintf("limits of %.3f dB to either side, any value in them as likely", within)
	}
	return p
}

// add takes in a part that isn't nothing.
func (s *Scale) add(what string, u, dof float64, basis string) {
	if u > 1e-4 {
		s.own = append(s.own, Part{what, u, dof, basis})
	}
}

// Check refuses a capture of a tone that would mislead. The error says by how
// much.
func Check(c result.Calibration) error {
	wrong := func(hint string, n note.Note) error {
		return &fault.Error{File: c.File, What: strings.ReplaceAll(doc.Phrase(n), "−", "-"), Hint: hint}
	}
	switch {
	case c.ClippedDB > refusedClippedDB:
		return wrong("record the tone at a lower level, at the gain of the captures", clippedTone(c))
	case math.Abs(float64(c.PartialDB)) > refusedDB:
		return wrong(fmt.Sprintf("name the part that holds the tone: %q", fmt.Sprintf("%s#t=%.1f,%.1f=%s", c.File, math.Ceil(float64(c.HoldsFromS)*10)/10, math.Floor(float64(c.HoldsToS)*10)/10, c.Said)),
			partialTone(c))
	case c.OthersDB > refusedDB && !c.GivenHz.Ok():
		return wrong(fmt.Sprintf(`record the tone alone; or if the voltage is that of one tone, say which: "%s=%s at %.0fHz"`, c.Address, c.Said, float64(c.Hz)),
			otherTones(c))
	case c.ScatterDB > refusedScatterDB:
		return wrong("record a steady tone", unsteadyTone(c))
	case c.HiDBFS-c.LoDBFS > 2*refusedScatterDB:
		return wrong("record it at a higher level, or longer", noisyTone(c))
	}
	return nil
}

// Doubts are what a reader has to know of a calibration that was taken.
func Doubts(c result.Calibration) []note.Note {
	var all []note.Note
	doubt := func(when bool, n note.Note) {
		if when {
			all = append(all, n)
		}
	}
	doubt(c.Clipped > 0, clippedTone(c))
	doubt(math.Abs(float64(c.PartialDB)) > saidDB, partialTone(c))
	doubt(c.OthersDB > saidDB, otherTones(c))
	doubt(c.ScatterDB > saidScatterDB, unsteadyTone(c))
	doubt(c.HiDBFS-c.LoDBFS > 2*saidScatterDB, noisyTone(c))
	return all
}

func clippedTone(c result.Calibration) note.Note {
	return note.New("calibration_clipped", "samples", c.Clipped, "db", float64(c.ClippedDB))
}

func partialTone(c result.Calibration) note.Note {
	return note.New("calibration_partial", "from_s", float64(c.HoldsFromS), "to_s", float64(c.HoldsToS), "db", float64(c.PartialDB))
}

func otherTones(c result.Calibration) note.Note {
	hz, db, given := float64(c.Hz), float64(c.OthersDB), c.GivenHz.Ok()
	if !c.SecondHz.Ok() {
		return note.New("calibration_other_tones", "hz", hz, "db", db, "given", given)
	}
	return note.New("calibration_other_tones", "hz", hz, "db", db, "given", given, "second_hz", float64(c.SecondHz), "second_db", float64(c.SecondDB))
}

func unsteadyTone(c result.Calibration) note.Note {
	return note.New("calibration_unsteady", "db", float64(c.ScatterDB), "blocks", c.Blocks)
}

func noisyTone(c result.Calibration) note.Note {
	return note.New("calibration_noisy", "db", float64(c.HiDBFS-c.LoDBFS)/2)
}
