package session

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// Planned is the session of a planned order, to be filled in as it is recorded.
// bench is what is stated of it already. Captures of a calibration tone belong to
// the bench where its voltage is known, as "1.0V ±0.5%"; empty: not yet.
func Planned(path string, o model.PlanOrder, bench model.Bench, tone string) File {
	f := File{Path: path, RunsFile: "runs.csv", Seconds: o.Seconds, Sitting: Blank()}
	s := &f.Sitting
	s.Title, s.Control, s.Bench = o.Title, o.Witness, bench
	s.Bench.Notes = fmt.Sprintf("Run order shuffled with the seed %d.", o.Seed)
	for _, step := range o.Runs {
		switch step.Condition {
		case model.Quiet, model.Near, model.Unplugged, model.Residual:
			r := BlankRun()
			r.Number, r.Cable, r.Exposure, r.Condition, r.Repeat = len(s.Runs)+1, step.Cable, step.Exposure, step.Condition, step.Repeat
			r.Termination = model.Termination{Ohms: step.Termination, Open: step.Open}
			r.Replaced, r.Plug, r.Address = step.Replaced, step.Plug, step.File
			s.Runs = append(s.Runs, r)
		default:
			if tone != "" {
				s.Bench.Calibration = append(slices.Clone(s.Bench.Calibration), step.File+"="+tone)
			}
		}
	}
	return f
}

// KeyCount is of how many runs something is true of a key.
type KeyCount struct {
	Key  string
	Runs int
}

// Guessed counts what was guessed and nobody has confirmed, by key.
func Guessed(s model.Sitting) []KeyCount {
	return counts(s, func(r model.Run, key string) bool {
		return slices.Contains(r.Guessed, key) && (key != model.StartKey || !r.Start.IsZero())
	})
}

// Missing counts what every run has to have, or what most runs should, and doesn't.
func Missing(s model.Sitting) []KeyCount {
	return counts(s, func(r model.Run, key string) bool {
		switch key {
		case "condition":
			return r.Condition == ""
		case "cable":
			return r.Cable == "" && r.Condition != model.Residual
		case "termination_ohms":
			return !r.Termination.Stated() && r.Condition != model.Residual
		case "exposure":
			return r.Exposure == "" && r.WithLead()
		case "replaced":
			return r.Condition == model.Near && r.Repeat > 1 && !r.Replaced
		case "plug":
			return r.WithLead() && r.Plug == 0
		case model.StartKey:
			return r.Start.IsZero()
		}
		return false
	})
}

// counts are the keys of runs for which a question is answered with yes by any.
func counts(s model.Sitting, of func(r model.Run, key string) bool) (all []KeyCount) {
	for _, key := range runNames() {
		n := 0
		for _, r := range s.Runs {
			if of(r, key) {
				n++
			}
		}
		if n > 0 {
			all = append(all, KeyCount{key, n})
		}
	}
	return all
}
