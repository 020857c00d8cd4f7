package verdict

import (
	"math"
	"slices"

	"humdiff/report/result"
	"humdiff/report/session"
)

// asker gathers what runs say to one objection; the state is the worst of it.
type asker struct {
	o result.Objection
}

var severity = []string{result.Answered, result.Open, result.Upheld}

// says adds what some runs say. The first sets the state, others may only make
// it worse.
func (a *asker) says(state, code string, runs []int, db float64, count int) {
	n := note(code)
	n.Runs, n.DB, n.Count = append(n.Runs, runs...), result.Of(db), count
	a.o.Notes = append(a.o.Notes, n)
	switch {
	case state == result.NotTested && a.o.State != result.NotTested:
		a.o.State = worse(a.o.State, result.Open) // part of it isn't tested
	case a.o.State == result.NotTested && len(a.o.Notes) > 1 && state == result.Answered:
		a.o.State = result.Open
	case len(a.o.Notes) == 1 || a.o.State == result.NotTested:
		a.o.State = state
	default:
		a.o.State = worse(a.o.State, state)
	}
}

func worse(a, b string) string {
	if slices.Index(severity, b) > slices.Index(severity, a) {
		return b
	}
	return a
}

func (b *bench) objections(s result.Session) []result.Objection {
	out := []result.Objection{}
	for _, ask := range []struct {
		code string
		of   func(*asker, result.Session)
	}{
		{result.ObjectBench, b.askBench}, {result.ObjectInput, b.askInput}, {result.ObjectPlacement, b.askPlacement}, {result.ObjectVoltage, b.askVoltage},
		{result.ObjectLoop, b.askLoop}, {result.ObjectPlug, b.askPlug}, {result.ObjectOrder, b.askOrder}, {result.ObjectGain, b.askGain},
		{result.ObjectCalibration, b.askCalibration}, {result.ObjectSelection, b.askSelection},
	} {
		a := asker{result.Objection{Code: ask.code, State: result.NotTested, Notes: []result.Note{}}}
		ask.of(&a, s)
		for i, n := range a.o.Notes {
			a.o.Notes[i].AsListed = !b.byTime && slices.Contains(ofOrder, n.Code)
		}
		out = append(out, a.o)
	}
	return out
}

func (b *bench) askBench(a *asker, s result.Session) {
	most, seen := b.widest()
	runs := numbers([]run{most.from, most.to})
	silent := b.silentQuiets()
	switch {
	case !seen && len(silent) > 0:
		a.says(result.Answered, result.QuietSilent, numbers(silent), math.NaN(), 0)
	case !seen:
		a.says(result.NotTested, result.QuietOnce, nil, math.NaN(), 0)
	case most.db > otherBenchDB:
		a.says(result.Upheld, result.QuietUnsteady, runs, most.db, 0)
	case most.db > movedDB:
		a.says(result.Open, result.QuietUnsteady, runs, most.db, 0)
	default:
		a.says(result.Answered, result.QuietSteady, runs, most.db, 0)
	}
	if step := b.largestStep(result.Quantity{}); seen && !b.unordered && step.db > 0 {
		a.says(result.Answered, result.QuietSteps, numbers([]run{step.from, step.to}), step.db, 0)
	}
	rose, failed := 0, 0
	for _, e := range s.Exposures {
		switch e.Witness {
		case result.Yes:
			rose++
		case result.No:
			failed++
		}
	}
	witness := b.each(func(r run) bool { return r.Cable == s.Witness && s.Witness != "" && r.Condition == session.Near })
	switch {
	case rose+failed == 0:
		a.says(result.NotTested, result.WitnessNone, nil, math.NaN(), 0)
	case failed > 0:
		a.says(result.Open, result.WitnessFailed, numbers(witness), math.NaN(), failed)
	default:
		a.says(result.Answered, result.WitnessRose, numbers(witness), math.NaN(), rose)
	}
}

