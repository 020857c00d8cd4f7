package batch

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/report/result"
)

// Store keeps measurements in a folder, each in a file named by what it depends
// on: the file's content, span and channel, how it was measured, and by which
// method. Several processes may use it at once: a file is put there whole, by
// renaming, and one that isn't whole, or isn't what its name says, counts as
// absent. Nothing in it is needed: it may be deleted at any time.
type Store struct {
	dir     string
	version string
}

// DefaultDir is where measurements are kept unless another place is named.
func DefaultDir() (string, error) {
	dir, err := os.UserCacheDir()
	if err != nil {
		return "", &capture.Error{What: "there is no folder to keep measurements in: " + err.Error(), Hint: "name one with --cache DIR", Err: err}
	}
	return filepath.Join(dir, "humdiff"), nil
}

// NewStore opens a folder of measurements, and makes it where there is none.
func NewStore(dir, version string) (Store, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return Store{}, unusable(dir, err)
	}
	probe, err := os.CreateTemp(dir, ".part-*")
	if err != nil {
		return Store{}, unusable(dir, err)
	}
	return Store{dir, version}, errors.Join(probe.Close(), os.Remove(probe.Name()))
}

func unusable(dir string, err error) error {
	var cause *fs.PathError
	if errors.As(err, &cause) {
		err = cause.Err
	}
	return &capture.Error{File: dir, What: "measurements can't be kept there: " + err.Error(), Hint: "name another folder with --cache DIR", Err: err}
}

// key is what a measurement depends on.
type key struct {
	Version  string // of the tool
	Method   int
	Content  string // SHA-256 of the file
	Channel  int
	Start    float64
	End      string // open ends too
	Settings result.Settings
	Around   float64
}

func (s Store) key(content string, a capture.Address, settings result.Settings, around float64) key {
	return key{s.version, mains.Method, content, a.Channel, a.Start, fmt.Sprint(a.End), settings, around}
}

// path is where a measurement lies.
func (s Store) path(k key) string {
	text, err := json.Marshal(k)
	if err != nil {
		panic(err) // numbers and words can always be written
	}
	sum := sha256.Sum256(text)
	return filepath.Join(s.dir, hex.EncodeToString(sum[:])+".json")
}

// kept is a file of the store: the sum tells whether it is whole.
type kept struct {
	Sum     string          `json:"sha256"`
	Measure json.RawMessage `json:"measure"`
}

// get is a measurement that was kept.
func (s Store) get(k key) (m result.Measure, ok bool) {
	text, err := os.ReadFile(s.path(k))
	if err != nil {
		return m, false
	}
	var f kept
	if json.Unmarshal(text, &f) != nil || f.Sum != sumOf(f.Measure) || json.Unmarshal(f.Measure, &m) != nil {
		return result.Measure{}, false
	}
	return m, true
}

// put keeps a measurement.
func (s Store) put(k key, m result.Measure) error {
	text, err := json.Marshal(m)
	if err != nil {
		return err
	}
	if text, err = json.Marshal(kept{sumOf(text), text}); err != nil {
		return err
	}
	f, err := os.CreateTemp(s.dir, ".part-*")
	if err != nil {
		return unusable(s.dir, err)
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), s.path(k))
	}
	if err != nil {
		os.Remove(f.Name())
		return unusable(s.dir, err)
	}
	return nil
}

func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
