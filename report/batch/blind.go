package batch

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	mathrand "math/rand/v2"
	"os"
	"slices"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/publish"
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
	for _, c := range cables {
		if len(c) == 1 && c[0] >= 'A' && int(c[0]-'A') < len(cables) {
			return Key{}, &fault.Error{File: path, What: fmt.Sprintf("the cable %q is called as a letter that stands for some cable", c), Hint: "give it a longer name, or a letter further on in the alphabet"}
		}
	}
	if len(cables) > 26 {
		return Key{}, &fault.Error{File: path, What: fmt.Sprintf("%d cables are more than there are letters", len(cables))}
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
		return k, &fault.Error{File: path, What: "the key cannot be written", Err: err}
	}
	k.Hash = sumOf(text)
	return k, nil
}

// LoadKey reads a key of a session's cables: it has to name every one of them, or
// where the session was recorded blind, to have every one's letter. Where there is
// no key the error is fs.ErrNotExist.
func LoadKey(path string, cables []string) (k Key, err error) {
	text, err := publish.ReadFile(path, publish.LargestText, "check the key's name")
	if err != nil {
		return k, err
	}
	if err := toml.Unmarshal(text, &k); err != nil || len(k.Cables) == 0 {
		return k, &fault.Error{File: path, What: "it is no key", Hint: "--blind with a new name writes one", Err: err}
	}
	k.Hash = sumOf(text)
	if k.Blinded(cables) {
		return k, nil
	}
	for _, c := range cables {
		if k.letter(c) == "" {
			return k, &fault.Error{File: path, What: fmt.Sprintf("the key has no letter for the cable %q", c), Hint: "give the session's own key, or a new name for a new one"}
		}
	}
	return k, nil
}

// Blinded says that a session's cables are the key's letters already, as plan
// --blind writes them.
func (k Key) Blinded(cables []string) bool {
	return !slices.ContainsFunc(cables, func(c string) bool { return k.Cables[c] == "" })
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

// shown is what a blind report shows for a cable: its letter, which may be what
// the session calls it.
func (k Key) shown(cable string) string {
	if letter := k.letter(cable); letter != "" {
		return letter
	}
	return cable
}

// Judge judges a session whose cables are letters. Nothing in the result names
// them: files have their runs' numbers, and in what was written about the session
// letters stand for names, and […] for words that are part of one. Its second
// result says where there are such words: a name that is spelled otherwise can't
// be found, and somebody has to read these.
func (k Key) Judge(in verdict.Input) (result.Session, []string) {
	h := k.hider(in.Session)
	in.Blind = true
	in.Settings.Scales = slices.Clone(in.Settings.Scales)
	in.Session = k.session(in.Session, h)
	in.Photos = slices.Clone(in.Photos)
	for i := range in.Photos {
		in.Photos[i].File = h.text("a photo's name", in.Photos[i].File)
	}
	in.Settings.FullScaleSaid = h.text("the scale", in.Settings.FullScaleSaid)
	for i := range in.Settings.Scales {
		s := &in.Settings.Scales[i]
		s.Said, s.Calibrations = h.text("the scale", s.Said), slices.Clone(s.Calibrations)
		for j := range s.Calibrations {
			c := &s.Calibrations[j]
			c.File, c.Address = h.text("a calibration's name", c.File), h.text("a calibration's name", c.Address)
		}
	}
	in.Warnings = slices.Clone(in.Warnings)
	for i := range in.Warnings {
		w := &in.Warnings[i]
		w.File, w.Message = h.file(w.File), h.ours(w.Message)
	}
	in.Runs = slices.Clone(in.Runs)
	for i := range in.Runs {
		r := &in.Runs[i]
		r.Capture, r.Idle, r.Why = renamed(r.Capture, i+1), renamed(r.Idle, i+1), h.ours(r.Why)
	}
	in.Warnings = append(in.Warnings, said(note.New("blind", "sha256", k.Hash)))
	return verdict.Judge(in), h.partly
}

// session puts letters for cables, and runs' numbers for files.
func (k Key) session(s session.Session, h *hider) session.Session {
	s.Path, s.Title = "session.toml", h.text("the title", s.Title)
	s.Roles.Witness = k.shown(s.Roles.Witness)
	s.Runs, s.Claims = slices.Clone(s.Runs), slices.Clone(s.Claims)
	b := &s.Bench
	b.FullScale, b.Gain, b.Notes = h.text("the scale", b.FullScale), h.text("the scale", b.Gain), h.text("the bench's notes", b.Notes)
	b.Calibration, b.Photos = h.texts("a calibration's name", b.Calibration), h.texts("a photo's name", b.Photos)
	for i := range s.Runs {
		r := &s.Runs[i]
		r.Cable, r.Exposure = k.shown(r.Cable), h.exposures[r.Exposure]
		r.Note = h.text(fmt.Sprintf("the note of run %d", i+1), r.Note)
		r.LeftOut = h.text(fmt.Sprintf("why run %d is left out", i+1), r.LeftOut)
		if r.Address.Path != "" {
			r.Address.Path = hiddenName(i + 1)
		}
		if r.Measured != "" {
			r.Measured = hiddenName(i + 1)
		}
	}
	for i := range s.Claims {
		c := &s.Claims[i]
		c.Cable, c.Than, c.Exposure = k.shown(c.Cable), k.shown(c.Than), h.exposures[c.Exposure]
		at := fmt.Sprintf("claim %d", i+1)
		c.Name, c.Says, c.By = h.text(at, c.Name), h.text(at, c.Says), h.text(at, c.By)
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

// Capture hides a run's whole measurement, as Judge does its result.
func (k Key) Capture(c result.Capture, run int) result.Capture { return *renamed(&c, run) }

// Open puts names for letters into what a session that was recorded blind is
// judged by. What people wrote about it stays as it is: an A in it may be a word.
func (k Key) Open(in verdict.Input) verdict.Input {
	s := &in.Session
	if !k.Blinded(s.Cables()) {
		return in
	}
	name := func(letter string) string { return k.Cables[letter] }
	s.Roles.Witness = name(s.Roles.Witness)
	s.Runs, s.Claims = slices.Clone(s.Runs), slices.Clone(s.Claims)
	for i := range s.Runs {
		s.Runs[i].Cable = name(s.Runs[i].Cable)
	}
	for i := range s.Claims {
		s.Claims[i].Cable, s.Claims[i].Than = name(s.Claims[i].Cable), name(s.Claims[i].Than)
	}
	return in
}

// Opened says in a result that names its cables which letters they had.
func (k Key) Opened(s result.Session) result.Session {
	letters := slices.Sorted(maps.Keys(k.Cables))
	cables := make([]string, len(letters))
	for i, letter := range letters {
		cables[i] = k.Cables[letter]
	}
	s.Warnings = append(s.Warnings, said(note.New("blind_key", "letters", letters, "cables", cables, "sha256", k.Hash)))
	return s
}

// said is a warning that concerns the whole session.
func said(n note.Note) result.Warning {
	return result.Warning{Code: n.Code, Message: doc.Says(n)}
}
