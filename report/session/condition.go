package session

import (
	"path/filepath"
	"strings"
	"unicode"
)

// conditionWords are words in file names that tell a run's condition.
var conditionWords = map[string]Condition{
	"quiet": Quiet, "reference": Quiet, "ref": Quiet, "baseline": Quiet,
	"near": Near, "live": Near,
	"dead": Dead, "unplugged": Dead,
	"residual": Residual, "shorted": Residual,
}

// ConditionOf is the condition that a file's name tells, or none where it names
// none or several. Levels play no part: what a capture shows must not decide
// what it counts as.
func ConditionOf(name string) Condition {
	base := filepath.Base(strings.ReplaceAll(name, `\`, "/"))
	words := strings.FieldsFunc(strings.ToLower(strings.TrimSuffix(base, filepath.Ext(base))), func(r rune) bool { return !unicode.IsLetter(r) })
	var told Condition
	for _, w := range words {
		switch c := conditionWords[w]; {
		case c == "" || c == told:
		case told == "":
			told = c
		default:
			return ""
		}
	}
	return told
}
