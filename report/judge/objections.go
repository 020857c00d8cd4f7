package judge

import (
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// asker gathers what runs say to one objection; the state is the worst of it.
type asker struct {
	*bench
	s model.Session // as judged so far
	o model.Objection
}

var severity = []string{model.Answered, model.Open, model.Upheld}

// says adds what some runs say, with arguments as of note.New. The first sets the
// state, others may only make it worse.
func (a *asker) says(state, code string, runs []int, args ...any) {
	if len(runs) > 0 {
		args = append(args, "runs", runs)
	}
	a.o.Notes = append(a.o.Notes, a.inOrder(say(code, args...)))
	switch {
	case state == model.NotTested && a.o.State != model.NotTested:
		a.o.State = worse(a.o.State, model.Open) // part of it isn't tested
	case a.o.State == model.NotTested && len(a.o.Notes) > 1 && state == model.Answered:
		a.o.State = model.Open
	case len(a.o.Notes) == 1 || a.o.State == model.NotTested:
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

func (b *bench) objections(s model.Session) []model.Objection {
	out := []model.Objection{}
	for _, ask := range []struct {
		code string
		of   []func(*asker)
	}{
		{model.ObjectBench, []func(*asker){(*asker).quietSteady, (*asker).controlRose}},
		{model.ObjectInput, []func(*asker){(*asker).residual, (*asker).idle}},
		{model.ObjectPlacement, []func(*asker){(*asker).placement}},
		{model.ObjectVoltage, []func(*asker){(*asker).voltage}},
		{model.ObjectLoop, []func(*asker){(*asker).loop}},
		{model.ObjectPlug, []func(*asker){(*asker).plug}},
		{model.ObjectOrder, []func(*asker){(*asker).order}},
		{model.ObjectGain, []func(*asker){(*asker).gain}},
		{model.ObjectCalibration, []func(*asker){(*asker).calibration}},
		{model.ObjectSelection, []func(*asker){(*asker).selection, (*asker).dates}},
	} {
		a := asker{b, s, model.Objection{Code: ask.code, State: model.NotTested, Notes: []note.Note{}}}
		for _, of := range ask.of {
			of(&a)
		}
		out = append(out, a.o)
	}
	return out
}
