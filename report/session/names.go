package session

import (
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"

	"humdiff/report/model"
)

// Words that people name captures by, in lower case and without accents: English,
// German, French, Spanish and Italian ones. Common practice, no source.

// conditionWords tell a run's condition.
var conditionWords = wordsFor(map[string]string{
	model.Quiet: "quiet reference ref baseline " + "ruhig leise ruhe referenz " + "calme silencieux silence " +
		"silencioso silencio tranquilo referencia " + "silenzioso silenzio calmo riferimento",
	model.Near:      "near live " + "nah nahe " + "pres proche " + "cerca cercano " + "vicino",
	model.Unplugged: "dead unplugged " + "tot ausgesteckt abgesteckt " + "debranche mort " + "desenchufado muerto " + "scollegato staccato",
	model.Residual:  "residual shorted " + "kurzgeschlossen kurzschluss residuum " + "residu " + "residuo cortocircuito",
})

// openWords tell that a cable's far end is open.
var openWords = map[string]bool{"open": true, "offen": true, "ouvert": true, "abierto": true, "aperto": true}

// leadWords and bondWords tell whether the lead feeds a load, and how the far device
// is tied to the mains' earth.
var (
	leadWords = wordsFor(map[string]string{model.Yes: "loaded belastet charge cargado caricato", model.No: "unloaded unbelastet"})
	bondWords = wordsFor(map[string]string{model.Yes: "bonded geerdet", model.ClassTwo: "class2 classii klasse2 classe2 clase2",
		model.No: "isolated isoliert isole aislado isolato"})
)

// ways are words for how a lead is brought to bear.
var ways = wordsFor(map[string]string{"way": "beside laid along parallel wrapped around round across crossed crossing over under coiled transformer " +
	"neben daneben entlang gewickelt umwickelt quer gekreuzt uber unter aufgewickelt trafo " + "enroule croise transformateur " +
	"junto enrollado cruzado transformador " + "accanto avvolto incrociato trasformatore"})

// wordsFor turns lists of words about: what each of them stands for.
func wordsFor(lists map[string]string) map[string]string {
	all := map[string]string{}
	for what, list := range lists {
		for _, w := range strings.Fields(list) {
			all[w] = what
		}
	}
	return all
}

// folded is a word in lower case, without accents and blanks around it.
func folded(s string) string {
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), s)
	if err != nil {
		plain = s
	}
	return strings.ToLower(strings.TrimSpace(plain))
}

// ConditionOf is the condition that a file's name tells, or none where it names
// none or several. Levels play no part: what a capture shows must not decide
// what it counts as.
func ConditionOf(name string) string {
	base := filepath.Base(strings.ReplaceAll(name, `\`, "/"))
	told := ""
	for _, w := range strings.FieldsFunc(folded(strings.TrimSuffix(base, filepath.Ext(base))), func(r rune) bool { return !unicode.IsLetter(r) }) {
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

// wordsOf parts a file's name; a point or comma between digits parts nothing, nor
// does what stands between a number and its ohms.
func wordsOf(name string) []string {
	name = strings.TrimSuffix(norm.NFC.String(name), filepath.Ext(name))
	name = decimalForm.ReplaceAllString(name, "$1\x00$2")
	name = apartForm.ReplaceAllString(name, "$1$2")
	words := strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" _-.,+()=@", r) })
	for i := range words {
		words[i] = strings.ReplaceAll(words[i], "\x00", ".")
	}
	return words
}

var (
	decimalForm = regexp.MustCompile(`([0-9])[.,]([0-9])`)
	apartForm   = regexp.MustCompile(`(?i)([0-9])[ _-]+((?:k|kilo|(?-i:M)|mega)?(?:ohms?|Ω|Ω))`)
	ohmsForm    = regexp.MustCompile(`(?i)^([0-9]+(?:[.,][0-9]+)?) ?(?:(k|kilo|(?-i:M)|mega)([0-9]*))? ?(?:ohms?|r|Ω|Ω)$`) // 20ohm, 20R, 10kohm, 4k7ohm, 4.7kohm
	insideForm  = regexp.MustCompile(`(?i)^([0-9]+)r([0-9]+)$`)                                                            // 4R7
	repeatForm  = regexp.MustCompile(`(?i)^(?:take|rep|repeat|r|n)?([0-9]{1,3})$`)
	plugForm    = regexp.MustCompile(`(?i)^(?:plug|p|stecker)([12])$`)
	serial      = regexp.MustCompile(`(?i)^[0-9.]+$|^\p{L}*[0-9]{3,}$|^(?:run|rec|recording|file|track|audio|capture)[0-9]*$`) // a date, a time, a number that recorders count by
)

// ohmsOf is a resistance with its unit, as people write it.
func ohmsOf(word string) (float64, bool) {
	word = strings.TrimSpace(word)
	if m := insideForm.FindStringSubmatch(word); m != nil {
		word = m[1] + "." + m[2] + "r"
	}
	m := ohmsForm.FindStringSubmatch(word)
	if m == nil {
		return 0, false
	}
	whole := strings.Replace(m[1], ",", ".", 1)
	if m[3] != "" {
		whole += "." + m[3]
	}
	ohms, err := strconv.ParseFloat(whole, 64) // 4.7k7 is none
	switch strings.ToLower(m[2]) {
	case "k", "kilo":
		ohms *= 1000
	case "m", "mega":
		ohms *= 1e6
	}
	return ohms, err == nil
}

// tell takes in a word of a file's name that tells something by itself, and says
// which key.
func tell(r *model.Run, word string) string {
	plain := folded(word)
	if conditionWords[plain] != "" {
		return "condition"
	}
	if ohms, ok := ohmsOf(word); ok {
		r.Termination = model.Termination{Ohms: model.Num(ohms)}
		return "termination_ohms"
	}
	if openWords[plain] {
		r.Termination = model.Termination{Ohms: model.None, Open: true}
		return "termination_ohms"
	}
	if is := leadWords[plain]; is != "" {
		r.Loaded = is
		return "loaded"
	}
	if is := bondWords[plain]; is != "" {
		r.Bonded = is
		return "bonded"
	}
	if m := plugForm.FindStringSubmatch(word); m != nil {
		r.Plug, _ = strconv.Atoi(m[1])
		return "plug"
	}
	if m := repeatForm.FindStringSubmatch(word); m != nil {
		if r.Repeat, _ = strconv.Atoi(m[1]); r.Repeat > 0 {
			return "repeat"
		}
	}
	return ""
}
