package judge

import (
	"math"
	"slices"

	"humdiff/report/model"
)

// What placements, the far device, the plug, the order and what was left out say.

func (a *asker) placement() {
	fewest, spread, once := math.MaxInt, math.NaN(), 0
	var runs, onceRuns []*run
	for _, c := range a.gathered(model.Quantity{}) {
		if c.n() == 1 {
			once++
			onceRuns = append(onceRuns, c.nears()...)
			continue
		}
		fewest = min(fewest, c.n())
		runs = append(runs, c.nears()...)
		if sd := c.pickup.mid.sd; !math.IsNaN(sd) && !(sd <= spread) {
			spread = sd
		}
	}
	if len(runs) > 0 {
		a.says(model.Answered, model.Placements, numbers(runs), "db", spread, "count", fewest)
	}
	if once > 0 {
		a.says(model.NotTested, model.PlacedOnce, numbers(onceRuns), "count", once)
	}
}

// loop holds cells with an isolated far device against those that differ in nothing
// but its tie to earth. Without, only runs that were all isolated answer: class II
// devices leak.
func (a *asker) loop() {
	runs := map[string][]*run{}
	cells := a.gathered(model.Quantity{})
	for _, x := range cells {
		runs[x.where.Bonded] = append(runs[x.where.Bonded], x.nears()...)
		for _, y := range cells {
			w := y.where
			w.Bonded = model.No
			if x.where.Bonded == model.No && y.where.Bonded != model.No && y.where.Bonded != "" && x.cable == y.cable && x.where.Same(w) {
				a.bond(y, x)
			}
		}
	}
	switch {
	case len(a.o.Notes) > 0:
	case len(runs[model.ClassTwo]) > 0:
		a.says(model.NotTested, model.BondClassTwo, numbers(runs[model.ClassTwo]))
	case len(runs) == 1 && len(runs[model.No]) > 0:
		a.says(model.Answered, model.BondIsolated, numbers(runs[model.No]))
	}
}

func (a *asker) bond(bonded, apart *cell) {
	d := less(apart, bonded)
	state, code := model.Answered, model.BondSame
	if d.p() <= a.alpha() || math.Abs(d.mid) > gainDB {
		state, code = model.Open, model.BondDiffers
	}
	a.says(state, code, numbers(append(bonded.nears(), apart.nears()...)), "cable", bonded.cable, "db", d.mid)
}

// plug compares the two plug orientations within cells.
func (a *asker) plug() {
	for _, c := range a.gathered(model.Quantity{}) {
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
		state, code := model.Answered, model.PlugSame
		if math.Abs(d) > gainDB {
			state, code = model.Open, model.PlugMatters
		}
		a.says(state, code, numbers(c.nears()), "cable", c.cable, "db", d)
	}
}

func (a *asker) order() {
	nears := a.of(model.Near)
	cables := len(cablesOf(nears))
	if cables < 2 {
		return
	}
	if a.OrderUnknown {
		a.says(model.NotTested, model.OrderUnknown, nil)
		return
	}
	if blocks := withCode(a.s.Findings, model.InBlocks); len(blocks) > 0 {
		a.says(model.Open, model.OrderInBlocks, blocks[0].Runs, "count", cables)
	} else if share := betweenCables(nears); share > mixedShare && len(nears) > cables {
		a.says(model.Open, model.OrderInParts, numbers(nears), "count", math.Round(100*share))
	} else {
		a.says(model.Answered, model.OrderMixed, numbers(nears))
	}
	if moves := withCode(a.s.Findings, model.PickupMoves); len(moves) > 0 {
		a.says(model.Open, model.PickupsMoved, moves[0].Runs, "db", moves[0].Num("db"), "count", moves[0].Num("count"))
	}
	guessed := a.startsGuessed()
	switch {
	case !a.ByTime:
		a.says(model.Open, model.OrderAsListed, nil)
	case len(guessed) > 0:
		a.says(model.Open, model.OrderGuessed, numbers(guessed), "count", len(guessed))
	}
}

// selection asks what was left out, and whether it would have made a difference.
func (a *asker) selection() {
	var out, could []*run
	for _, r := range a.runs {
		if r.Used {
			continue
		}
		out = append(out, r)
		if r.Capture != nil && !r.Capture.Health.Silent {
			could = append(could, r)
		}
	}
	if len(out) == 0 {
		a.says(model.Answered, model.AllUsed, nil, "count", len(a.runs))
		return
	}
	a.says(model.Open, model.SomeLeftOut, numbers(out), "count", len(out))
	if unknown := len(out) - len(could); unknown > 0 {
		a.says(model.Open, model.UnknownWith, nil, "count", unknown)
	}
	if len(could) == 0 {
		return
	}
	all := newBench(a.Session, true)
	if !same(a.s, all.rankings(), all.claims()) {
		a.says(model.Upheld, model.OtherWithThem, numbers(could), "count", len(could))
		return
	}
	a.says(model.Answered, model.SameWithThem, numbers(could), "count", len(could))
	if len(could) == len(out) {
		a.o.State = model.Answered
	}
}

// same says that verdicts and what is told apart are those of a session.
func same(s model.Session, rankings []model.Ranking, claims []model.Claim) bool {
	for i, c := range claims {
		if c.Verdict != s.Claims[i].Verdict {
			return false
		}
	}
	return slices.EqualFunc(s.Rankings, rankings, func(x, y model.Ranking) bool {
		return slices.EqualFunc(x.Groups, y.Groups, slices.Equal[[]string])
	})
}

func (a *asker) dates() {
	late, unknown := 0, 0
	for _, c := range a.s.Claims {
		switch c.Late {
		case model.LateYes:
			late++
		case model.LateUnknown:
			unknown++
		}
	}
	switch {
	case len(a.s.Claims) == 0:
	case late > 0:
		a.says(model.Open, model.ClaimsLate, nil, "count", late)
	case unknown > 0:
		a.says(model.Open, model.ClaimsDatedNot, nil, "count", unknown)
	default:
		a.says(model.Answered, model.ClaimsBefore, nil, "count", len(a.s.Claims))
	}
}

func withCode(all []model.Finding, code string) []model.Finding {
	var out []model.Finding
	for _, f := range all {
		if f.Code == code {
			out = append(out, f)
		}
	}
	return out
}

func runsOf(all []model.Finding) []int {
	var out []int
	for _, f := range all {
		out = append(out, f.Runs...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}
