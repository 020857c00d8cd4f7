package judge

import (
	"math"
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// say is a note; arguments as of note.New. A number that isn't there is left out.
func say(code string, args ...any) note.Note { return note.New(code, there(args)...) }

// there are those of some arguments that are there, numbers to a ten-thousandth.
func there(args []any) (out []any) {
	for i := 0; i+1 < len(args); i += 2 {
		v := args[i+1]
		if x, ok := v.(float64); ok {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				continue
			}
			v = model.Digits(model.Places(x, 4), 7)
		}
		out = append(out, args[i], v)
	}
	return out
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
