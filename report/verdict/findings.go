package verdict

import (
	"math"
	"slices"

	"humdiff/report/repeats"
	"humdiff/report/result"
	"humdiff/report/session"
)

// What findings and objections go by, dB; common practice, no source.
const (
	movedDB      = 1  // quiet that changed by more, from the first to the last, is said
	otherBenchDB = 5  // one that changed by more is another bench
	gainDB       = 3  // noise that differs by more points to another gain
	closeDB      = 20 // quiet within this of near makes the pickup's range wide
	noMatterDB   = 20 // what the unplugged lead does, this far below near, changes it by less than 1 dB

	// mixedShare is how much of the spread of near runs' places in the order may
	// lie between cables for these to have taken turns: what drifts evenly with
	// time then shows more within cables than between them.
	mixedShare = 0.5
)

func finding(code, cable string, w result.Where, runs []int) result.Finding {
	if runs == nil {
		runs = []int{}
	}
	return result.Finding{Code: code, Cable: cable, Where: w, Runs: runs,
		DB: result.Interval{Value: result.None, Lo: result.None, Hi: result.None}}
}

var nowhere = result.Where{Termination: result.Termination{Ohms: result.None}}

func (b *bench) findings() []result.Finding {
	out := []result.Finding{}
	cells := b.gathered(result.Quantity{})
	for _, look := range []func(*cell) []result.Finding{b.deadFindings, b.idleFindings, belowQuiet} {
		for _, c := range cells {
			out = append(out, look(c)...)
		}
	}
	for _, look := range []func() []result.Finding{
		b.noDifference, b.witnessFindings, b.quietMoved, b.driftUnknown, b.inBlocks, b.pickupMoves,
		b.gainChanged, b.plugDiffers, b.onePlacements, b.quietClose, b.linesLeftOut, b.guessed, b.noOrder, b.noQuiet,
	} {
		out = append(out, look()...)
	}
	for i, f := range out {
		out[i].AsListed = !b.byTime && slices.Contains(ofOrder, f.Code)
	}
	return out
}

// ofOrder are what speaks of the order in which runs were made.
var ofOrder = []string{result.InBlocks, result.QuietMoved, result.DriftUnknown, result.PickupMoves,
	result.QuietSteps, result.OrderMixed, result.OrderInBlocks, result.OrderInParts, result.PickupsMoved}

func (b *bench) deadFindings(c *cell) []result.Finding {
	d := b.dead(c)
	if !d.rose || !c.rose {
		return nil
	}
	f := finding(result.DeadRises, c.cable, c.where, numbers(append(d.runs, c.nears()...)))
	f.DB.Value = result.Of(d.db)
	switch {
	case d.asHigh:
		f.Code = result.DeadAsHigh
	case d.db < -noMatterDB:
		return nil
	}
	return []result.Finding{f}
}

// idleFindings says where the idle channel rose together with the cable's.
func (b *bench) idleFindings(c *cell) []result.Finding {
	var with []run
	most := math.Inf(-1)
	for _, r := range c.readings {
		if rise, ok := b.idleRise(r); ok && rise > 0 && r.delta.lo > 0 {
			with = append(with, *r.near)
			most = math.Max(most, rise)
		}
	}
	if len(with) == 0 {
		return nil
	}
	f := finding(result.IdleRises, c.cable, c.where, numbers(with))
	f.DB.Value = result.Of(most)
	return []result.Finding{f}
}

// idleRise is how far the idle channel surely rose with a near run, dB: the
// least against any quiet run around it, less what the idle channel's quiet
// changed by; false without an idle channel.
func (b *bench) idleRise(r reading) (db float64, ok bool) {
	db = math.Inf(1)
	for _, q := range r.quiets() {
		p, there := b.compareIdle(q, *r.near)
		if !there {
			return 0, false
		}
		db = math.Min(db, p.delta.lo)
	}
	if r.before != nil && r.after != nil {
		if p, there := b.compareIdle(*r.before, *r.after); there {
			if moved := math.Abs(p.delta.mid); moved > 0 {
				db -= moved
			}
		}
	}
	return db, true
}

func belowQuiet(c *cell) []result.Finding {
	var below []run
	least := math.Inf(1)
	for _, r := range c.readings {
		if r.delta.hi < 0 {
			below = append(below, *r.near)
			least = math.Min(least, r.delta.hi)
		}
	}
	if len(below) == 0 {
		return nil
	}
	f := finding(result.BelowQuiet, c.cable, c.where, numbers(below))
	f.DB.Hi = result.Of(least)
	return []result.Finding{f}
}

