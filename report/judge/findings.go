package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// What findings and objections go by, dB; common practice, no source.
const (
	movedDB      = 1  // quiet that changed by more, from the first to the last, is said
	otherBenchDB = 5  // one that changed by more is another bench
	noMatterDB   = 20 // what the unplugged lead does, this far below near, changes it by less than 1 dB
)

// finding is one, with arguments as of note.New.
func finding(code, cable string, w model.Where, runs []int, args ...any) model.Finding {
	if runs == nil {
		runs = []int{}
	}
	return model.Finding{Note: say(code, args...), Cable: cable, Where: w, Runs: runs}
}

func (b *bench) findings() []model.Finding {
	out := []model.Finding{}
	cells := b.gathered(model.Quantity{})
	for _, look := range b.ofCells() {
		for _, c := range cells {
			out = append(out, look(c)...)
		}
	}
	for _, look := range []func() []model.Finding{
		b.noDifference, b.controlFindings, b.quietMoved, b.driftUnknown, b.inBlocks, b.pickupMoves,
		b.gainChanged, b.plugDiffers, b.onePlacements, b.quietClose, b.referenceMoves, b.linesLeftOut, b.guessed, b.noOrder, b.noQuiet,
	} {
		out = append(out, look()...)
	}
	for i := range out {
		out[i].Note = b.inOrder(out[i].Note)
	}
	return out
}

// ofCells are the findings that stand against a cell's place in a ranking.
func (b *bench) ofCells() []func(*cell) []model.Finding {
	return []func(*cell) []model.Finding{b.unpluggedFindings, b.idleFindings, belowFindings}
}

func (b *bench) unpluggedFindings(c *cell) []model.Finding {
	d := b.unplugged(c)
	code := model.DeadRises
	switch {
	case !d.rose || !c.rose:
		return nil
	case d.asHigh:
		code = model.DeadAsHigh
	case d.db < -noMatterDB:
		return nil
	}
	return []model.Finding{finding(code, c.cable, c.where, numbers(append(d.runs, c.nears()...)), "db", d.db)}
}

// idleFindings says where the idle channel rose together with the cable's.
func (b *bench) idleFindings(c *cell) []model.Finding {
	var with []*run
	most := math.Inf(-1)
	for _, r := range c.readings {
		if rise, ok := b.idleRise(r); ok && rise > 0 && r.delta.lo > 0 {
			with, most = append(with, r.near), math.Max(most, rise)
		}
	}
	if len(with) == 0 {
		return nil
	}
	return []model.Finding{finding(model.IdleRises, c.cable, c.where, numbers(with), "db", most)}
}

func belowFindings(c *cell) []model.Finding {
	var below []*run
	least := math.Inf(1)
	for _, r := range c.readings {
		if r.delta.hi < 0 {
			below, least = append(below, r.near), math.Min(least, r.delta.hi)
		}
	}
	if len(below) == 0 {
		return nil
	}
	return []model.Finding{finding(model.BelowQuiet, c.cable, c.where, numbers(below), "hi_db", least)}
}

func (b *bench) noDifference() (out []model.Finding) {
	for _, w := range b.places() {
		if !b.delivered(w) {
			out = append(out, finding(model.NoDifference, "", w, b.nearsAt(w)))
		}
	}
	return out
}

func (b *bench) controlFindings() (out []model.Finding) {
	for _, w := range b.places() {
		switch answer, _ := b.control(w); {
		case b.Control != "" && answer == "":
			out = append(out, finding(model.WitnessMissing, b.Control, w, nil))
		case answer == model.No && b.delivered(w):
			out = append(out, finding(model.WitnessDidNot, b.Control, w, nil))
		}
	}
	return out
}

func (b *bench) gainChanged() (out []model.Finding) {
	for _, r := range b.readings() {
		for _, q := range r.quiets() {
			if d := noiseChange(q, r.near); math.Abs(d) > gainDB {
				out = append(out, finding(model.GainChanged, r.near.Cable, r.near.Where(), []int{q.Number, r.near.Number}, "db", d))
			}
		}
	}
	return out
}

func (b *bench) plugDiffers() (out []model.Finding) {
	for _, w := range b.places() {
		cells := b.at(w, model.Quantity{})
		if slices.ContainsFunc(cells, func(c *cell) bool { return !slices.Equal(c.plugs(), cells[0].plugs()) }) {
			out = append(out, finding(model.PlugDiffers, "", w, b.nearsAt(w)))
		}
	}
	return out
}

func (b *bench) onePlacements() (out []model.Finding) {
	for _, c := range b.gathered(model.Quantity{}) {
		if c.n() == 1 {
			out = append(out, finding(model.OnePlacement, c.cable, c.where, numbers(c.nears()), "count", len(c.readings)))
		}
	}
	return out
}

func (b *bench) quietClose() []model.Finding {
	var near []*run
	for _, c := range b.gathered(model.Quantity{}) {
		for _, r := range c.readings {
			if c.rose && !r.known && r.delta.mid < closeDB {
				near = append(near, r.near)
			}
		}
	}
	return counted(model.QuietClose, near)
}

// counted is a finding of no place about some runs; none of none.
func counted(code string, runs []*run, args ...any) []model.Finding {
	if len(runs) == 0 {
		return nil
	}
	return []model.Finding{finding(code, "", nowhere, numbers(runs), append([]any{"count", len(runs)}, args...)...)}
}

// linesLeftOut says which harmonics are in no total, because a tone hides them in some
// run.
func (b *bench) linesLeftOut() []model.Finding {
	if len(b.set.Without) == 0 {
		return nil
	}
	runs := b.each(func(r *run) bool {
		return slices.ContainsFunc(r.Capture.Lines, func(l model.Line) bool { return l.Hidden })
	})
	return []model.Finding{finding(model.LinesLeftOut, "", nowhere, numbers(runs), "count", len(b.set.Without))}
}

// guessed says which runs have conditions that nobody has confirmed.
func (b *bench) guessed() []model.Finding {
	return counted(model.Guessed, b.each(func(r *run) bool { return len(r.Guessed) > 0 }))
}

// noQuiet names the runs with the lead that have no quiet run.
func (b *bench) noQuiet() (out []model.Finding) {
	lonely := b.each(func(r *run) bool {
		return r.WithLead() && len(b.quietsOf(r)) == 0
	})
	for _, cable := range cablesOf(lonely) {
		var runs []*run
		for _, r := range lonely {
			if r.Cable == cable {
				runs = append(runs, r)
			}
		}
		out = append(out, finding(model.NoQuiet, cable, nowhere, numbers(runs)))
	}
	return out
}
