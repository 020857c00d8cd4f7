package words

import (
	"fmt"
	"slices"

	"humdiff/report/result"
)

// doubts are the warnings that can move a level by more than its interval says,
// each in the words in which a sentence has it.
var doubts = []struct{ code, says string }{
	{"digital_zero", "gaps of digital silence"},
	{"stuck", "stretches that stand still"},
	{"repeated_block", "blocks of samples that come twice"},
	{"phase_jumps", "samples lost or doubled"},
	{"flat_tops", "tops cut off below full scale"},
	{"gated", "a gate that closes"},
	{"gain_moves", "a gain that moves"},
	{"ends_unlike", "first or last seconds unlike the rest"},
	{"hum_fades", "hum that fades"},
}

// doubtful says which captures of a result carry such warnings: it stands right
// behind the headline, since what follows rests on them.
func doubtful(all []result.Warning, sides ...result.Side) []string {
	var out []string
	for _, s := range sides {
		var has []string
		for _, d := range doubts {
			if slices.ContainsFunc(all, func(w result.Warning) bool { return w.Code == d.code && w.File == s.File && w.Channel == s.Channel }) {
				has = append(has, d.says)
			}
		}
		if len(has) > 0 {
			out = append(out, fmt.Sprintf("Look at the warnings first: %s has %s.", File(s.File), And(has)))
		}
	}
	return slices.Compact(out)
}
