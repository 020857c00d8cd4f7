package mains

import (
	"math"
	"slices"

	"humdiff/fft/health"
	"humdiff/fft/note"
)

// A diagnosis needs evidence that its rivals don't explain. Where one of them shows, the
// diagnosis isn't said; what was measured stays as it is.

// noClock is the rival that there is no mains, or none whose lines follow one clock:
// speech and music come and go in all bands, and what is taken for hum with them.
const noClock = "no_clock"

// clicksAllOver is the rival that there is a click every other second: noise and what is
// read of lines rise with them.
const clicksAllOver = "clicks_all_over"

// programme is the rival that noise comes and goes where there is no clock: what was
// recorded ends where its overtones do.
const programme = "programme"

// clickNear is how near to a click noise is loudest that it made so: a block of its levels.
const clickNear = 0.1 // s

// benchTones is how many tones a bench has at the most: more are a tune's. (Music beneath hum
// showed 116 and more.)
const benchTones = 40

// notes is the rival that the strongest lines are a tune's: notes die away as a gate shuts.
const notes = "notes"

// noBreak is the rival that what clicks is no sharper than words and drums make it, where
// there may be such.
const noBreak = "no_break"

// humBelow is the rival that right below a cut there is no noise to be seen between hum's
// lines, but their skirts, which end with them.
const humBelow = "hum_below"

// skirted is the rival that hum's skirts fill gaps between lines where noise is looked at:
// they swing with it.
const skirted = "skirted"

// rounded is the rival that too little noise dithers the converter: what it rounds swings
// with the hum and makes lines of its own. Where it hardly dithers at all, what is rounded comes
// and goes too.
const rounded = "rounded"

// rivals are, of each diagnosis, what else looks like it: other diagnoses, or noClock. Hum
// that is switched leaves noise that swings; a codec leaves tones, and noise that comes and
// goes; noise in step with the mains scatters alike in all bands; what is clipped has no noise at
// its tops; notes and words begin at once.
var rivals = map[string][]string{
	"bus_tones":      {"band_cut", programme, "undithered", "few_codes"},
	"buzz":           {"hum_comes_and_goes", "gated", noClock, skirted, rounded},
	"gain_moves":     {"gated", "digital_zero", "buzz", noClock, clicksAllOver, "undithered", "few_codes"},
	"band_cut":       {programme, humBelow},
	"noise_unsteady": {"clipped", "flat_tops"},
	"clicks":         {programme, noBreak},
	"gated":          {notes},
	"lines_low":      {noClock},
	"hum_fades":      {"gain_moves", "gated", noClock, "bursts_kept"},
	"low_bursts":     {"undithered", "few_codes"},
	"bursts_kept":    {"undithered", "few_codes"},
}

// withoutRivals takes out of the notes on a measurement what a rival explains.
func withoutRivals(all []note.Note, r Measurement) (said []note.Note) {
	m := r.Mains
	shown := map[string]bool{
		noClock:       !m.Detected || slices.Contains(m.Doubt, DoubtMoves) || slices.Contains(m.Doubt, DoubtTone),
		clicksAllOver: 2*float64(r.Health.Clicks.Count) > r.Seconds,
	}
	for _, n := range all {
		shown[n.Code] = true
	}
	shown[rounded] = shown["floor_of_rounding"] || shown["undithered"] || shown["few_codes"]
	cut := r.Health.Cut
	shown[humBelow] = covered(r.Occupied, Band{cut - r.Rate/2/cutParts, cut}) > 0.5
	shown[skirted] = m.Detected && slices.ContainsFunc(r.Occupied, func(b Band) bool { return b.Hi-b.Lo > 0.99*m.Hz })
	shown[notes] = m.Detected && shown[noClock]
	shown[programme] = shown[noClock] && shown["noise_unsteady"]
	beside := shown[noClock] || len(r.Tones) > benchTones || slices.ContainsFunc(all, func(n note.Note) bool { return swings(n, r.Health.Clicks) })
	for _, n := range all {
		if n.Code == "clicks" && beside {
			n = note.New("clicks", "clicks", r.Health.Breaks.Count, "first_s", r.Health.Breaks.First)
			shown[noBreak] = r.Health.Breaks.Count == 0
		}
		if !slices.ContainsFunc(rivals[n.Code], func(by string) bool { return shown[by] }) {
			said = append(said, n)
		}
	}
	return said
}

// swings says that a note is of noise that isn't steady, as words and notes are; one click is
// where noise is loudest if nothing else makes it so.
func swings(n note.Note, clicks health.Runs) bool {
	return n.Code == "noise_unsteady" && !(clicks.Count == 1 && math.Abs(n.Num("loudest_s")-clicks.First) < clickNear)
}

// covered is the share of a band that others have.
func covered(by []Band, band Band) float64 {
	const steps = 64
	n := 0
	for i := range steps {
		hz := band.Lo + (float64(i)+0.5)/steps*(band.Hi-band.Lo)
		if slices.ContainsFunc(by, func(b Band) bool { return b.Lo <= hz && hz <= b.Hi }) {
			n++
		}
	}
	return float64(n) / steps
}
