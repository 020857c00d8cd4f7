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
			if x, ok := a.Value.(float64); ok && x != math.Trunc(x) {
				a.Value = model.Digits(x, 7)
			}
			out[i].Args[k] = a
		}
	}
	return out
}
