package verify_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/verify"
	"humdiff/report/wire"
)

var (
	forgeries = flag.Int("forgeries", 0, "random edits tried of each kind of report, of each way of making them; 0: one, by the ways in turn")
	firstSeed = flag.Uint64("seed", 1, "seed of the first of them")
)

// Ways to forge.
const (
	withTheProgram = iota
	withAnEditor
	asABundle
	ways
)

// eachForged tries a way of forging on each kind of report, so many times.
func eachForged(t *testing.T, way int, try func(t *testing.T, h honest, times int)) {
	for i, h := range allHonest(t) {
		times := *forgeries
		if times == 0 && i%ways == way {
			times = 1
		}
		if times > 0 {
			t.Run(h.kind, func(t *testing.T) {
				t.Parallel()
				try(t, h, times)
			})
		}
	}
}

// place is a value in decoded JSON that can be changed.
type place struct {
	where, key string
	get        any
	set        func(any)
}

func places(where, key string, v any, set func(any), out *[]place) {
	*out = append(*out, place{where, key, v, set})
	switch x := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(x)) {
			places(where+"."+k, k, x[k], func(n any) { x[k] = n }, out)
		}
	case []any:
		for i := range x {
			places(fmt.Sprintf("%s[%d]", where, i), key, x[i], func(n any) { x[i] = n }, out)
		}
	}
}

// forgedValue is another value in the place of one.
func forgedValue(r *rand.Rand, v any) any {
	switch x := v.(type) {
	case float64:
		return []any{x + 1, x * 1.01, -x, 0.0, x - 3, nil}[r.IntN(6)]
	case bool:
		return !x
	case string:
		return []any{x + "x", "", "detected", "measured", "supported", "yes"}[r.IntN(6)]
	case []any:
		return forgedList(r, x)
	case map[string]any:
		keys := slices.Sorted(maps.Keys(x))
		if len(keys) == 0 {
			return nil
		}
		other := maps.Clone(x)
		switch a, b := keys[r.IntN(len(keys))], keys[r.IntN(len(keys))]; r.IntN(3) {
		case 0:
			return nil
		case 1:
			other[a], other[b] = x[b], x[a]
		case 2:
			delete(other, a)
		}
		return other
	}
	return []any{1.0, -80.0, "x", true}[r.IntN(4)]
}

// forgedList is a list with an entry more, less or elsewhere, or with none.
func forgedList(r *rand.Rand, x []any) any {
	if len(x) == 0 {
		return []any{[]any{1.0, "x"}[r.IntN(2)]}
	}
	i, j := r.IntN(len(x)), r.IntN(len(x))
	switch other := slices.Clone(x); r.IntN(4) {
	case 0:
		return []any{}
	case 1:
		return slices.Delete(other, i, i+1)
	case 2:
		return slices.Insert(other, i, x[j])
	default:
		other[i], other[j] = x[j], x[i]
		return other
	}
}

// forge changes one value of a decoded result, a list or an object as often as a
// number, or puts another value of the same key in its place.
func forge(r *rand.Rand, tree any) (where string) {
	var all []place
	places("", "", tree, nil, &all)
	all = all[1:]
	var at place
	for composed, wanted := false, r.IntN(2) == 0; ; {
		at = all[r.IntN(len(all))]
		switch at.get.(type) {
		case []any, map[string]any:
			composed = true
		default:
			composed = false
		}
		if composed == wanted {
			break
		}
	}
	like := slices.DeleteFunc(slices.Clone(all), func(p place) bool {
		return p.key != at.key || p.where != at.where && strings.HasPrefix(at.where, p.where) // nothing holds itself
	})
	if n := len(like); n > 1 && r.IntN(3) == 0 {
		from := like[r.IntN(n)]
		at.set(from.get)
		return at.where + " by " + from.where
	}
	at.set(forgedValue(r, at.get))
	return at.where
}

// A forger with the program: any value changed, the result written as humdiff
// writes it, sealed, and every file of the report drawn anew from it. Nothing but
// the captures betrays it.
func TestForgedWithTheProgram(t *testing.T) {
	eachForged(t, withTheProgram, func(t *testing.T, h honest, times int) {
		text := kit.Must(os.ReadFile(h.json))(t)
		// Decoding loses the order in which a note's arguments stand: an edit counts
		// only where more than that differs.
		unedited := sealed(t, text)
		tried, began := 0, time.Now()
		for seed := *firstSeed; tried < times && seed < *firstSeed+uint64(20*times); seed++ {
			var tree any
			kit.OK(t, json.Unmarshal(text, &tree))
			where := forge(rand.New(rand.NewPCG(seed, 7)), tree)
			edited := kit.Must(json.Marshal(tree))(t)
			path, ok := resealed(t, h, edited, unedited, seed%4 > 0)
			if !ok {
				continue // nothing that a result holds was changed, or none comes of it
			}
			tried++
			if stands(t, path) {
				t.Errorf("seed %d: %s changed: it stands", seed, where)
			}
		}
		t.Logf("%d forged with the program, in %v", tried, time.Since(began).Round(time.Second))
	})
}

