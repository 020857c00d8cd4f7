package capture_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
)

// rewrite changes one byte of a file and, where asked, leaves no trace of it in
// its times.
func rewrite(t *testing.T, path string, at int64, hideTime bool) {
	t.Helper()
	was := kit.Must(os.Stat(path))(t)
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	kit.OK(t, err)
	var b [1]byte
	_, err = f.ReadAt(b[:], at)
	b[0] ^= 0x40
	_, err2 := f.WriteAt(b[:], at)
	to := was.ModTime()
	if !hideTime {
		to = to.Add(time.Second) // coarse clocks would hide a change as quick as a test
	}
	kit.OK(t, errors.Join(err, err2, f.Close(), os.Chtimes(path, to, to)))
}

// longFile is a file of 1 kHz, 3 channels of 16 bits, 25 s: longer than a block.
func longFile(t testing.TB) string {
	path := filepath.Join(t.TempDir(), "long.wav")
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 1000, Bits: 16}, onGrid(25000, 0, 16), onGrid(25000, 1, 16), onGrid(25000, 2, 16)))
	return path
}

// pass reads all of a file, calls meanwhile after its first block, and returns
// the error.
func pass(t *testing.T, file *capture.File, meanwhile func()) error {
	t.Helper()
	return file.Read(context.Background(), func(frames [][]float64) error {
		if len(frames[0]) == 0 {
			t.Fatal("a block of nothing")
		}
		if meanwhile != nil {
			meanwhile()
			meanwhile = nil
		}
		return nil
	})
}

func hash(file *capture.File) error {
	_, err := file.Hash(context.Background())
	return err
}

// The hash belongs to the samples that were measured, and both to the header.
func TestAFileThatChangesIsRefused(t *testing.T) {
	const sample = 44 + 120_000 // within the samples
	read := func(t *testing.T, f *capture.File) error { return pass(t, f, nil) }
	hashed := func(_ *testing.T, f *capture.File) error { return hash(f) }
	for name, c := range map[string]struct {
		before func(*testing.T, *capture.File) error // nil: nothing is read before the change
		change func(t *testing.T, path string)
		after  func(*testing.T, *capture.File) error
		want   string
	}{
		"grown before it is read":   {nil, grow, read, "the file has grown while it was read: 150045 bytes, 150044 before"},
		"grown before it is hashed": {read, grow, hashed, "the file has grown while it was read: 150045 bytes, 150044 before"},
		"shorter before it is hashed": {read, func(t *testing.T, path string) {
			kit.OK(t, os.Truncate(path, 150_000))
		}, hashed, "the file has become shorter while it was read: 150000 bytes, 150044 before"},
		"replaced":                      {read, replace, hashed, "the file was replaced by another while it was read"},
		"replaced before a second pass": {read, replace, read, "the file was replaced by another while it was read"},
		"written to": {read, func(t *testing.T, path string) { rewrite(t, path, sample, false) }, read,
			"the file was written to while it was read"},
		"written to during a pass": {nil, nil, func(t *testing.T, f *capture.File) error {
			return pass(t, f, func() { rewrite(t, f.Info().Path, sample, false) })
		}, "the file was written to while it was read"},
		"without a trace, then hashed": {read, func(t *testing.T, path string) { rewrite(t, path, sample, true) }, hashed,
			"the file's samples changed while it was read"},
		"without a trace, hashed before": {hashed, func(t *testing.T, path string) { rewrite(t, path, sample, true) }, read,
			"the file's samples changed while it was read"},
		"without a trace, between passes": {read, func(t *testing.T, path string) { rewrite(t, path, sample, true) }, read,
			"the file's samples changed while it was read"},
		"without a trace, during a pass": {hashed, nil, func(t *testing.T, f *capture.File) error {
			return pass(t, f, func() { rewrite(t, f.Info().Path, sample, true) })
		}, "the file's samples changed while it was read"},
	} {
		t.Run(name, func(t *testing.T) {
			path := longFile(t)
			file := open(t, capture.Address{Path: path, Start: 0.5})
			if c.before != nil {
				kit.OK(t, c.before(t, file))
			}
			if c.change != nil {
				c.change(t, path)
			}
			err := c.after(t, file)
			var e *fault.Error
			if !errors.As(err, &e) || e.Error() != path+": "+c.want || !strings.Contains(e.Hint, "copy it") {
				t.Errorf("%v, want %s", err, c.want)
			}
		})
	}
}

