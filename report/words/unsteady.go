package words

import (
	"fmt"
	"strings"

	"humdiff/report/result"
)

// UnsteadyMark stands behind the level of a line that is Unsteady.
const UnsteadyMark = "~"

// Unsteady reports whether a line was found and changed its level during the
// capture by more than noise explains.
func Unsteady(l result.Line) bool { return l.State == result.Detected && l.Unsteady }

// UnsteadyLines names the unsteady lines of a pair, e.g. "harmonics 1, 3 in
// near"; empty where there are none.
func UnsteadyLines(p result.Pair) string {
	var parts []string
	for _, side := range []struct {
		name string
		of   func(result.PairLine) result.Line
	}{
		{"near", func(l result.PairLine) result.Line { return l.Near }},
		{"quiet", func(l result.PairLine) result.Line { return l.Quiet }},
	} {
		var list []string
		for _, l := range p.Lines {
			if Unsteady(side.of(l)) {
				list = append(list, fmt.Sprint(l.Harmonic))
			}
		}
		if len(list) > 0 {
			parts = append(parts, harmonicList(list)+" in "+side.name)
		}
	}
	return strings.Join(parts, ", ")
}

// UnsteadyAlone names the unsteady lines of a capture held against no other, e.g.
// "harmonics 1, 3"; empty where there are none.
func UnsteadyAlone(c result.Capture) string {
	var list []string
	for _, l := range c.Lines {
		if Unsteady(l.Line) {
			list = append(list, fmt.Sprint(l.Harmonic))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return harmonicList(list)
}

// mostListed is how many harmonics are named in one place.
const mostListed = 6

func harmonicList(list []string) string {
	noun := "harmonics "
	if len(list) == 1 {
		noun = "harmonic "
	}
	if more := len(list) - mostListed; more > 0 {
		return noun + strings.Join(list[:mostListed], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return noun + strings.Join(list, ", ")
}