func (b *bench) noDifference() (out []result.Finding) {
	for _, w := range b.places() {
		if !b.delivered(w) {
			out = append(out, finding(result.NoDifference, "", w, b.nearsAt(w)))
		}
	}
	return out
}

func (b *bench) nearsAt(w result.Where) []int {
	var all []run
	for _, c := range b.at(w, result.Quantity{}) {
		all = append(all, c.nears()...)
	}
	return numbers(all)
}

func (b *bench) witnessFindings() (out []result.Finding) {
	name := b.in.Session.Roles.Witness
	for _, w := range b.places() {
		switch answer, _ := b.witness(w); {
		case name != "" && answer == "":
			out = append(out, finding(result.WitnessMissing, name, w, nil))
		case answer == result.No && b.delivered(w):
			out = append(out, finding(result.WitnessDidNot, name, w, nil))
		}
	}
	return out
}

// bookends are the first and the last quiet run of each bench, as changes of the
// total.
type bookend struct {
	first, last run
	delta       span
}

func (b *bench) bookends() []bookend {
	var out []bookend
	quiets := b.each(func(r run) bool { return r.Condition == session.Quiet })
	for i, first := range quiets {
		earlier := func(q run) bool { return b.sameBench(q, first) }
		if slices.ContainsFunc(quiets[:i], earlier) {
			continue
		}
		last := first
		for _, q := range quiets[i+1:] {
			if b.sameBench(first, q) {
				last = q
			}
		}
		if last.number != first.number {
			out = append(out, bookend{first, last, b.compare(first, last, result.Quantity{}).delta})
		}
	}
	return out
}

func (b *bench) quietMoved() (out []result.Finding) {
	if b.unordered {
		return nil
	}
	for _, e := range b.bookends() {
		if (e.delta.lo > 0 || e.delta.hi < 0) && !(math.Abs(e.delta.mid) < movedDB) {
			f := finding(result.QuietMoved, e.first.Cable, where(e.first.Run), []int{e.first.number, e.last.number})
			f.DB = e.delta.interval()
			out = append(out, f)
		}
	}
	return out
}

func (b *bench) driftUnknown() []result.Finding {
	var one []run
	for _, c := range b.gathered(result.Quantity{}) {
		for _, r := range c.readings {
			if len(r.quiets()) == 1 {
				one = append(one, *r.near)
			}
		}
	}
	if len(one) == 0 {
		return nil
	}
	f := finding(result.DriftUnknown, "", nowhere, numbers(one))
	f.Count = len(one)
	f.DB.Value = result.Of(b.largestStep(result.Quantity{}).db)
	if len(b.moves(result.Quantity{})) == 0 {
		f.DB.Value = result.None
	}
	return []result.Finding{f}
}

// inBlocks says that the near runs of each cable were made one after the other,
// with no other cable's between: then cable and time can't be told apart.
func (b *bench) inBlocks() []result.Finding {
	if b.unordered {
		return nil
	}
	nears := b.each(func(r run) bool { return r.Condition == session.Near })
	var blocks []string
	for _, r := range nears {
		if len(blocks) == 0 || blocks[len(blocks)-1] != r.Cable {
			blocks = append(blocks, r.Cable)
		}
	}
	distinct := slices.Clone(blocks)
	slices.Sort(distinct)
	distinct = slices.Compact(distinct)
	if len(distinct) < 2 || len(blocks) > len(distinct) || len(nears) <= len(distinct) {
		return nil
	}
	f := finding(result.InBlocks, "", nowhere, numbers(nears))
	f.Count = len(distinct)
	return []result.Finding{f}
}

// betweenCables is the share of the spread (sum of squares) of near runs' places in
// their order that lies between cables: 1 where each cable's were made at one
// time, near 0 where all took turns.
func betweenCables(nears []run) float64 {
	sum, count := map[string]float64{}, map[string]float64{}
	for i, r := range nears {
		sum[r.Cable], count[r.Cable] = sum[r.Cable]+float64(i), count[r.Cable]+1
	}
	middle := float64(len(nears)-1) / 2
	between, all := 0.0, 0.0
	for i, r := range nears {
		between += math.Pow(sum[r.Cable]/count[r.Cable]-middle, 2)
		all += math.Pow(float64(i)-middle, 2)
	}
	return between / all
}

