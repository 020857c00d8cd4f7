package doc

import (
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"math"
	"strconv"
	"strings"
	"sync"
	"text/template"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/note"
	"humdiff/report/model"
)

//go:embed sentences.toml
var sentencesText []byte

//go:embed told.toml
var toldText []byte

// sentences are what notes say, by code; tellings what documents say of a model
// value, by place. Both are read when the first is asked for.
var (
	sentences = sync.OnceValues(func() (map[string]string, error) { return texted(sentencesText) })
	tellings  = sync.OnceValues(func() (map[string]string, error) { return texted(toldText) })
)

func texted(file []byte) (all map[string]string, err error) {
	err = toml.Unmarshal(file, &all)
	return all, err
}

// parsed are the templates asked for so far: code to *template.Template.
var parsed sync.Map

// tell is what told.toml says of a value at a place: a sentence for each line that
// isn't empty.
func tell(place string, v any) []string {
	all, err := tellings()
	var b strings.Builder
	if err == nil {
		var t *template.Template
		if t, err = templateOf(place, all); err == nil {
			err = t.Execute(&b, v)
		}
	}
	if err != nil {
		return []string{place + ": " + err.Error()} // tests try every place
	}
	var said []string
	for _, line := range strings.Split(b.String(), "\n") {
		said = add(said, strings.TrimSpace(line))
	}
	return said
}

// tellOne is a place's sentences in one text.
func tellOne(place string, v any) string { return strings.Join(tell(place, v), " ") }

// Says is the sentence of a note. One without a sentence, or that lacks what its
// sentence needs, reads as its code and arguments: nothing noticed is lost.
func Says(n note.Note) string {
	s, err := say(n)
	if err != nil {
		return n.String()
	}
	return s
}

func say(n note.Note) (string, error) {
	t, err := sentenceOf(n.Code)
	if err != nil {
		return "", err
	}
	args := make(arguments, len(n.Args))
	for _, a := range n.Args {
		args[a.Name] = a.Value
	}
	var b strings.Builder
	err = t.Execute(&b, args)
	return b.String(), err
}

func sentenceOf(code string) (*template.Template, error) {
	all, err := sentences()
	if err != nil {
		return nil, err
	}
	return templateOf(code, all)
}

func templateOf(code string, all map[string]string) (*template.Template, error) {
	if t, ok := parsed.Load(code); ok {
		return t.(*template.Template), nil
	}
	text, ok := all[code]
	if !ok {
		return nil, fmt.Errorf("no sentence for %q", code)
	}
	t, err := template.New(code).Option("missingkey=error").Funcs(functions()).Parse(text)
	if err != nil {
		return nil, err
	}
	parsed.Store(code, t)
	return t, nil
}

// arguments are a note's, by name. One that the note lacks is an error, unless its
// sentence asks first, as {{if .Has "second_hz"}}.
type arguments map[string]any

// Has says whether the note has an argument.
func (a arguments) Has(name string) bool {
	_, ok := a[name]
	return ok
}

// functions are what a sentence may call.
func functions() template.FuncMap {
	all := ofNumbers()
	maps.Copy(all, ofValues())
	maps.Copy(all, ofPhrases())
	return all
}

// ofNumbers are those of a number, which is a note's float64, for which true is 1, or a
// model value's.
func ofNumbers() template.FuncMap {
	return template.FuncMap{
		// As in Go, and unlike the template's own, a number that isn't there is neither
		// above nor below another.
		"lt": func(a, b any) bool { return num(a) < num(b) },
		"gt": func(a, b any) bool { return num(a) > num(b) },
		"ge": func(a, b any) bool { return num(a) >= num(b) },

		"whole":     func(x any) string { return fixed(0, x) },
		"fixed":     fixed,                                                          // fixed 2 .x: two decimals
		"signed":    signed,                                                         // signed 1 .x: as fixed, with a plus sign above zero
		"digits":    digits,                                                         // digits 3 .x: three significant ones
		"hz":        func(x any) string { return Hz(num(x)) },                       // with its unit: 55 Hz, 1 kHz
		"count":     countOf,                                                        // count .n "run" "runs": 1 run, 2 runs
		"join":      join,                                                           // join ", " .list
		"lines":     func(list []float64) string { return harmonics(wholes(list)) }, // lines .harmonics: harmonics 1, 2 and 5
		"format":    func(bits, float float64) string { return bitsOf(int(bits), float != 0) },
		"of":        of,                                                   // of .for: " of quiet"; nothing for all
		"printable": Printable,                                            // a text from outside
		"up":        func(x any) string { return Fixed(up(num(x)), 1) },   // what is "at most": to a tenth
		"down":      func(x any) string { return Fixed(down(num(x)), 1) }, // what is "at least"
		"neg":       func(x any) model.Num { return -num(x) },
		"cite":      cite,   // cite .: " (runs 3, 5 to 9)"; nothing where a note has none
		"cited":     cited,  // cited .: the same without brackets
		"listed":    listed, // listed .: ", as listed", where a list's order was taken for the runs'
		"number":    func(list []string) float64 { return float64(len(list)) },
		"abs":       func(x any) model.Num { return model.Num(math.Abs(num(x).Float())) },
		"ms":        func(seconds any) model.Num { return 1000 * num(seconds) }, // the number alone
		"percent":   func(share any) model.Num { return 100 * num(share) },      // the number alone
		"khz":       khz,                                                        // the number alone, or a list of them
	}
}

