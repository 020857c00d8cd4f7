package doc

import (
	_ "embed"
	"errors"
	"fmt"
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

// sentences are sentencesText by code, read when the first is asked for.
var sentences = sync.OnceValues(func() (map[string]string, error) {
	var all map[string]string
	err := toml.Unmarshal(sentencesText, &all)
	return all, err
})

// parsed are the sentences asked for so far: code to *template.Template.
var parsed sync.Map

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
	if t, ok := parsed.Load(code); ok {
		return t.(*template.Template), nil
	}
	all, err := sentences()
	if err != nil {
		return nil, err
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

// functions are what a sentence may call. Numbers are float64; true is 1, false 0.
func functions() template.FuncMap {
	return template.FuncMap{
		"whole":     func(x float64) string { return fixed(0, x) },
		"fixed":     fixed,                                                          // fixed 2 .x: two decimals
		"signed":    signed,                                                         // signed 1 .x: as fixed, with a plus sign above zero
		"digits":    digits,                                                         // digits 3 .x: three significant ones
		"hz":        func(x float64) string { return Hz(model.Num(x)) },             // with its unit: 55 Hz, 1 kHz
		"count":     countOf,                                                        // count .n "run" "runs": 1 run, 2 runs
		"join":      join,                                                           // join ", " .list
		"lines":     func(list []float64) string { return harmonics(wholes(list)) }, // lines .harmonics: harmonics 1, 2 and 5
		"format":    func(bits, float float64) string { return bitsOf(int(bits), float != 0) },
		"of":        of,                                                             // of .for: " of quiet"; nothing for all
		"printable": Printable,                                                      // a text from outside
		"up":        func(x float64) string { return Fixed(up(model.Num(x)), 1) },   // what is "at most": to a tenth
		"down":      func(x float64) string { return Fixed(down(model.Num(x)), 1) }, // what is "at least"
		"neg":       func(x float64) float64 { return -x },
		"cite":      cite,   // cite .: " (runs 3, 5 to 9)"; nothing where a note has none
		"cited":     cited,  // cited .: the same without brackets
		"listed":    listed, // listed .: ", as listed", where a list's order was taken for the runs'
		"number":    func(list []string) float64 { return float64(len(list)) },
		"abs":       math.Abs,
		"ms":        func(seconds float64) float64 { return 1000 * seconds }, // the number alone
		"percent":   func(share float64) float64 { return 100 * share },      // the number alone
		"khz":       khz,                                                     // the number alone, or a list of them
	}
}

func fixed(decimals int, x float64) string { return Fixed(model.Num(x), decimals) }

func signed(decimals int, x float64) string {
	if x > 0 {
		return "+" + fixed(decimals, x)
	}
	return fixed(decimals, x)
}

func digits(n int, x float64) string {
	if !model.Num(x).Ok() {
		return unknown
	}
	return strconv.FormatFloat(x, 'g', n, 64)
}

func of(side string) string {
	if side == model.ForAll {
		return ""
	}
	return " of " + side
}

func countOf(n float64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fixed(0, n) + " " + many
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
