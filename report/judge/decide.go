package judge

import (
	"math"
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// mostPlacements is beyond what anybody would record.
const mostPlacements = 60

// explain says why nothing follows from the numbers, and what it would take.
func (t test) explain(holds, breaks float64, p *model.ClaimPart) {
	if math.IsInf(t.lo.value, -1) && math.IsInf(t.hi.value, 1) {
		p.Reasons, p.Decide = append(p.Reasons, say(model.Unbounded)), append(p.Decide, say(model.RecordRuns))
		return
	}
	p.Reasons = append(p.Reasons, say(model.Straddles))
	if n := t.placements(holds, breaks); n > 0 {
		p.Decide = append(p.Decide, say(model.MorePlacements, "count", n))
		return
	}
	p.Decide = append(p.Decide, t.narrow()...)
}

// placements is how many of each cable would decide the claim, if they came out and
// scattered as those there are; 0 where no number would, as the range of the pickup
// itself holds what is claimed.
func (t test) placements(holds, breaks float64) int {
	if t.cells == nil {
		return 0
	}
	n := t.cells[0].n()
	for _, c := range t.cells {
		n = min(n, c.n())
	}
	for more := n + 1; more <= mostPlacements; more++ {
		grown := func(s student) student {
			return student{s.value, s.u * math.Sqrt(float64(n)/float64(more)), float64(more - 1)}
		}
		if supported, refuted := t.chances(grown(t.lo), grown(t.hi)); supported <= holds || refuted <= breaks {
			return more
		}
	}
	return 0
}

// narrow says what would make the ranges narrower, where no number of placements
// decides: less hum without the lead where that is what makes them wide, a lower floor
// where one end is an upper limit, a steadier bench for a rise, which is as wide as
// quiet drifts.
func (t test) narrow() []note.Note {
	if t.claim.Kind == model.ClaimRise {
		if math.IsInf(t.lo.value, -1) {
			return []note.Note{say(model.FindQuiet)}
		}
		return []note.Note{say(model.SteadierBench)}
	}
	margin := math.Abs(t.mid - t.at)
	if t.claim.Kind == model.ClaimSame {
		margin = math.Abs(math.Abs(t.mid) - t.at)
	}
	if compares(t.claim) {
		margin /= 2 // each of the two may take half
	}
	var out []note.Note
	for _, c := range t.cells {
		if db := c.quietLowerBy(margin); db > 0 {
			out = append(out, say(model.LowerQuiet, "cable", c.cable, "db", db))
		}
	}
	if short := t.at - t.lo.value; t.cells != nil && t.cells[0].unseen() && short > 0 && !math.IsInf(short, 0) {
		out = append(out, say(model.LowerFloor, "cable", t.claim.Cable, "db", short, "times", math.Pow(10, short/5)))
	}
	if len(out) == 0 {
		out = append(out, say(model.MorePlacements))
	}
	return out
}

// unseen says that hum wasn't found near in some reading, so that an end is its
// upper limit. Beyond 10 s that falls with the square root of the recording's
// length in power, 5 dB for ten times as long.
func (c *cell) unseen() bool {
	return slices.ContainsFunc(c.readings, func(r reading) bool { return !r.found })
}

// quietLowerBy is by how many dB quiet has to be lower for the range of a pickup to
// reach no farther than margin below its value; 0 where it is already, or where a
// reference knows the phase and quiet widens nothing.
func (c *cell) quietLowerBy(margin float64) float64 {
	rise := c.delta.mid.value
	share := 1 - math.Pow(10, -margin/20) // of near that quiet may be
	if math.IsNaN(rise) || !(share > 0) || c.phased() {
		return 0
	}
	return math.Max(0, -20*math.Log10(share)-rise)
}