// sealed is a result's text decoded, written by humdiff and sealed.
func sealed(t testing.TB, text []byte) []byte {
	t.Helper()
	var tree any
	kit.OK(t, json.Unmarshal(text, &tree))
	plain := kit.Must(json.Marshal(tree))(t)
	r := kit.Must(wire.Read(plain))(t)
	kit.OK(t, wire.Seal(r))
	return kit.Must(wire.Write(r))(t)
}

// resealed is a copy of a report remade from an edited result, which takes long, or its
// JSON alone; false where the edit comes to nothing.
func resealed(t testing.TB, h honest, edited, honestText []byte, alone bool) (path string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false // its values contradict each other: not even drawn
		}
	}()
	r, err := wire.Read(edited)
	if err != nil || wire.Seal(r) != nil {
		return "", false
	}
	again, err := wire.Write(r)
	if err != nil || bytes.Equal(again, honestText) {
		return "", false
	}
	if alone || strings.HasPrefix(h.kind, "measure") {
		return h.alone(t, again), true
	}
	files, err := report.Files(r)
	if err != nil {
		return "", false
	}
	path = h.copyOf(t)
	kit.OK(t, os.RemoveAll(filepath.Dir(path)))
	if err := publish.Write(t.Context(), filepath.Dir(path), true, files); err != nil {
		return "", false
	}
	return path, true
}

// A forger with an editor: bytes changed, taken out or put in, of any file of a report,
// of its captures, and of what a session was read from.
func TestForgedWithAnEditor(t *testing.T) {
	eachForged(t, withAnEditor, func(t *testing.T, h honest, times int) {
		names := h.files(t)
		for seed := range uint64(times) {
			r := rand.New(rand.NewPCG(*firstSeed+seed, 8))
			path := h.copyOf(t)
			name := names[r.IntN(len(names))]
			file := filepath.Join(h.root(path), name)
			text := kit.Must(os.ReadFile(file))(t)
			edited, at := editedBytes(r, text)
			if bytes.Equal(text, edited) {
				continue
			}
			if err := errors.Join(os.Remove(file), os.WriteFile(file, edited, 0o644)); err != nil { // it may be a link
				t.Fatal(err)
			}
			if stands(t, path) {
				t.Errorf("seed %d: %s edited at byte %d: it stands", *firstSeed+seed, name, at)
			}
		}
	})
}

// editedBytes are a file's with an edit.
func editedBytes(r *rand.Rand, text []byte) (edited []byte, at int) {
	at = r.IntN(len(text))
	edited = bytes.Clone(text)
	switch r.IntN(4) {
	case 0:
		edited[at] = "0123456789 abc{}[],:"[r.IntN(20)]
	case 1:
		edited = slices.Delete(edited, at, min(len(edited), at+1+r.IntN(40)))
	case 2:
		edited = slices.Insert(edited, at, []byte("1")...)
	case 3:
		edited[at] ^= 1 << r.IntN(8)
	}
	return edited, at
}

// bundled packs a report with its captures.
func bundled(t testing.TB, h honest, dir string) []byte {
	t.Helper()
	var b bytes.Buffer
	packing := publish.Packing{Version: version, Captures: []string{h.dir}, IsReport: verify.Remakes}
	kit.Must(publish.Pack(t.Context(), &b, dir, packing))(t)
	return b.Bytes()
}

// A forger with a bundle: any byte of it changed, or a result in it forged with the
// program and packed by it.
func TestForgedBundle(t *testing.T) {
	eachForged(t, asABundle, func(t *testing.T, h honest, times int) {
		file := filepath.Join(t.TempDir(), "b.zip")
		sound := bundled(t, h, filepath.Dir(h.json))
		kit.OK(t, os.WriteFile(file, sound, 0o644))
		if v := verified(t, file); v.Verdict != model.Stands {
			t.Errorf("bundled: %s, not compared %v\n%s", v.Verdict, v.NotCompared, told(v))
		}
		for seed := range uint64(times) {
			r := rand.New(rand.NewPCG(*firstSeed+seed, 9))
			edited, at := editedBundle(t, r, sound)
			if bytes.Equal(edited, sound) || len(edited) == len(sound) && at+5 < len(sound) && bytes.Equal(sound[at+1:at+5], []byte{0, 0, 0xff, 0xff}) {
				continue // bits there are padding
			}
			kit.OK(t, os.WriteFile(file, edited, 0o644))
			if stands(t, file) {
				t.Errorf("seed %d: a bundle edited at byte %d of %d: it stands", *firstSeed+seed, at, len(sound))
			}
		}
	})
}

// editedBundle changes a byte, half the times of what says which files are in it.
func editedBundle(t testing.TB, r *rand.Rand, sound []byte) (edited []byte, at int) {
	t.Helper()
	if r.IntN(2) == 0 {
		return editedBytes(r, sound)
	}
	z := kit.Must(zip.NewReader(bytes.NewReader(sound), int64(len(sound))))(t)
	body := kit.Must(z.File[r.IntN(len(z.File))].DataOffset())(t)
	at = int(body) - r.IntN(60) // of a file's head
	if r.IntN(2) == 0 {
		at = len(sound) - 1 - r.IntN(70*len(z.File)) // of the list of them all
	}
	at = max(at, 0)
	edited = bytes.Clone(sound)
	edited[at] ^= 1 << r.IntN(8)
	return edited, at
}
