package wire

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"humdiff/fft/estimate"
	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// filler puts random things into every field that is written.
type filler struct{ *rand.Rand }

func (f filler) fill(v reflect.Value, form string) {
	switch v.Interface().(type) {
	case model.Estimate:
		v.Set(reflect.ValueOf(f.estimate(form)))
		return
	case model.Num:
		v.Set(reflect.ValueOf(f.num()))
		return
	case time.Time:
		v.Set(reflect.ValueOf(time.Date(2031, 2, 28, f.IntN(24), f.IntN(60), 7, 0, time.UTC)))
		return
	case model.Note:
		v.Set(reflect.ValueOf(note.New("some_code", "level_db", f.Float64(), "cable", "Heron", "runs", []int{1, 2})))
		return
	case model.Pair:
		v.Set(reflect.ValueOf(f.pair()))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for _, x := range fieldsOf(v.Type()) {
			f.fill(x.in(v), x.form)
		}
	case reflect.Slice:
		n := f.IntN(3)
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			f.fill(v.Index(i), form)
		}
	case reflect.Array:
		for i := range v.Len() {
			f.fill(v.Index(i), form)
		}
	case reflect.Pointer:
		if f.IntN(2) == 0 {
			v.Set(reflect.New(v.Type().Elem()))
			f.fill(v.Elem(), form)
		}
	case reflect.Float64:
		v.SetFloat(model.Digits(f.NormFloat64(), 7))
	case reflect.Int, reflect.Int64:
		v.SetInt(int64(f.IntN(1000)))
	case reflect.Uint64:
		v.SetUint(f.Uint64() >> 12)
	case reflect.Bool:
		v.SetBool(f.IntN(2) == 0)
	case reflect.String:
		v.SetString([]string{"", "Kabel nah ü.wav", "<b>\x1b[31m&", "\u2028"}[f.IntN(4)])
	case reflect.Interface:
		v.Set(reflect.ValueOf(1.5))
	default:
		panic(v.Kind())
	}
}

func (f filler) num() model.Num {
	if f.IntN(4) == 0 {
		return model.None
	}
	return model.Num(model.Digits(f.NormFloat64(), 7))
}

func (f filler) estimate(form string) model.Estimate {
	v, half := model.Places(f.NormFloat64(), 4), 0.5
	all := []model.Estimate{estimate.Of(v, v-half, v+half), estimate.Below(v), estimate.None("")}
	switch form {
	case deltaForm, pickupForm:
		all = append(all, estimate.Above(v), estimate.Between(v, v+half))
	case "":
		all = append(all, estimate.Above(v), estimate.Between(v, v+half), estimate.None("open_end"))
	}
	return all[f.IntN(len(all))]
}

func (f filler) pair() (p model.Pair) {
	v := reflect.ValueOf(&p).Elem()
	for i := range v.NumField() {
		form := ""
		if v.Field(i).Type() == estimateType {
			form = levelForm
		}
		f.fill(v.Field(i), form)
	}
	for i := range p.Lines {
		p.Lines[i].Harmonic = i + 1
	}
	return p
}

// A seed fills a result with anything its types can hold.
func random(kind func() Result, schema string, seed uint64) Result {
	r := kind()
	filler{rand.New(rand.NewPCG(seed, 1))}.fill(reflect.ValueOf(r).Elem(), "")
	r.Top().Schema = schema
	return r
}

// Whatever a result holds, reading what was written gives it back.
func TestRoundTrip(t *testing.T) {
	for schema, kind := range kinds {
		for seed := range uint64(200) {
			r := random(kind, schema, seed)
			text, err := Write(r)
			if err != nil {
				t.Fatalf("%s, seed %d: %v", schema, seed, err)
			}
			if !json.Valid(text) {
				t.Fatalf("%s, seed %d: no JSON: %s", schema, seed, text)
			}
			if !same(text) {
				back, err := Read(text)
				if err != nil {
					t.Fatalf("%s, seed %d: %v", schema, seed, err)
				}
				again, _ := Write(back)
				t.Fatalf("%s, seed %d: %s", schema, seed, firstDifference(text, again))
			}
		}
	}
}

// same says that text is to the byte what Write makes of what Read takes from it.
func same(text []byte) bool {
	r, err := Read(text)
	if err != nil {
		return false
	}
	again, err := Write(r)
	return err == nil && bytes.Equal(again, text)
}

// A list of entries without text is refused before it takes room, however long; one as long
// whose entries are whole is read.
func TestEntriesHaveText(t *testing.T) {
	text := kit.Must(Write(random(kinds[model.PassportSchema], model.PassportSchema, 7)))(t)
	r := rand.New(rand.NewPCG(11, 1))
	for range 3 {
		n := 5000 + r.IntN(15000)
		for _, list := range []string{"warnings", "cables", "runs", "claims"} {
			at := bytes.LastIndex(text, []byte("}")) // of keys that stand twice the last is read
			long := string(text[:at]) + `,"` + list + `":[` + strings.Repeat("{},", n) + "{}]}"
			if _, err := Read([]byte(long)); err == nil {
				t.Errorf("%d empty %s are read", n, list)
			}
		}
		whole := kit.Must(Write(&model.Measure{Head: model.Head{Schema: model.MeasureSchema}, Warnings: make([]model.Warning, n/8)}))(t)
		if !same(whole) {
			t.Errorf("%d warnings aren't read as they were written", n/8)
		}
	}
}

