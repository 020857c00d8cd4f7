package words

import (
	"fmt"
	"math"
	"strings"

	"humdiff/report/result"
)

// What makes a tone look like hum of another mains.
const (
	offNominal  = 0.02 // share by which a mains may be off its nominal frequency
	lowMultiple = 10   // beyond, too many frequencies lie near some multiple
)

// OfOtherMains are the tones that may be hum of a mains that was not sought:
// within 2 % of one of the first ten multiples of the other nominal frequency.
// Zero and nothing where the mains was not given, as then both were sought.
func OfOtherMains(asked string, tones []result.Tone) (otherHz float64, like []result.Tone) {
	otherHz = map[string]float64{"50": 60, "60": 50}[asked]
	if otherHz == 0 {
		return 0, nil
	}
	for _, t := range tones {
		h := math.Round(t.Hz / otherHz)
		if h >= 1 && h <= lowMultiple && math.Abs(t.Hz/(h*otherHz)-1) <= offNominal {
			like = append(like, t)
		}
	}
	return otherHz, like
}

// otherMains says that hum of another mains may be there.
func otherMains(asked string, tones []result.Tone) (notShown, would []string) {
	hz, like := OfOtherMains(asked, tones)
	if len(like) == 0 {
		return nil, nil
	}
	var at []string
	seen := map[float64]bool{} // multiples: the two captures differ by the mains' wander
	for _, t := range like {
		if h := math.Round(t.Hz / hz); !seen[h] {
			seen[h] = true
			at = append(at, ToneHz(t.Hz))
		}
	}
	which, lie := "The tone at "+at[0], "lies near a multiple"
	if len(at) > 1 {
		which, lie = "The tones at "+strings.Join(at[:len(at)-1], ", ")+" and "+at[len(at)-1], "lie near multiples"
	}
	return []string{fmt.Sprintf("%s %s of %g Hz and may be hum of another mains, which was not sought.", which, lie, hz)},
		[]string{fmt.Sprintf("Measure again with --mains auto or --mains %g.", hz)}
}

// noHumOf begins what is said where nothing was found.
func noHumOf(asked string) string {
	if asked == "50" || asked == "60" {
		return "No hum of a " + asked + " Hz mains was found"
	}
	return "No hum was found"
}

// forLimits says how to get detection limits where none are given.
func forLimits(set result.Settings, limits ...result.Num) []string {
	for _, l := range limits {
		if l.Ok() {
			return nil
		}
	}
	if set.Mains == "50" || set.Mains == "60" {
		return nil
	}
	return []string{"For detection limits say which mains you have: --mains 50 or --mains 60."}
}
