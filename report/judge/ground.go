package judge

import (
	"math"
	"slices"
	"strings"
	"time"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/coupling"
	"humdiff/report/model"
)

// Passport fills in what follows from a passport's runs; real leads' pickups that it has
// already stay.
func Passport(p model.Passport) model.Passport {
	p.CableNumbers = *numbersAgain(p.Bench, &p.CableNumbers)
	b := newBench(model.Session{Settings: model.Settings{Confidence: 0.95}, Sitting: model.Sitting{Bench: p.Bench, Claims: p.Claims}, Passport: &p.CableNumbers}, false)
	p.Claims, p.Warnings = b.claims(), DriveWarnings(p.Runs)
	return p
}

// DriveWarnings are those of driven runs.
func DriveWarnings(runs []model.DrivenRun) []model.Warning {
	all := []model.Warning{}
	for _, run := range runs {
		if run.Clipped > 0 {
			all = append(all, model.Warning{Note: note.New(driveClipped, "samples", run.Clipped), File: run.File})
		}
	}
	return all
}

const driveClipped = "drive_clipped" // samples

// numbersAgain are cables' numbers worked out again from their runs; nil of nil.
func numbersAgain(bench model.Bench, was *model.CableNumbers) *model.CableNumbers {
	if was == nil {
		return nil
	}
	out := *was
	out.Cables = coupling.Passports(model.Passport{Bench: bench, CableNumbers: out})
	for c := range out.Cables {
		for i := range out.Cables[c].Predicted {
			if c < len(was.Cables) && i < len(was.Cables[c].Predicted) {
				one, old := &out.Cables[c].Predicted[i], was.Cables[c].Predicted[i]
				one.Run, one.Measured, one.Quiet, one.Near = old.Run, old.Measured, old.Quiet, old.Near
				one.Agrees = coupling.Held(*one)
			}
		}
	}
	return &out
}

// coupled is a claim of the kind coupling on the session's passport; none where that says
// nothing of it. A capacitance is known by its logarithm, so the claim is tested in dB as
// others are.
func (b *bench) coupled(c model.Claim) []test {
	if b.Passport == nil {
		return nil
	}
	e, budget, runs := coupling.Claimed(model.Passport{Bench: b.Bench, CableNumbers: *b.Passport}, c.Cable, c.Termination.Ohms, c.Limit)
	db := endsOf(e.Map(func(v float64) float64 { return 20 * math.Log10(v) }))
	if !e.Known() {
		return nil
	}
	t := test{claim: c, where: model.Where{Termination: c.Termination}, runs: runs, unit: c.Limit.Unit, negative: true, said: e, mid: -db.mid,
		at: -20 * math.Log10(float64(c.Limit.Value)), once: budget.Placements < 2 && !strings.HasPrefix(c.Limit.Unit, "Ω"),
		linear: func(db ends) model.Estimate {
			return estimate.Of(amplitude(db.mid), amplitude(db.lo), amplitude(db.hi))
		}}
	if !e.Measured() { // its upper end alone is known, at 97.5 %
		t.lo, t.hi, t.least = student{-db.hi, 0, math.Inf(1)}, student{math.Inf(1), 0, math.Inf(1)}, b.tail()
		return []test{t}
	}
	dof := math.Inf(1)
	if budget.DOF.Ok() {
		dof = max(1, math.Floor(float64(budget.DOF))) // as its factor for 95 % is (GUM, G.4.1)
	}
	// The bounds are the interval's own ends, so that no verdict goes against what is printed.
	factor := student{0, 1, dof}.reach(b.tail())
	t.lo = student{-db.mid, (db.hi - db.mid) / factor, dof}
	t.hi = student{-db.mid, (db.mid - db.lo) / factor, dof}
	return []test{t}
}

// driven is the first day on which a known source was on at a cable; zero: unknown.
func (b *bench) driven(cable string) (first time.Time) {
	if b.Passport == nil {
		return first
	}
	for _, r := range b.Passport.Runs {
		if at, err := time.Parse(time.DateOnly, r.Day); err == nil && r.Cable == cable && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first
}

// predicted is what the passport predicts of a pickup that runs don't decide: it says so
// beside them, since it is of the fundamental alone, and of a lead where the wire lay.
func (b *bench) predicted(c model.Claim) (all []note.Note) {
	if b.Passport == nil || c.Quantity.AWeighted || c.Quantity.Harmonic > 1 {
		return nil
	}
	i := slices.IndexFunc(b.Passport.Cables, func(p model.CablePassport) bool { return p.Cable == c.Cable })
	if i < 0 {
		return nil
	}
	for _, p := range b.Passport.Cables[i].Predicted {
		ohms, _, _ := p.SourceOhms.Numbers()
		if !about(c, model.Where{Termination: model.Termination{Ohms: model.Num(ohms)}, Exposure: c.Exposure}) {
			continue
		}
		v, lo, hi := p.Volts.Numbers()
		against := "both"
		switch limit := float64(c.Volts); {
		case hi < limit:
			against = "below"
		case lo > limit:
			against = "above"
		}
		args := []any{"ohms", ohms, "against", against, "hi_volts", hi}
		if p.Volts.Measured() {
			args = append(args, "volts", v, "lo_volts", lo)
		}
		all = append(all, note.Note{Code: model.PassportPredicts, Args: note.New("", args...).Args}) // say would round volts away
	}
	return all
}