// silentQuiets are all quiet runs, if hum was found in none, and some bench has two;
// else none.
func (b *bench) silentQuiets() []run {
	quiets := b.each(func(r run) bool { return r.Condition == session.Quiet })
	for _, q := range quiets {
		l := b.level(q, false, result.Quantity{})
		if l.Detected || math.IsNaN(l.Limit) {
			return nil
		}
	}
	if len(b.bookends()) == 0 {
		return nil
	}
	return quiets
}

func (b *bench) askInput(a *asker, s result.Session) {
	residuals := b.each(func(r run) bool { return r.Condition == session.Residual })
	least := math.Inf(1)
	for _, c := range b.gathered(result.Quantity{}) {
		for _, near := range c.nears() {
			for _, r := range residuals {
				if c.rose {
					least = math.Min(least, b.compare(r, near, result.Quantity{}).delta.lo)
				}
			}
		}
	}
	switch {
	case len(residuals) == 0 || math.IsInf(least, 1):
		a.says(result.NotTested, result.ResidualNone, nil, math.NaN(), 0)
	case least > nearResidual:
		a.says(result.Answered, result.ResidualBelow, numbers(residuals), least, 0)
	default:
		a.says(result.Open, result.ResidualClose, numbers(residuals), least, 0)
	}
	var idle []run
	for _, c := range b.gathered(result.Quantity{}) {
		for _, r := range c.readings {
			if _, ok := b.idleRise(r); ok {
				idle = append(idle, *r.near)
			}
		}
	}
	rises := withCode(s.Findings, result.IdleRises)
	switch {
	case len(idle) == 0:
		a.says(result.NotTested, result.IdleNone, nil, math.NaN(), 0)
	case len(rises) > 0:
		a.says(result.Open, result.IdleRose, runsOf(rises), math.NaN(), len(rises))
	default:
		a.says(result.Answered, result.IdleSilent, numbers(idle), math.NaN(), 0)
	}
}

func withCode(all []result.Finding, code string) []result.Finding {
	var out []result.Finding
	for _, f := range all {
		if f.Code == code {
			out = append(out, f)
		}
	}
	return out
}

