package measure

import (
	"math"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// noted is what the samples and the file say, in as many digits as measuring gives
// on every machine: counts as they are, other numbers in seven.
func noted(list []note.Note) []note.Note {
	out := make([]note.Note, len(list))
	for i, n := range list {
		out[i] = note.Note{Code: n.Code, Args: make([]note.Arg, len(n.Args))}
		for k, a := range n.Args {
			out[i].Args[k] = note.Arg{Name: a.Name, Value: rounded(a.Value)}
		}
	}
	return out
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
