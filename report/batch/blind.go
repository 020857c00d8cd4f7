package batch

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	mathrand "math/rand/v2"
	"slices"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
)

// Key says which letter stands for which cable in a session that is recorded
// blind. Its hash is in the report, so whoever gets the key later can tell that it
// is the one, and that nothing was swapped after the results were known. The nonce
// keeps the names from being guessed by their hash.
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
		return Key{}, &fault.Error{File: path, What: fmt.Sprintf("%d cables are more than there are letters", len(cables))}
	}
	for _, c := range cables {
		if len(c) == 1 && c[0] >= 'A' && int(c[0]-'A') < len(cables) {
			return Key{}, &fault.Error{File: path, What: fmt.Sprintf("the cable %q is called as a letter that stands for some cable", c), Hint: "give it a longer name, or a letter further on in the alphabet"}
		}
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
	k.Hash = sumOf(text)
	return k, session.Create(path, text, 0o600)
}

// LoadKey reads the key of a session that was recorded blind: every one of its
// cables has to be one of the key's letters.
func LoadKey(path string, cables []string) (k Key, err error) {
	const most = 64 << 10 // bytes
	text, err := publish.ReadFile(path, most, "name the key.toml that humdiff plan --blind wrote")
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return k, &fault.Error{File: path, What: "there is no such key", Hint: "humdiff plan --blind writes one, with a session whose cables are letters", Err: err}
	case err != nil:
		return k, err
	}
	if err := toml.Unmarshal(text, &k); err != nil || len(k.Cables) == 0 {
		return k, &fault.Error{File: path, What: "it is no key", Hint: "name the key.toml that humdiff plan --blind wrote", Err: err}
	}
	k.Hash = sumOf(text)
	for _, c := range cables {
		if k.Cables[c] == "" {
			return k, &fault.Error{File: path, What: fmt.Sprintf("the key has no letter %q, as a cable of the session is called", c),
				Hint: "name the session's own key; names can't be hidden after the fact: humdiff plan --blind plans a session whose cables are letters"}
		}
	}
	return k, nil
}

// Codes of what is said of keys: "sha256" is that of the key's file, "letters"
// and "cables" are listed alike.
const (
	Blinded  = "blind"
	Unveiled = "blind_key"
)

// Blind marks a session whose cables are the key's letters as blind.
func (k Key) Blind(s model.Session) (model.Session, model.Warning) {
	s.Sitting.Blind = true
	return s, model.Warning{Note: note.New(Blinded, "sha256", k.Hash)}
}

// Open puts names for letters into a session that isn't judged yet. What people wrote about
// it stays as it is: an A in it may be a word.
func (k Key) Open(s model.Session) (model.Session, model.Warning) {
	s.Runs, s.Driven, s.Claims = slices.Clone(s.Runs), slices.Clone(s.Driven), slices.Clone(s.Claims)
	cables := []*string{&s.Control}
	for _, runs := range [][]model.Run{s.Runs, s.Driven} {
		for i := range runs {
			cables = append(cables, &runs[i].Cable)
		}
	}
	for i := range s.Claims {
		cables = append(cables, &s.Claims[i].Cable, &s.Claims[i].Than)
	}
	if s.Passport != nil {
		p := *s.Passport
		p.Runs, p.Cables = slices.Clone(p.Runs), slices.Clone(p.Cables)
		for i := range p.Runs {
			cables = append(cables, &p.Runs[i].Cable)
		}
		for i := range p.Cables {
			cables = append(cables, &p.Cables[i].Cable)
		}
		s.Passport = &p
	}
	for _, cable := range cables {
		*cable = k.Cables[*cable]
	}
	letters := slices.Sorted(maps.Keys(k.Cables))
	names := []string{}
	for _, letter := range letters {
		names = append(names, k.Cables[letter])
	}
	return s, model.Warning{Note: note.New(Unveiled, "sha256", k.Hash, "letters", letters, "cables", names)}
}
