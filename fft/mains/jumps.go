package mains

import (
	"math"

	"humdiff/fft/note"
)

// Lost samples step the phase of all lines at once, each by its harmonic times as much as
// the fundamental's. A knock, a lead that is moved, a tone beside a line step one: that is
// none of the recorder's doing. So what one line shows is asked of the others.

const (
	// stepSigmas is how far beyond its scatter another line has to step to tell, and
	// stepFits within what share of that, or how often its scatter, it has to step.
	stepSigmas, stepFits, fitSigmas = 6.0, 0.3, 4.0
)

// Jump is a step of the mains' phase that its wander doesn't explain: samples
// were lost, or came twice.
type Jump struct {
	Seconds float64 // where, within a block
	Samples float64 // that are missing, but for whole mains cycles; below zero: too many
}

// witness is another line by which a step is tried.
type witness struct {
	presence
	steps   []float64
	scatter float64
}

// ask keeps the steps that another line confirms and none contradicts.
func (p *presence) ask(m *meter, blocks []block, all []int) {
	if len(p.breaks) == 0 {
		return
	}
	var others []witness
	for _, h := range all {
		if h == p.harmonic {
			continue
		}
		w := witness{presence: m.presenceOf(h, blocks)}
		side := w.values(breakSide)
		if steps, limit := w.phaseSteps(side); steps != nil {
			w.steps, w.scatter = steps, limit/breakSigmas
			others = append(others, w)
		}
	}
	kept := p.breaks[:0]
	for _, x := range p.breaks {
		if x, ok := p.shared(x, others); ok {
			kept = append(kept, x)
		}
	}
	p.breaks = kept
}

// shared is a step as other lines have it: by whole cycles of the line that shows it, the
// fundamental's step is open, and they choose. False where they don't have it.
func (p *presence) shared(x phaseBreak, others []witness) (best phaseBreak, ok bool) {
	least := math.Inf(1)
	for k := range p.harmonic {
		turns := math.Remainder(x.turns+2*math.Pi*float64(k)/float64(p.harmonic), 2*math.Pi)
		misfit, shown, denied := 0.0, false, false
		for _, w := range others {
			i := w.at(x.at)
			want := math.Remainder(turns*float64(w.harmonic), 2*math.Pi)
			if i >= len(w.steps) || w.steps[i] == 0 || math.Abs(want) < stepSigmas*w.scatter {
				continue
			}
			off := math.Abs(math.Remainder(w.steps[i]-want, 2*math.Pi))
			fits := off < max(stepFits*math.Abs(want), fitSigmas*w.scatter)
			misfit, shown, denied = misfit+off*off, shown || fits, denied || !fits
		}
		if shown && !denied && misfit < least {
			best, ok, least = phaseBreak{x.at, turns}, true, misfit
		}
	}
	return best, ok
}

// biggest is the largest magnitude of steps from one to another.
func biggest(steps []float64, from, to int) (most float64) {
	for b := max(from, 0); b <= min(to, len(steps)-1); b++ {
		most = max(most, math.Abs(steps[b]))
	}
	return most
}

func jumpWarnings(jumps []Jump) []note.Note {
	if len(jumps) == 0 {
		return nil
	}
	return []note.Note{note.New("phase_jumps", "jumps", len(jumps), "first_s", jumps[0].Seconds, "missing_samples", jumps[0].Samples)}
}
