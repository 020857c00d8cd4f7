package mains

import (
	"slices"

	"humdiff/fft/note"
)

// unevenShare is what the blocks are worth at the most where noise isn't steady.
const unevenShare = 0.6

// trackWarnings says what following the mains showed.
func (m *meter) trackWarnings(r Measurement) (w []note.Note) {
	add := func(code string, args ...any) { w = append(w, note.New(code, args...)) }
	if m.tracked > 0 && m.tracked < m.segments {
		add("track_broken", "followed", m.tracked, "parts", m.segments)
	}
	highest := 0 // of the lines found
	for _, line := range r.Lines {
		if line.Detected {
			highest = line.Harmonic
		}
	}
	// What a swing that was seen took is given back in full.
	for h := 1; h <= highest && r.Mains.Tracked && m.wow.swings == 0 && !m.wow.steps; h++ {
		if m.wanderLoss(h) > mostGivenBack {
			add("lines_low", "from_harmonic", h)
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
		add("unsteady", "harmonics", unsteady)
	}
	return w
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

func healthWarnings(r Measurement, o *observation, l layout) []note.Note {
	w := r.Health.Facts.Warnings()
	if r.Health.Silent {
		return w
	}
	add := func(code string, args ...any) { w = append(w, note.New(code, args...)) }
	if share, loudest := o.even.worst(); share < unevenShare {
		add("noise_unsteady", "loudest_s", l.blockCentre(loudest), "worth_share", share)
	}
	w = append(w, r.Health.Timeline.warnings(l.seconds, o.even.share(100))...)
	w = append(w, jumpWarnings(r.Health.Jumps)...)
	w = append(w, buzzWarnings(r.Health.Buzz)...)
	if cut := r.Health.Cut; cut > 0 {
		add("band_cut", "cut_hz", cut)
	}
	if bin := r.Spectrum.BinHz(); bin > longestBin {
		add("short", "length_s", r.Seconds, "bin_hz", bin, "wanted_bin_hz", longestBin)
	}
	return w
}
