package mains

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/capture"
)

// fastWander is the loss to wander within blocks, in dB, from which lines can't
// be given back what they lost.
const fastWander = 0.5

// trackWarnings says what following the mains showed.
func (m *meter) trackWarnings(r Measurement) (w []capture.Warning) {
	add := func(code, format string, args ...any) {
		w = append(w, capture.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	if m.found.ambiguous {
		add("mains_ambiguous", "the lines found lie on multiples of 50 and of 60 Hz alike; %.0f Hz was taken: say --mains 50 or --mains 60 if you know it", r.Mains.Nominal)
	}
	if m.tracked > 0 && m.tracked < m.segments {
		add("track_broken", "the mains could be followed in %d of %d parts of the capture: hum came or went, or samples are missing", m.tracked, m.segments)
	}
	for h := 1; h <= len(m.lines) && r.Mains.Tracked; h++ {
		if m.wanderLoss(h) > fastWander {
			add("fast_wander", "the mains wanders so fast that lines from harmonic %d up read low, by %.1f dB and more", h, m.wanderLoss(h))
			break
		}
	}
	var unsteady []int
	for _, l := range r.Lines {
		if l.Unsteady {
			unsteady = append(unsteady, l.Harmonic)
		}
	}
	// One line in a hundred looks unsteady by chance.
	if chance := 1 + len(r.Lines)/50; len(unsteady) > chance || len(unsteady) > 0 && slices.Contains(unsteady, strongestLine(r.Lines)) {
		add("unsteady", "hum changed its level during the capture (%s more than noise explains): the interval is for the mean", scattering(unsteady))
	}
	return w
}

// hiddenWarnings says which lines tones hide.
func hiddenWarnings(lines []Line) []capture.Warning {
	var hidden []int
	for _, l := range lines {
		if l.Hidden {
			hidden = append(hidden, l.Harmonic)
		}
	}
	if len(hidden) == 0 {
		return nil
	}
	return []capture.Warning{{Code: "lines_hidden", Message: fmt.Sprintf(
		"tones that are no hum lie on or right beside %s: those are left out of the hum total", named(hidden, 8))}}
}

// strongestLine is the harmonic of the strongest line found, 0 of none.
func strongestLine(lines []Line) int {
	h, most := 0, 0.0
	for _, l := range lines {
		if l.Detected && l.Power > most {
			h, most = l.Harmonic, l.Power
		}
	}
	return h
}

// list writes numbers with commas, and how many more there are beyond most.
func list(numbers []int, most int) string {
	var parts []string
	for _, n := range numbers[:min(most, len(numbers))] {
		parts = append(parts, fmt.Sprint(n))
	}
	if more := len(numbers) - most; more > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(parts, ", ")
}

// named is a list of harmonics with its noun.
func named(harmonics []int, most int) string {
	if len(harmonics) == 1 {
		return fmt.Sprintf("harmonic %d", harmonics[0])
	}
	return "harmonics " + list(harmonics, most)
}

func scattering(harmonics []int) string {
	if len(harmonics) == 1 {
		return named(harmonics, 1) + " scatters"
	}
	return named(harmonics, 6) + " scatter"
}

func healthWarnings(r Measurement, o *observation, l layout) []capture.Warning {
	w := r.Health.Facts.Warnings()
	if r.Health.Silent {
		return w
	}
	add := func(code, format string, args ...any) {
		w = append(w, capture.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	if share, loudest := o.even.worst(); share < 0.6 {
		add("noise_unsteady", "noise is not steady: loudest near %.1f s (a thump, handling, or a change on the bench), and the capture is worth %.0f %% of its length; record again without it", l.blockCentre(loudest), 100*share)
	}
	w = append(w, r.Health.Timeline.warnings(l.seconds, o.even.share(100), len(r.Health.Jumps) > 0)...)
	w = append(w, jumpWarnings(r.Health.Jumps)...)
	w = append(w, buzzWarnings(r.Health.Buzz)...)
	if cut := r.Health.Cut; cut > 0 {
		add("band_cut", "the spectrum breaks off at %.1f kHz, below half the rate: the capture was resampled or went through a codec, so it is not what the converter gave, and noise above is missing", cut/1000)
	}
	if bin := r.Spectrum.BinHz(); bin > longestBin {
		add("short", "%.1f s long: bins lie %.2g Hz apart instead of %.2g, so near tones can't be told apart; record at least 10 s", r.Seconds, bin, longestBin)
	}
	return w
}
