// Package wire writes model values as JSON and reads them back. What it writes is
// canonical: one value gives one sequence of bytes, so a file is as humdiff wrote
// it when reading and writing it again gives the file. It takes the sentences of
// warnings from package doc and restates levels in volts where the contract with
// readers asks for it; it judges nothing.
//
// Numbers are finite or null, and keys never vanish. An Estimate becomes several
// keys, by the form that its field's tag names: see forms.go.
package wire

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/model"
)

// Result is a pointer to a model value that stands by itself: *model.Compare,
// *model.Session …
type Result interface{ Top() *model.Head }

// kinds are the results by their schemas.
var kinds = map[string]func() Result{
	model.CompareSchema:   func() Result { return &model.Compare{} },
	model.MeasureSchema:   func() Result { return &model.Measure{} },
	model.CheckSchema:     func() Result { return &model.Check{} },
	model.TrendSchema:     func() Result { return &model.Trend{} },
	model.SessionSchema:   func() Result { return &model.Session{} },
	model.CouplingSchema:  func() Result { return &model.Coupling{} },
	model.AgreementSchema: func() Result { return &model.Agreement{} },
	model.PassportSchema:  func() Result { return &model.Passport{} },
	model.PlanSchema:      func() Result { return &model.Plan{} },
	model.VerifySchema:    func() Result { return &model.Verification{} },
}

// Write is a result as one line of JSON.
func Write(r Result) ([]byte, error) {
	e, err := encoded(r)
	return e.Bytes(), err
}

func encoded(r Result) (e encoder, err error) {
	_, tabled := r.(*model.Session)
	m := maker{context: &context{settings: SettingsOf(r), caption: captionOf(r), tabled: tabled}}
	n := m.node(reflect.ValueOf(r).Elem(), "")
	e.node(&n)
	e.WriteByte('\n')
	if m.err != nil {
		err = fmt.Errorf("wire: %w", m.err)
	}
	return e, err
}

// captionOf is what to print below a result.
func captionOf(r Result) string {
	switch r := r.(type) {
	case *model.Compare:
		return doc.CompareCaption(*r)
	case *model.Measure:
		return doc.MeasureCaption(*r)
	case *model.Session:
		return doc.SessionCaption(*r)
	}
	return ""
}

// SettingsOf are a result's settings; of one without, none.
func SettingsOf(r Result) model.Settings {
	if f := reflect.ValueOf(r).Elem().FieldByName("Settings"); f.IsValid() {
		return f.Interface().(model.Settings)
	}
	return model.Settings{}
}

// WarningsOf are a result's warnings; of one without, none.
func WarningsOf(r Result) []model.Warning {
	if f := reflect.ValueOf(r).Elem().FieldByName("Warnings"); f.IsValid() {
		return f.Interface().([]model.Warning)
	}
	return nil
}

// ErrNoResult is why text can't be read: it is JSON of no result that this
// version knows.
type ErrNoResult struct{ Schema string }

func (e ErrNoResult) Error() string {
	if e.Schema == "" {
		return "is no result of humdiff"
	}
	return fmt.Sprintf("is a %q, which this humdiff doesn't read", e.Schema)
}

// Read takes a result out of JSON. It is lenient: unknown keys are passed over,
// missing ones leave zeros, and restated numbers aren't looked at. The text is as
// humdiff wrote it if Write makes the same of what was read.
func Read(text []byte) (Result, error) {
	var head struct{ Schema string }
	if err := json.Unmarshal(text, &head); err != nil {
		return nil, fmt.Errorf("is no result of humdiff: it is no JSON: %w", err)
	}
	kind, ok := kinds[head.Schema]
	if !ok {
		return nil, ErrNoResult{head.Schema}
	}
	r := kind()
	if err := decode(bytes.TrimSpace(text), reflect.ValueOf(r).Elem(), ""); err != nil {
		return nil, err
	}
	return r, nil
}

// Fingerprint is twelve letters and digits, in groups, that stand for a result: for what
// Write makes of it, with its captures by their hashes and names, its settings and all
// numbers. The result's own fingerprint and version don't count, nor do sentences, which a
// later version may word otherwise, nor the folders that captures lay in.
func Fingerprint(r Result) (string, error) {
	e, err := encoded(r)
	if err != nil {
		return "", err
	}
	var counts []byte
	from := 0
	for _, w := range e.words {
		counts = append(append(counts, e.Bytes()[from:w[0]]...), `""`...)
		from = w[1]
	}
	sum := sha256.Sum256(Renamed(append(counts, e.Bytes()[from:]...), doc.Base))
	letters := base32.StdEncoding.EncodeToString(sum[:])[:12]
	return strings.Join([]string{letters[:4], letters[4:8], letters[8:]}, "-"), nil
}

// files are the names of files in JSON.
var files = regexp.MustCompile(`"file":("(?:[^"\\]|\\.)+")`)

// Renamed is a result's JSON with other names for its files, wherever they stand: by
// themselves, before a span or a voltage, or in a sentence.
func Renamed(text []byte, name func(path string) string) []byte {
	quoted := map[string]bool{}
	for _, found := range files.FindAllSubmatch(text, -1) {
		quoted[string(found[1])] = true
	}
	// Of names that begin alike the longer goes first.
	var turns []string
	for _, from := range slices.Backward(slices.Sorted(maps.Keys(quoted))) {
		var path string
		if json.Unmarshal([]byte(from), &path) != nil || name(path) == path {
			continue
		}
		var to encoder
		to.text(name(path))
		for _, before := range []string{`"`, " "} {
			for _, after := range []string{`"`, "#", "=", " "} {
				turns = append(turns, before+from[1:len(from)-1]+after, before+to.String()[1:to.Len()-1]+after)
			}
		}
	}
	return []byte(strings.NewReplacer(turns...).Replace(string(text)))
}

// Seal puts a result's fingerprint on it.
func Seal(r Result) error {
	mark, err := Fingerprint(r)
	if err != nil {
		return err
	}
	r.Top().Fingerprint = mark
	return nil
}
