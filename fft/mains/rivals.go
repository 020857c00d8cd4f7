package mains

import (
	"slices"

	"humdiff/fft/note"
)

// A diagnosis needs evidence that its rivals don't explain. Where one of them shows, the
// diagnosis isn't said; what was measured stays as it is.

// noClock is the rival that there is no mains, or none whose lines follow one clock:
// speech and music come and go in all bands, and what is taken for hum with them.
const noClock = "no_clock"

// manyClicks is the rival that clicks come far more often than bursts do.
const manyClicks = "many_clicks"

// rivals are, of each diagnosis, what else looks like it: other diagnoses, or noClock. Hum
// that is switched leaves sidebands, lines that stray, and noise that swings; a codec
// leaves tones, and noise that comes and goes.
var rivals = map[string][]string{
	"tone_on_line":   {"hum_comes_and_goes", "band_cut", "gated"},
	"sidebands":      {"hum_comes_and_goes", "band_cut", "gated", "gain_moves"},
	"bus_tones":      {"band_cut"},
	"even_harmonics": {"band_cut", noClock},
	"buzz":           {"hum_comes_and_goes", "gated", noClock},
	"fast_wander":    {"hum_comes_and_goes", "phase_jumps", "gated"},
	"gain_moves":     {"gated", noClock},
	"hum_fades":      {"gain_moves", "gated", noClock},
	"low_bursts":     {"band_cut", "gated", manyClicks},
}

// inDoubt are the diagnoses that stay as what was seen, without a cause, for what was
// done about it has to be told.
var inDoubt = map[string]string{"low_bursts": "bursts_left_out"}

// withoutRivals takes out of the notes on a measurement what a rival explains.
func withoutRivals(all []note.Note, r Measurement) (said []note.Note) {
	shown := map[string]bool{
		noClock:    !r.Mains.Detected || r.Mains.ClockMost < clockShare,
		manyClicks: r.Health.Clicks.Count > 2*(r.Health.Bursts+1),
	}
	for _, n := range all {
		shown[n.Code] = true
	}
	for _, n := range all {
		switch doubt := inDoubt[n.Code]; {
		case !slices.ContainsFunc(rivals[n.Code], func(by string) bool { return shown[by] }):
			said = append(said, n)
		case doubt != "" && n.Num("left_out_s") > 0:
			n.Code = doubt
			said = append(said, n)
		}
	}
	return said
}
