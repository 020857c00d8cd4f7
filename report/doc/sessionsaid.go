package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// as is what a note says in a role: "finding", "reason", "decide", "answer". Texts
// from outside are made harmless here, once.
func as(role string, n model.Note, more ...any) string {
	args := slices.Concat(n.Args, note.New("", more...).Args)
	for i, a := range args {
		if s, ok := a.Value.(string); ok {
			args[i].Value = Printable(s)
		}
	}
	return Says(note.Note{Code: role + "." + n.Code, Args: args})
}

// Finding says a finding, with the runs it is of.
func Finding(f model.Finding) string {
	return as("finding", f.Note, "at", upperFirst(Where(f.Where)), "cable", f.Cable, "runs", f.Runs, "change", change3(f.Note))
}

// change3 is a note's value in dB with its interval.
func change3(n model.Note) string { return DBSaid(estimateOf(n)) }

func estimateOf(n model.Note) model.Estimate {
	return estimateFrom(n.Num("db"), n.Num("lo_db"), n.Num("hi_db"))
}

// Reason says why a verdict is not more than it is.
func Reason(n model.Note) string { return as("reason", n) }

// Decide says what would decide a claim.
func Decide(n model.Note) string {
	if n.Get("cable") == nil {
		return as("decide", n, "cable", "")
	}
	return as("decide", n)
}

// Objects is what a hostile reader would say; Settle what to record for it.
func Objects(code string) string { return as("objection", note.New(code)) }
func Settle(code string) string  { return as("settle", note.New(code)) }

// Answers is what runs say to an objection.
func Answers(o model.Objection) string {
	var all []string
	for _, n := range o.Notes {
		all = append(all, as("answer", n))
	}
	return strings.Join(all, " ")
}

// ObjectionState says how an objection stands.
func ObjectionState(state string) string {
	return map[string]string{model.Answered: "answered", model.Open: "not settled", model.Upheld: "upheld: the runs speak for it", model.NotTested: "not tested"}[state]
}

// isOpen says that something could still be recorded for an objection.
func isOpen(o model.Objection) bool { return o.State == model.NotTested || o.State == model.Open }

// DBSaid writes a value in dB with its interval, or what there is of it, e.g.
// "14.2 dB (13.1 to 15.3)", "−1.3 to 4.5 dB", "at most 3.1 dB". A range has no
// value, and is given none.
func DBSaid(e model.Estimate) string { return inDB(e, "dB") }

func inDB(e model.Estimate, unit string) string {
	lo, hi := ends(e)
	v := value(e)
	switch {
	case lo.Ok() && hi.Ok() && v.Ok():
		return fmt.Sprintf("%s %s (%s to %s)", Fixed(v, 1), unit, Fixed(lo, 1), Fixed(hi, 1))
	case lo.Ok() && hi.Ok():
		return between(Fixed(lo, 1), Fixed(hi, 1)) + " " + unit
	case lo.Ok():
		return "at least " + Fixed(down(lo), 1) + " " + unit
	case hi.Ok():
		return "at most " + Fixed(up(hi), 1) + " " + unit
	case v.Ok():
		return Fixed(v, 1) + " " + unit + ", without an interval"
	}
	return "not known"
}

// VoltsSaid writes a voltage with its interval, or what there is of it.
func VoltsSaid(e model.Estimate) string {
	lo, hi := ends(e)
	v := value(e)
	switch {
	case lo.Ok() && hi.Ok() && v.Ok() && lo > 0:
		return SI(v, "V") + " (" + siRange(lo, hi, "V") + ")"
	case lo.Ok() && hi.Ok() && lo > 0:
		return siRange(lo, hi, "V")
	case hi.Ok():
		return "at most " + SI(hi, "V")
	case lo.Ok() && lo > 0:
		return "at least " + SI(lo, "V")
	case v.Ok():
		return SI(v, "V") + ", without an interval"
	}
	return "not known"
}

// PickupSaid writes a pickup in volts where the scale is known, else in dB re full
// scale.
func PickupSaid(set model.Settings, dbfs model.Estimate) string {
	volts := PickupVolts(set, dbfs)
	if _, ok := volts.Upper(); ok || volts.Measured() {
		return VoltsSaid(volts)
	}
	return inDB(dbfs, "dBFS")
}

// PickupVolts is a session's pickup in volts; unknown without a scale.
func PickupVolts(set model.Settings, dbfs model.Estimate) model.Estimate {
	return model.Scale{FullScaleVolts: set.FullScaleVolts}.InVolts(dbfs)
}

// humOver names the quantity that is judged.
func humOver(q model.Quantity) string {
	switch {
	case q.Harmonic > 0:
		return fmt.Sprintf("harmonic %d", q.Harmonic)
	case q.AWeighted:
		return "A-weighted hum"
	}
	return "hum"
}

// PAtMost writes a p value as a bound: rounded up, and never as zero.
func PAtMost(p model.Num) string {
	switch {
	case !p.Ok():
		return ""
	case p < 0.0001:
		return "p < 0.0001"
	case p < 0.01:
		return "p ≤ " + trimZeros(Fixed(roundedUp(p, 1e4), 4))
	}
	return "p ≤ " + trimZeros(Fixed(roundedUp(p, 100), 2))
}

func roundedUp(p model.Num, per float64) model.Num {
	return model.Num(math.Ceil(float64(p)*per-1e-9) / per)
}

// estimateFrom is a value with its ends, NaN for what isn't known.
func estimateFrom(v, lo, hi float64) model.Estimate {
	if math.IsNaN(v) {
		return estimate.Between(lo, hi)
	}
	return estimate.Of(v, lo, hi)
}
