package judge

import (
	"math"

	"humdiff/report/model"
)

// What the quiet runs, the controls, the instrument and the scale say.

func (a *asker) quietSteady() {
	most, seen := a.widest()
	silent := a.silentQuiets()
	if !seen {
		if len(silent) > 0 {
			a.says(model.Answered, model.QuietSilent, numbers(silent))
		} else {
			a.says(model.NotTested, model.QuietOnce, nil)
		}
		return
	}
	state, code := model.Answered, model.QuietSteady
	switch {
	case most.db > otherBenchDB:
		state, code = model.Upheld, model.QuietUnsteady
	case most.db > movedDB:
		state, code = model.Open, model.QuietUnsteady
	}
	a.says(state, code, numbers([]*run{most.from, most.to}), "db", most.db)
	if step := a.largestStep(model.Quantity{}); !a.OrderUnknown && step.db > 0 {
		a.says(model.Answered, model.QuietSteps, numbers([]*run{step.from, step.to}), "db", step.db)
	}
}

func (a *asker) controlRose() {
	rose, failed := 0, 0
	for _, e := range a.s.Exposures {
		switch e.Witness {
		case model.Yes:
			rose++
		case model.No:
			failed++
		}
	}
	runs := numbers(a.each(func(r *run) bool { return a.Control != "" && r.Cable == a.Control && r.Condition == model.Near }))
	switch {
	case rose+failed == 0:
		a.says(model.NotTested, model.WitnessNone, nil)
	case failed > 0:
		a.says(model.Open, model.WitnessFailed, runs, "count", failed)
	default:
		a.says(model.Answered, model.WitnessRose, runs, "count", rose)
	}
}

// residual asks how far near hum that rose lies above the instrument's own.
func (a *asker) residual() {
	residuals := a.of(model.Residual)
	least := math.Inf(1)
	for _, c := range a.gathered(model.Quantity{}) {
		for _, near := range c.nears() {
			for _, r := range residuals {
				if c.rose {
					least = math.Min(least, a.compare(r, near, model.Quantity{}).delta.lo)
				}
			}
		}
	}
	switch {
	case len(residuals) == 0 || math.IsInf(least, 1):
		a.says(model.NotTested, model.ResidualNone, nil)
	case least > nearResidual:
		a.says(model.Answered, model.ResidualBelow, numbers(residuals), "db", least)
	default:
		a.says(model.Open, model.ResidualClose, numbers(residuals), "db", least)
	}
}

func (a *asker) idle() {
	var idle []*run
	for _, r := range a.readings() {
		if _, ok := a.idleRise(r); ok {
			idle = append(idle, r.near)
		}
	}
	rises := withCode(a.s.Findings, model.IdleRises)
	switch {
	case len(idle) == 0:
		a.says(model.NotTested, model.IdleNone, nil)
	case len(rises) > 0:
		a.says(model.Open, model.IdleRose, runsOf(rises), "count", len(rises))
	default:
		a.says(model.Answered, model.IdleSilent, numbers(idle))
	}
}

// voltage asks what the unplugged lead did wherever near rose.
func (a *asker) voltage() {
	missing := 0
	var silent, rose, reaches []*run
	worst := math.Inf(-1)
	for _, c := range a.gathered(model.Quantity{}) {
		if !c.rose {
			continue
		}
		switch d := a.unplugged(c); {
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
		a.says(model.Answered, model.DeadSilent, numbers(silent))
	}
	if len(rose) > 0 {
		state := model.Answered
		if worst > -noMatterDB {
			state = model.Open
		}
		a.says(state, model.DeadRose, numbers(rose), "db", worst)
	}
	if len(reaches) > 0 {
		a.says(model.Upheld, model.DeadReaches, numbers(reaches))
	}
	if missing > 0 || len(a.o.Notes) == 0 {
		a.says(model.NotTested, model.DeadMissing, nil, "count", missing)
	}
}

func (a *asker) gain() {
	most, runs := math.NaN(), []*run(nil)
	for _, r := range a.readings() {
		for _, q := range r.quiets() {
			if d := math.Abs(noiseChange(q, r.near)); !math.IsNaN(d) && !(d <= most) {
				most = d
			}
		}
		runs = append(runs, r.runs()...)
	}
	switch {
	case math.IsNaN(most):
	case most > gainDB:
		a.says(model.Open, model.NoiseDiffers, numbers(runs), "db", most)
	default:
		a.says(model.Answered, model.NoiseSame, numbers(runs), "db", most)
	}
}

func (a *asker) calibration() {
	switch {
	case !a.Settings.FullScaleVolts.Ok():
		a.says(model.NotTested, model.ScaleMissing, nil)
	case len(a.Bench.Calibration) > 0:
		a.says(model.Answered, model.ToneGiven, nil)
	default:
		a.says(model.Open, model.ScaleStated, nil)
	}
	a.o.Notes = append(a.o.Notes, say(model.RatiosFree))
}
