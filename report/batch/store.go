package batch

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
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
		return "", &fault.Error{What: "there is no folder to keep measurements in: " + err.Error(), Hint: "name one with --cache DIR", Err: err}
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
	return &fault.Error{File: dir, What: "measurements can't be kept there: " + err.Error(), Hint: "name another folder with --cache DIR", Err: err}
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

// A kept file is two lines, each behind its SHA-256, which tells whether it is
// whole: the measurement without what only figures need, which is all that most
// readings want, and the rest.

// drawn is what only figures need of a capture.
type drawn struct {
	Trace   result.Trace `json:"trace"`
	Samples []result.Num `json:"samples"`
}

// get is a measurement that was kept, without what only figures need.
func (s Store) get(k key) (m result.Measure, ok bool) {
	lines := s.read(k)
	return m, len(lines) > 0 && unsum(lines[0], &m)
}

// whole is a measurement that was kept, with all that was measured.
func (s Store) whole(k key) (m result.Measure, ok bool) {
	lines := s.read(k)
	var figures []drawn
	if len(lines) < 2 || !unsum(lines[0], &m) || !unsum(lines[1], &figures) || len(figures) != len(m.Captures) {
		return result.Measure{}, false
	}
	for i, f := range figures {
		m.Captures[i].Trace, m.Captures[i].Cycle.Samples = f.Trace, f.Samples
	}
	return m, true
}

func (s Store) read(k key) [][]byte {
	text, err := os.ReadFile(s.path(k))
	if err != nil {
		return nil
	}
	return bytes.SplitAfter(text, []byte("\n"))
}

// unsum reads a line, if it is whole.
func unsum(line []byte, into any) bool {
	sum, text, _ := bytes.Cut(line, []byte(" "))
	return string(sum) == sumOf(text) && json.Unmarshal(text, into) == nil
}

// summed is a line of a kept file.
func summed(v any) ([]byte, error) {
	text, err := json.Marshal(v)
	text = append(text, '\n')
	return append([]byte(sumOf(text)+" "), text...), err
}

// put keeps a measurement.
func (s Store) put(k key, m result.Measure) error {
	var figures []drawn
	m.Captures = slices.Clone(m.Captures)
	for i := range m.Captures {
		c := &m.Captures[i]
		figures = append(figures, drawn{c.Trace, c.Cycle.Samples})
		light(c)
	}
	text, err := summed(m)
	if err != nil {
		return err
	}
	rest, err := summed(figures)
	if err != nil {
		return err
	}
	text = append(text, rest...)
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