func runsOf(all []result.Finding) []int {
	var out []int
	for _, f := range all {
		out = append(out, f.Runs...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (b *bench) askPlacement(a *asker, _ result.Session) {
	fewest, spread, once := math.MaxInt, math.NaN(), 0
	var runs, onceRuns []run
	for _, c := range b.gathered(result.Quantity{}) {
		if c.n() == 1 {
			once++
			onceRuns = append(onceRuns, c.nears()...)
			continue
		}
		fewest = min(fewest, c.n())
		runs = append(runs, c.nears()...)
		if sd := c.pickup.mid.SD; !math.IsNaN(sd) && !(sd <= spread) {
			spread = sd
		}
	}
	if len(runs) > 0 {
		a.says(result.Answered, result.Placements, numbers(runs), spread, fewest)
	}
	if once > 0 {
		a.says(result.NotTested, result.PlacedOnce, numbers(onceRuns), math.NaN(), once)
	}
}

func (b *bench) askVoltage(a *asker, _ result.Session) {
	missing := 0
	var silent, rose, reaches []run
	worst := math.Inf(-1)
	for _, c := range b.gathered(result.Quantity{}) {
		if !c.rose {
			continue
		}
		d := b.dead(c)
		switch {
		case len(d.runs) == 0:
			missing++
		case d.asHigh:
			reaches = append(reaches, d.runs...)
		case d.rose:
			rose, worst = append(rose, d.runs...), math.Max(worst, d.db)
		default:
			silent = append(silent, d.runs...)
		}
	}
	if len(silent) > 0 {
		a.says(result.Answered, result.DeadSilent, numbers(silent), math.NaN(), 0)
	}
	if len(rose) > 0 {
		state := result.Answered
		if worst > -noMatterDB {
			state = result.Open
		}
		a.says(state, result.DeadRose, numbers(rose), worst, 0)
	}
	if len(reaches) > 0 {
		a.says(result.Upheld, result.DeadReaches, numbers(reaches), math.NaN(), 0)
	}
	if missing > 0 || len(a.o.Notes) == 0 {
		a.says(result.NotTested, result.DeadMissing, nil, math.NaN(), missing)
	}
}

// askLoop compares cells that differ in the bond of the far device alone.
func (b *bench) askLoop(a *asker, _ result.Session) {
	cells := b.gathered(result.Quantity{})
	var isolated []run
	for i, x := range cells {
		if x.where.Bonded == result.No {
			isolated = append(isolated, x.nears()...)
		}
		for _, y := range cells[i+1:] {
			w := y.where
			w.Bonded = x.where.Bonded
			if x.cable != y.cable || x.where.Bonded == y.where.Bonded || x.where.Bonded == "" || y.where.Bonded == "" || !sameWhere(x.where, w) {
				continue
			}
			bonded, apart := x, y
			if y.where.Bonded == result.Yes {
				bonded, apart = y, x
			}
			d := less(apart, bonded)
			state, code := result.Answered, result.BondSame
			if d.p() <= 1-b.in.Settings.Confidence || math.Abs(d.mid) > gainDB {
				state, code = result.Open, result.BondDiffers
			}
			a.says(state, code, numbers(append(x.nears(), y.nears()...)), d.mid, 0)
			a.o.Notes[len(a.o.Notes)-1].Cable = x.cable
		}
	}
	if len(a.o.Notes) == 0 && len(isolated) > 0 && !slices.ContainsFunc(cells, func(c *cell) bool { return c.where.Bonded != result.No }) {
		a.says(result.Answered, result.BondIsolated, numbers(isolated), math.NaN(), 0)
	}
}

// askPlug compares the two plug orientations within cells.
func (b *bench) askPlug(a *asker, _ result.Session) {
	for _, c := range b.gathered(result.Quantity{}) {
		var sum, count [3]float64
		for _, r := range c.readings {
			if !math.IsNaN(r.pickup.mid) {
				sum[r.near.Plug] += r.pickup.mid
				count[r.near.Plug]++
			}
		}
		if count[1] == 0 || count[2] == 0 {
			continue
		}
		d := sum[2]/count[2] - sum[1]/count[1]
		state, code := result.Answered, result.PlugSame
		if math.Abs(d) > gainDB {
			state, code = result.Open, result.PlugMatters
		}
		a.says(state, code, numbers(c.nears()), d, 0)
		a.o.Notes[len(a.o.Notes)-1].Cable = c.cable
	}
}

func (b *bench) askOrder(a *asker, s result.Session) {
	nears := b.each(func(r run) bool { return r.Condition == session.Near })
	if len(b.cablesOf(nears)) < 2 {
		return
	}
	if b.unordered {
		a.says(result.NotTested, result.OrderUnknown, nil, math.NaN(), 0)
		return
	}
	if blocks := withCode(s.Findings, result.InBlocks); len(blocks) > 0 {
		a.says(result.Open, result.OrderInBlocks, blocks[0].Runs, math.NaN(), blocks[0].Count)
	} else if share := betweenCables(nears); share > mixedShare && len(nears) > len(b.cablesOf(nears)) {
		a.says(result.Open, result.OrderInParts, numbers(nears), math.NaN(), int(math.Round(100*share)))
	} else {
		a.says(result.Answered, result.OrderMixed, numbers(nears), math.NaN(), 0)
	}
	if moves := withCode(s.Findings, result.PickupMoves); len(moves) > 0 {
		a.says(result.Open, result.PickupsMoved, moves[0].Runs, float64(moves[0].DB.Value), moves[0].Count)
	}
	guessed := b.each(run.startGuessed)
	switch {
	case !b.byTime:
		a.says(result.Open, result.OrderAsListed, nil, math.NaN(), 0)
	case len(guessed) > 0:
		a.says(result.Open, result.OrderGuessed, numbers(guessed), math.NaN(), len(guessed))
	}
}

func (b *bench) cablesOf(runs []run) []string {
	var out []string
	for _, r := range runs {
		if !slices.Contains(out, r.Cable) {
			out = append(out, r.Cable)
		}
	}
	return out
}

func (b *bench) askGain(a *asker, _ result.Session) {
	most, runs := math.NaN(), []run(nil)
	for _, c := range b.gathered(result.Quantity{}) {
		for _, r := range c.readings {
			for _, q := range r.quiets() {
				if d := math.Abs(b.noiseChange(q, *r.near)); !math.IsNaN(d) && !(d <= most) {
					most = d
				}
			}
			runs = append(runs, r.runs()...)
		}
	}
	switch {
	case math.IsNaN(most):
	case most > gainDB:
		a.says(result.Open, result.NoiseDiffers, numbers(runs), most, 0)
	default:
		a.says(result.Answered, result.NoiseSame, numbers(runs), most, 0)
	}
}

func (b *bench) askCalibration(a *asker, _ result.Session) {
	switch bench := b.in.Session.Bench; {
	case !b.in.Settings.FullScaleVolts.Ok():
		a.says(result.NotTested, result.ScaleMissing, nil, math.NaN(), 0)
	case len(bench.Calibration) > 0:
		a.says(result.Answered, result.ToneGiven, nil, math.NaN(), 0)
	default:
		a.says(result.Open, result.ScaleStated, nil, math.NaN(), 0)
	}
	a.o.Notes = append(a.o.Notes, note(result.RatiosFree))
}

func (b *bench) askSelection(a *asker, s result.Session) {
	var out []run
	measured := 0
	for _, r := range b.runs {
		if !r.used {
			out = append(out, r)
			if r.Got.Capture != nil {
				measured++
			}
		}
	}
	if len(out) == 0 {
		a.says(result.Answered, result.AllUsed, nil, math.NaN(), len(b.runs))
	} else {
		a.says(result.Open, result.SomeLeftOut, numbers(out), math.NaN(), len(out))
		b.askWithThem(a, s, out, measured)
	}
	b.askDates(a, s)
}

// askWithThem judges again with the runs that the session leaves out, as far as
// they were measured.
func (b *bench) askWithThem(a *asker, s result.Session, out []run, measured int) {
	if measured < len(out) {
		a.says(result.Open, result.UnknownWith, nil, math.NaN(), len(out)-measured)
	}
	if measured == 0 {
		return
	}
	in := b.in
	in.Session.Runs = slices.Clone(in.Session.Runs)
	for i := range in.Session.Runs {
		in.Session.Runs[i].LeftOut = ""
	}
	all := newBench(in)
	if same(s, all.rankings(), all.claims()) {
		a.says(result.Answered, result.SameWithThem, numbers(out), math.NaN(), measured)
		if measured == len(out) {
			a.o.State = result.Answered
		}
	} else {
		a.says(result.Upheld, result.OtherWithThem, numbers(out), math.NaN(), measured)
	}
}

// same says that verdicts and what is told apart are those of a session.
func same(s result.Session, rankings []result.Ranking, claims []result.ClaimResult) bool {
	for i, c := range claims {
		if c.Verdict != s.Claims[i].Verdict {
			return false
		}
	}
	return slices.EqualFunc(s.Rankings, rankings, func(x, y result.Ranking) bool {
		return slices.EqualFunc(x.Groups, y.Groups, slices.Equal[[]string])
	})
}

func (b *bench) askDates(a *asker, s result.Session) {
	late, unknown := 0, 0
	for _, c := range s.Claims {
		switch c.Late {
		case result.LateYes:
			late++
		case result.LateUnknown:
			unknown++
		}
	}
	switch {
	case len(s.Claims) == 0:
	case late > 0:
		a.says(result.Open, result.ClaimsLate, nil, math.NaN(), late)
	case unknown > 0:
		a.says(result.Open, result.ClaimsDatedNot, nil, math.NaN(), unknown)
	default:
		a.says(result.Answered, result.ClaimsBefore, nil, math.NaN(), len(s.Claims))
	}
}
