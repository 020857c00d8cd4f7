package judge

import (
	"math"
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// say is a note; arguments as of note.New. A number that isn't there is left out.
func say(code string, args ...any) note.Note {
	var there []any
	for i := 0; i+1 < len(args); i += 2 {
		if x, ok := args[i+1].(float64); ok {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				continue
			}
			args[i+1] = model.Digits(model.Places(x, 4), 7)
		}
		there = append(there, args[i], args[i+1])
	}
	return note.New(code, there...)
}

// ofOrder are codes that speak of the order in which runs were made.
var ofOrder = []string{model.InBlocks, model.QuietMoved, model.DriftUnknown, model.PickupMoves,
	model.QuietSteps, model.OrderMixed, model.OrderInBlocks, model.OrderInParts, model.PickupsMoved}

// inOrder adds to what speaks of an order whether the list's is taken for it.
func (b *bench) inOrder(n note.Note) note.Note {
	if slices.Contains(ofOrder, n.Code) {
		n.Args = append(slices.Clone(n.Args), note.Arg{Name: "as_listed", Value: asNumber(!b.ByTime)})
	}
	return n
}

func asNumber(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