func grow(t *testing.T, path string) {
	f := kit.Must(os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0))(t)
	if _, err := f.WriteString("x"); err != nil {
		t.Fatal(err)
	}
	f.Close()
}

func replace(t *testing.T, path string) {
	b := kit.Must(os.ReadFile(path))(t)
	kit.OK(t, errors.Join(os.WriteFile(path+".new", b, 0o666), os.Rename(path+".new", path)))
}

// Whole passes over a span, in blocks of any size, and the hash agree about it.
func TestAFileThatStaysIsHashed(t *testing.T) {
	path, _ := threeChannels(t)
	b := kit.Must(os.ReadFile(path))(t)
	want := sha256.Sum256(b)
	for _, addr := range []capture.Address{{Path: path}, {Path: path, Start: 0.5, End: 2}, {Path: path, Channel: 2}, {Path: path, Start: 2.499}} {
		file := open(t, addr)
		file.HashInPassing()
		readAll(t, file)
		if got, err := file.Hash(context.Background()); got != hex.EncodeToString(want[:]) || err != nil {
			t.Errorf("%v: %s, %v", addr, got, err)
		}
	}
}

// A pass over the whole file hashes what it reads, if asked to: header, samples and what lies
// behind them. So the hash is that of the samples measured, even where others take
// their place without a trace before it is asked for.
func TestAWholePassHashes(t *testing.T) {
	path, _ := threeChannels(t)
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	kit.OK(t, err)
	_, err = f.WriteString("note\x04\x00\x00\x00text")
	kit.OK(t, errors.Join(err, f.Close()))
	b := kit.Must(os.ReadFile(path))(t)
	want := sha256.Sum256(b)
	for _, channel := range []int{0, 2} {
		file := open(t, capture.Address{Path: path, Channel: channel})
		file.HashInPassing()
		readAll(t, file)
		rewrite(t, path, 44+12000, true)
		if got, err := file.Hash(context.Background()); got != hex.EncodeToString(want[:]) || err != nil {
			t.Errorf("channel %d: %s, %v", channel, got, err)
		}
		if err := pass(t, file, nil); err == nil {
			t.Error("a second pass takes the new samples")
		}
		kit.OK(t, os.WriteFile(path, b, 0o666))
	}
}

// One channel of what was opened is what the address of that channel is, and
// remembers what was read before.
func TestOnly(t *testing.T) {
	path, all := threeChannels(t)
	file := open(t, capture.Address{Path: path, Start: 0.5, End: 2})
	kit.OK(t, pass(t, file, nil))
	one := kit.Must(file.Only(2))(t)
	same(t, readAll(t, one), [][]float64{all[1][500:2000]})
	if info := one.Info(); info.FirstChannel != 2 || info.StartS != 0.5 || info.EndS != 2 {
		t.Errorf("%+v", info)
	}
	for _, channel := range []int{0, 4} {
		if _, err := file.Only(channel); err == nil {
			t.Errorf("channel %d", channel)
		}
	}
	if _, err := one.Only(1); err == nil {
		t.Error("channel 1 of a source of channel 2")
	}
	rewrite(t, path, 44+6*600, true)
	one = kit.Must(file.Only(3))(t)
	if err := pass(t, one, nil); err == nil {
		t.Error("a change between the passes is not noticed")
	}
}

func TestHashingIsCancelled(t *testing.T) {
	path, _ := threeChannels(t)
	file := open(t, capture.Address{Path: path})
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := file.Hash(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
