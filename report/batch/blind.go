package batch

import (
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	mathrand "math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/capture"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
)

// Key says which letter stands for which cable in a blind report. Its hash is in
// the report, so whoever gets the key later can tell that it is the one, and that
// nothing was swapped after the results were known. The nonce keeps the names
// from being guessed by their hash.
type Key struct {
	Nonce  string            `toml:"nonce"`
	Cables map[string]string `toml:"cables"` // by letter
	Hash   string            `toml:"-"`      // SHA-256 of the key's file
}

const keyHead = "# Which letter stands for which cable. Keep this file to yourself until the blind report is out, then\n" +
	"# publish it: its SHA-256 is in the report.\n"

// NewKey gives cables letters at random and writes the key to a new file.
func NewKey(path string, cables []string) (Key, error) {
	if len(cables) > 26 {
		return Key{}, &capture.Error{File: path, What: fmt.Sprintf("%d cables are more than there are letters", len(cables))}
	}
	var seed [32]byte
	rand.Read(seed[:]) // never fails
	k := Key{Nonce: hex.EncodeToString(seed[:]), Cables: map[string]string{}}
	rand.Read(seed[:])
	for i, j := range mathrand.New(mathrand.NewChaCha8(seed)).Perm(len(cables)) {
		k.Cables[string(rune('A'+i))] = cables[j]
	}
	text, err := toml.Marshal(k)
	if err != nil {
		return k, err
	}
	text = append([]byte(keyHead), text...)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err == nil {
		_, err = f.Write(text)
		err = errors.Join(err, f.Close())
	}
	if err != nil {
		return k, &capture.Error{File: path, What: "the key cannot be written", Err: err}
	}
	k.Hash = sumOf(text)
	return k, nil
}

// LoadKey reads a key that has to name every one of the cables. Where there is
// none the error is fs.ErrNotExist.
func LoadKey(path string, cables []string) (k Key, err error) {
	text, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return k, &capture.Error{File: path, What: "there is no such key", Hint: "check the name", Err: err}
	case err != nil:
		return k, &capture.Error{File: path, What: "the key cannot be read", Err: err}
	}
	if err := toml.Unmarshal(text, &k); err != nil || len(k.Cables) == 0 {
		return k, &capture.Error{File: path, What: "it is no key", Hint: "--blind with a new name writes one", Err: err}
	}
	sum := sha256.Sum256(text)
	k.Hash = hex.EncodeToString(sum[:])
	for _, c := range cables {
		if k.letter(c) == "" {
			return k, &capture.Error{File: path, What: fmt.Sprintf("the key has no letter for the cable %q", c), Hint: "give the session's own key, or a new name for a new one"}
		}
	}
	return k, nil
}

// letter stands for a cable; empty where the key has none.
func (k Key) letter(cable string) string {
	for letter, name := range k.Cables {
		if name == cable {
			return letter
		}
	}
	return ""
}

// Judge judges a session whose cables are letters. Nothing in the result names
// them: files have their runs' numbers, and in all that was written about the
// session letters stand for names.
func (k Key) Judge(in verdict.Input) (result.Session, error) {
	in.Blind = true
	in.Warnings = slices.Clone(in.Warnings)
	for i, w := range in.Warnings {
		in.Warnings[i].File = fileOf(in.Session, w.File)
	}
	in.Session = k.session(in.Session)
	in.Runs = slices.Clone(in.Runs)
	for i := range in.Runs {
		in.Runs[i].Capture = renamed(in.Runs[i].Capture, i+1)
		in.Runs[i].Idle = renamed(in.Runs[i].Idle, i+1)
	}
	in.Warnings = append(in.Warnings, result.Warning{Code: "blind", Message: "Cables are letters. Which is which is in a key whose file has the SHA-256 " + k.Hash + "."})
	return k.hide(verdict.Judge(in))
}

// session puts letters for cables, and runs' numbers for files.
func (k Key) session(s session.Session) session.Session {
	s.Path = "session.toml"
	s.Roles.Witness = k.letter(s.Roles.Witness)
	s.Runs, s.Claims = slices.Clone(s.Runs), slices.Clone(s.Claims)
	for i := range s.Runs {
		r := &s.Runs[i]
		r.Cable = k.letter(r.Cable)
		if r.Address.Path != "" {
			r.Address.Path = hiddenName(i + 1)
		}
		if r.Measured != "" {
			r.Measured = hiddenName(i + 1)
		}
	}
	for i := range s.Claims {
		s.Claims[i].Cable, s.Claims[i].Than = k.letter(s.Claims[i].Cable), k.letter(s.Claims[i].Than)
	}
	return s
}

func hiddenName(run int) string { return fmt.Sprintf("run %d", run) }

func renamed(c *result.Capture, run int) *result.Capture {
	if c == nil {
		return nil
	}
	hidden := *c
	hidden.File = hiddenName(run)
	return &hidden
}

// fileOf is what a session's file is called in a blind report.
func fileOf(s session.Session, file string) string {
	for i, r := range s.Runs {
		if r.Address.Path == file {
			return hiddenName(i + 1)
		}
	}
	if file == "" {
		return ""
	}
	return "a capture"
}

// Capture hides a run's whole measurement, as Judge does its result.
func (k Key) Capture(c result.Capture, run int) result.Capture { return *renamed(&c, run) }

// hide puts letters for names in every text of a result.
func (k Key) hide(s result.Session) (hidden result.Session, err error) {
	text, err := json.Marshal(s)
	if err != nil {
		return hidden, err
	}
	var all any
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.UseNumber()
	if err := d.Decode(&all); err != nil {
		return hidden, err
	}
	if text, err = json.Marshal(walk(all, k.masks())); err != nil {
		return hidden, err
	}
	return hidden, json.Unmarshal(text, &hidden)
}

// mask is a name and the letter for it.
type mask struct {
	name   *regexp.Regexp
	letter string
}

// masks are those of all cables, long names first; short ones count only as
// whole words.
func (k Key) masks() (all []mask) {
	letters := slices.SortedFunc(maps.Keys(k.Cables), func(a, b string) int {
		return cmp.Compare(len(k.Cables[b]), len(k.Cables[a]))
	})
	for _, letter := range letters {
		form := regexp.QuoteMeta(k.Cables[letter])
		if len(k.Cables[letter]) < 3 {
			form = `\b` + form + `\b`
		}
		all = append(all, mask{regexp.MustCompile("(?i)" + form), letter})
	}
	return all
}

func walk(v any, masks []mask) any {
	switch v := v.(type) {
	case map[string]any:
		for key := range v {
			v[key] = walk(v[key], masks)
		}
	case []any:
		for i := range v {
			v[i] = walk(v[i], masks)
		}
	case string:
		for i, m := range masks {
			v = m.name.ReplaceAllString(v, fmt.Sprintf("\x00%d\x00", i)) // so that no letter is taken for a name
		}
		for i, m := range masks {
			v = strings.ReplaceAll(v, fmt.Sprintf("\x00%d\x00", i), m.letter)
		}
		return v
	}
	return v
}

// Opened says in a result that names its cables which letters they had.
func (k Key) Opened(s result.Session) result.Session {
	var said []string
	for _, letter := range slices.Sorted(maps.Keys(k.Cables)) {
		said = append(said, letter+" is "+k.Cables[letter])
	}
	s.Warnings = append(s.Warnings, result.Warning{Code: "blind_key", Message: fmt.Sprintf("In the blind report %s; the key's file has the SHA-256 %s.", strings.Join(said, ", "), k.Hash)})
	return s
}
