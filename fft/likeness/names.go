package likeness

import (
	"path"
	"slices"
	"strings"
	"unicode"

	"humdiff/fft/note"
)

// otherCable is the code where two files' names share no cable's name.
const otherCable = "other_cable" // quiet, near: the words of each that may name a cable

// conditions are words in files' names that name no cable.
var conditions = strings.Fields(`
	quiet near dead unplugged plugged residual witness control positive baseline background reference ref
	live lead mains hum noise on off with without before after beside far away wrapped loaded unloaded shorted short
	open terminated termination ohm ohms kohm kohms db dbu dbv bit bits hz khz volt volts left right ch channel mono stereo
	run rep repeat take test trial try rec record recording capture measurement cable wire the and of new old copy final
	wav wave flac raw tmp jan feb mar apr may jun jul aug sep oct nov dec am pm`)

// NamesDiffer says whether to ask if a pair is of one cable: both names hold words that
// may name one, and share none. Words of conditions, numbers and numbers with units
// name none; "heron2" is "heron".
func NamesDiffer(quiet, near string) (n note.Note, ask bool) {
	a, b := cableWords(quiet), cableWords(near)
	if len(a) == 0 || len(b) == 0 || slices.ContainsFunc(a, func(w string) bool { return slices.Contains(b, w) }) {
		return n, false
	}
	return note.New(otherCable, "quiet", a, "near", b), true
}

// cableWords are a file name's words that may name a cable, in lower case.
func cableWords(name string) []string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.TrimSuffix(name, path.Ext(name))
	var words []string
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if unicode.IsDigit([]rune(w)[0]) {
			continue // a number, and what unit may follow it
		}
		w = strings.TrimRightFunc(w, unicode.IsDigit)
		if len([]rune(w)) > 1 && !slices.Contains(conditions, w) && !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return words
}