// pickupMoves says that pickups rose or fell over the repeats, cells taken
// together: the last placement against the first in each.
func (b *bench) pickupMoves() []result.Finding {
	if b.unordered {
		return nil
	}
	var change []float64
	var runs []run
	for _, c := range b.gathered(result.Quantity{}) {
		first, last := c.readings[0], c.readings[len(c.readings)-1]
		if d := last.pickup.mid - first.pickup.mid; c.n() > 2 && !math.IsNaN(d) {
			change, runs = append(change, d), append(runs, *first.near, *last.near)
		}
	}
	m, err := repeats.Of(change, b.in.Settings.Confidence)
	if err != nil || len(change) < 3 || math.Abs(m.Value) <= m.Half {
		return nil
	}
	f := finding(result.PickupMoves, "", nowhere, numbers(runs))
	f.Count = len(change)
	f.DB = span{m.Value - m.Half, m.Value, m.Value + m.Half}.interval()
	return []result.Finding{f}
}

// noiseChange is how far the noise without lines differs between two runs, dB.
func (b *bench) noiseChange(quiet, near run) float64 {
	q, n := quiet.Got.Capture.Noise, near.Got.Capture.Noise
	if !q.DBFS.Ok() || !n.DBFS.Ok() || q.BandHz != n.BandHz {
		return math.NaN()
	}
	return float64(n.DBFS - q.DBFS)
}

func (b *bench) gainChanged() (out []result.Finding) {
	for _, c := range b.gathered(result.Quantity{}) {
		for _, r := range c.readings {
			for _, q := range r.quiets() {
				if d := b.noiseChange(q, *r.near); math.Abs(d) > gainDB {
					f := finding(result.GainChanged, c.cable, c.where, []int{q.number, r.near.number})
					f.DB.Value = result.Of(d)
					out = append(out, f)
				}
			}
		}
	}
	return out
}

// plugs are the plug orientations of a cell, 0 where one isn't stated.
func (c *cell) plugs() []int {
	var out []int
	for _, r := range c.readings {
		out = append(out, r.near.Plug)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (b *bench) plugDiffers() (out []result.Finding) {
	for _, w := range b.places() {
		cells := b.at(w, result.Quantity{})
		for _, c := range cells[1:] {
			if !slices.Equal(c.plugs(), cells[0].plugs()) {
				out = append(out, finding(result.PlugDiffers, "", w, b.nearsAt(w)))
				break
			}
		}
	}
	return out
}

func (b *bench) onePlacements() (out []result.Finding) {
	for _, c := range b.gathered(result.Quantity{}) {
		if c.n() == 1 {
			f := finding(result.OnePlacement, c.cable, c.where, numbers(c.nears()))
			f.Count = len(c.readings)
			out = append(out, f)
		}
	}
	return out
}

func (b *bench) quietClose() []result.Finding {
	var near []run
	for _, c := range b.gathered(result.Quantity{}) {
		for _, r := range c.readings {
			if c.rose && r.delta.mid < closeDB {
				near = append(near, *r.near)
			}
		}
	}
	if len(near) == 0 {
		return nil
	}
	f := finding(result.QuietClose, "", nowhere, numbers(near))
	f.Count = len(near)
	return []result.Finding{f}
}

// linesLeftOut says which harmonics are in no total, because a tone hides them in
// some run.
func (b *bench) linesLeftOut() []result.Finding {
	if len(b.set.Without) == 0 {
		return nil
	}
	runs := b.each(func(r run) bool {
		return slices.ContainsFunc(r.Got.Capture.Lines, func(l result.CaptureLine) bool { return l.Hidden })
	})
	f := finding(result.LinesLeftOut, "", nowhere, numbers(runs))
	f.Count = len(b.set.Without)
	return []result.Finding{f}
}

// guessed says which runs have conditions that nobody has confirmed.
func (b *bench) guessed() []result.Finding {
	runs := b.each(func(r run) bool { return len(r.Guessed) > 0 })
	if len(runs) == 0 {
		return nil
	}
	f := finding(result.Guessed, "", nowhere, numbers(runs))
	f.Count = len(runs)
	return []result.Finding{f}
}

// noOrder says that nothing is known of the order of the runs.
func (b *bench) noOrder() []result.Finding {
	if !b.unordered {
		return nil
	}
	return []result.Finding{finding(result.NoOrder, "", nowhere, nil)}
}

// noQuiet names the runs with the lead that have no quiet run.
func (b *bench) noQuiet() (out []result.Finding) {
	lonely := b.each(func(r run) bool {
		return (r.Condition == session.Near || r.Condition == session.Dead) && len(b.quietsOf(r)) == 0
	})
	for _, cable := range b.cablesOf(lonely) {
		var runs []run
		for _, r := range lonely {
			if r.Cable == cable {
				runs = append(runs, r)
			}
		}
		out = append(out, finding(result.NoQuiet, cable, nowhere, numbers(runs)))
	}
	return out
}