// ofValues are those that write a model value with its unit.
func ofValues() template.FuncMap {
	return template.FuncMap{
		"share":       func(x any) string { return Percent(num(x).Float()) },
		"seconds":     func(x any) string { return Seconds(num(x).Float()) },
		"tenths":      func(x any) string { return tenths(num(x).Float()) },
		"duration":    func(x any) string { return Duration(num(x)) },
		"db":          func(x any) string { return DB(num(x)) },
		"dbfs":        func(x any) string { return DBFS(num(x)) },
		"metres":      func(x any) string { return Metres(num(x)) },
		"si":          func(unit string, x any) string { return SI(num(x), unit) },
		"level":       Level,
		"delta":       Delta,
		"volts":       Volts,
		"interval":    Interval,
		"ends":        fromTo, // ends .pickup "V": 0.95 to 1.05 V
		"inc":         func(n int) int { return n + 1 },
		"withEnds":    withEnds, // withEnds .value "F": 0.31 pF (0.28 to 0.34 pF)
		"ohmsOf":      func(x any) string { return Ohms(num(x)) },
		"ohms":        func(e model.Estimate) string { return stated(e, Ohms) },
		"deltaLong":   deltaLong,
		"value":       value,
		"lo":          func(e model.Estimate) model.Num { lo, _ := ends(e); return lo },
		"hi":          func(e model.Estimate) model.Num { _, hi := ends(e); return hi },
		"length":      length,
		"whereOf":     whereOf,
		"quoted":      quoted,
		"bonded":      func(state string) string { return farDevice[state] },
		"about":       func(hz float64) string { return Hz(model.Num(10 * math.Round(hz/10))) }, // the end of a band
		"sideText":    sideText,
		"toneHz":      ToneHz,
		"farEnd":      farEnd,
		"amps":        func(e model.Estimate) string { return stated(e, inUnit("A", unknown)) },
		"present":     present,
		"averaged":    averaged,
		"samples":     Samples,
		"condition":   condition,
		"fingerprint": FingerprintSaid,
		"scales":      Scales,
		"dbRange":     func(lo, hi any) string { return dbRange(num(lo), num(hi)) },
		"harmonics":   harmonics,
		"atLeast1":    func(n int) int { return max(1, n) },
		"oneSided":    func(conf float64) float64 { return 1 - (1-conf)/2 },
	}
}

// ofPhrases are those that put what a document tells in words, and other places' lines.
func ofPhrases() template.FuncMap {
	return template.FuncMap{
		"humOver":     humOver,
		"termination": Termination,
		"where":       Where,
		"dated":       dated,
		"claimName":   claimName,
		"claimSays":   claimSays,
		"partSaid":    partSaid,
		"reason":      reason,
		"allRuns":     Runs,
		"upperFirst":  upperFirst,
		"cut":         cut,
		"recorded":    func(s string) string { return strings.Replace(s, "T", " ", 1) },
		"crest":       crest,
		"tell":        func(place string, v any) string { return strings.Join(tell(place, v), "\n") }, // another place's lines
		"tellOne":     tellOne,
		"mainsHz":     func(m model.Mains) string { return mainsHz(m.Hz, m.U95Hz) },
		"lead":        lead,
		"file":        File,
		"line":        func(l model.PlanLevel) string { return planLevel(l, false) },
		"density":     func(l model.PlanLevel) string { return planLevel(l, true) },
		"names":       and,
		"runs":        func(list []int) string { return runs(list, mostCited) },
	}
}

// num is a number as a template has it.
func num(x any) model.Num {
	switch x := x.(type) {
	case model.Num:
		return x
	case float64:
		return model.Num(x)
	case int:
		return model.Num(x)
	}
	return model.None
}

func fixed(decimals int, x any) string { return Fixed(num(x), decimals) }

func signed(decimals int, x any) string {
	if num(x) > 0 {
		return "+" + fixed(decimals, x)
	}
	return fixed(decimals, x)
}

func digits(n int, x any) string {
	if !num(x).Ok() {
		return unknown
	}
	return strconv.FormatFloat(num(x).Float(), 'g', n, 64)
}

func of(side string) string {
	if side == model.ForAll {
		return ""
	}
	return " of " + side
}

func countOf(n any, one, many string) string {
	if num(n) == 1 {
		return "1 " + one
	}
	return fixed(0, n) + " " + many
}

// present are those of some numbers, each with what it counts, that aren't 0.
func present(numbersAndNames ...any) (said []string) {
	for i := 0; i+1 < len(numbersAndNames); i += 2 {
		if n := numbersAndNames[i].(int); n > 0 {
			said = append(said, fmt.Sprint(n, " ", numbersAndNames[i+1]))
		}
	}
	return said
}

func join(between string, list any) (string, error) {
	all, err := texts(list)
	return strings.Join(all, between), err
}

// texts are a list's items as written; numbers have all the digits they need.
func texts(list any) ([]string, error) {
	switch list := list.(type) {
	case []string:
		return list, nil
	case []float64:
		return each(list, func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }), nil
	}
	return nil, errors.New("no list")
}

func khz(hz any) (any, error) {
	switch hz := hz.(type) {
	case float64:
		return hz / 1000, nil
	case []float64:
		return each(hz, func(x float64) float64 { return x / 1000 }), nil
	}
	return nil, errors.New("no frequency")
}
