package measure

import (
	"math"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// at places notes, in as many digits as measuring gives on every machine: counts as they
// are, other numbers in seven.
func at(place model.Side, list ...note.Note) []model.Warning {
	placed := make([]model.Warning, len(list))
	for i, n := range list {
		args := make([]note.Arg, len(n.Args))
		for k, a := range n.Args {
			args[k] = note.Arg{Name: a.Name, Value: rounded(a.Value)}
		}
		placed[i] = model.Warning{Note: note.Note{Code: n.Code, Args: args}, File: place.File, Channel: place.Channel}
	}
	return placed
}

func rounded(value any) any {
	switch x := value.(type) {
	case float64:
		if x != math.Trunc(x) {
			return model.Digits(x, 7)
		}
	case []float64:
		all := make([]float64, len(x))
		for i, one := range x {
			all[i] = rounded(one).(float64)
		}
		return all
	}
	return value
}