// However JSON is spaced and its texts are spelt, the same is read.
func TestSpacedJSON(t *testing.T) {
	for schema, kind := range kinds {
		for seed := range uint64(5) {
			text := kit.Must(Write(random(kind, schema, seed)))(t)
			var spaced bytes.Buffer
			kit.OK(t, json.Indent(&spaced, text, " \r\n", "\t"))
			back := kit.Must(Read(spaced.Bytes()))(t)
			if again := kit.Must(Write(back))(t); !bytes.Equal(again, text) {
				t.Errorf("%s, seed %d: %s", schema, seed, firstDifference(text, again))
			}
		}
	}
}

func firstDifference(a, b []byte) string {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return "wrote …" + string(a[max(0, i-80):min(len(a), i+40)]) + "\nagain …" + string(b[max(0, i-80):min(len(b), i+40)])
		}
	}
	return "one is the beginning of the other"
}

// What somebody did to a result's JSON by hand is seen, whatever keys it touches.
func TestEditsAreSeen(t *testing.T) {
	r := random(kinds[model.CompareSchema], model.CompareSchema, 7).(*model.Compare)
	r.Pairs = []model.Pair{filler{rand.New(rand.NewPCG(3, 3))}.pair()}
	text := kit.Must(Write(r))(t)
	for name, edit := range map[string]func(string) string{
		"a second key that differs in case": func(s string) string { return strings.Replace(s, `"pairs":`, `"Pairs":[],"pairs":`, 1) },
		"the same key twice":                func(s string) string { return strings.Replace(s, `"pairs":`, `"pairs":[],"pairs":`, 1) },
		"a key added":                       func(s string) string { return strings.Replace(s, `{"schema"`, `{"extra":1,"schema"`, 1) },
		"a key taken out":                   func(s string) string { return strings.Replace(s, `"line_count":`, `"no_count":`, 1) },
		"a number deleted":                  func(s string) string { return strings.Replace(s, `"delta":{"state"`, `"delta":{"was"`, 1) },
		"a restated number":                 func(s string) string { return strings.Replace(s, `"quiet_dbfs":`, `"quiet_dbfs":1`, 1) },
		"white space":                       func(s string) string { return strings.Replace(s, `,"`, `, "`, 1) },
		"order":                             func(s string) string { return strings.Replace(s, `"state":"`, `"why":"","state":"`, 1) },
	} {
		edited := edit(string(text))
		if edited == string(text) {
			t.Fatalf("%s: nothing was edited", name)
		}
		if same([]byte(edited)) {
			t.Errorf("%s: not seen", name)
		}
	}
}

// A fingerprint changes with any number of a result and not with the version, nor with
// where captures lie.
func TestFingerprint(t *testing.T) {
	mark := func(change func(*model.Measure)) string {
		r := random(kinds[model.MeasureSchema], model.MeasureSchema, 5).(*model.Measure)
		r.Captures = []model.Capture{{Side: model.Side{SHA256: "ab"}, Tones: []model.Tone{{Hz: 1000}}}}
		change(r)
		before, _ := Write(r)
		m := kit.Must(Fingerprint(r))(t)
		if after, _ := Write(r); !bytes.Equal(before, after) {
			t.Fatal("the result was changed")
		}
		return m
	}
	plain := mark(func(*model.Measure) {})
	if len(plain) != 14 || strings.Count(plain, "-") != 2 {
		t.Errorf("%q has no three groups of four", plain)
	}
	for name, change := range map[string]func(*model.Measure){
		"its captures": func(r *model.Measure) { r.Captures[0].SHA256 = "ac" },
		"a number":     func(r *model.Measure) { r.Captures[0].Tones[0].Hz = 1000.01 },
		"a setting":    func(r *model.Measure) { r.Settings.UpToHz++ },
	} {
		if mark(change) == plain {
			t.Errorf("the fingerprint doesn't tell %s", name)
		}
	}
	kit.Same(t, mark(func(r *model.Measure) { r.Tool.Version = "9"; r.Fingerprint = "X" }), plain, "version and the fingerprint itself count")
	named := func(file string) string { return mark(func(r *model.Measure) { r.Captures[0].File = file }) }
	for _, path := range []string{"bench/near.wav", "/home/x/near.wav", `C:\bench\near.wav`, `a "b" \c/near.wav`} {
		kit.Same(t, named(path), named("near.wav"), "the folder of %s counts", path)
	}
	if named("bench/near.wav") == named("bench/quiet.wav") || named(`x"/near.wav`) == named("quiet.wav") {
		t.Error("the name of a file doesn't count")
	}
}

// No key stands twice in an object, as what is inline could bring one.
func TestKeysStandOnce(t *testing.T) {
	for schema, kind := range kinds {
		r := random(kind, schema, 11)
		text := kit.Must(Write(r))(t)
		kit.Same(t, doubled(json.NewDecoder(bytes.NewReader(text))), "", "%s: stands twice in one object", schema)
	}
}

// doubled is a key that stands twice in an object of the value that comes next.
func doubled(d *json.Decoder) string {
	t, err := d.Token()
	delim, nested := t.(json.Delim)
	if err != nil || !nested {
		return ""
	}
	seen := map[string]bool{}
	for d.More() {
		if delim == '{' {
			key, _ := d.Token()
			if seen[key.(string)] {
				return key.(string)
			}
			seen[key.(string)] = true
		}
		if key := doubled(d); key != "" {
			return key
		}
	}
	_, _ = d.Token()
	return ""
}
