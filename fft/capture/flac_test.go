package capture_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/fixtures/flacfile"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"

	"github.com/google/go-cmp/cmp"
)

// noisy is n samples of noise on the grid of a number of bits, both ends of the
// range among them.
func noisy(n, channel, bits int, level float64) []float64 {
	r := rand.New(rand.NewPCG(uint64(channel), uint64(bits)))
	full := math.Ldexp(1, bits-1)
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Round(full*min(max(level*r.NormFloat64(), -1), 1-1/full)) / full
	}
	if n > 3 {
		x[0], x[1], x[2], x[3] = -1, (full-1)/full, 0, 1/full
	}
	return x
}

func flacPath(t testing.TB, f flacfile.Format, channels ...[]float64) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.flac")
	kit.OK(t, flacfile.Write(path, f, channels...))
	return path
}

// 176.4 kHz makes the decoding library write to the standard logger; see cmd/humdiff.
func TestFLACComesBackExactly(t *testing.T) {
	for _, bits := range []int{8, 12, 16, 20, 24} {
		for _, channels := range []int{1, 2, 8} {
			for _, frames := range []int{16, 4096, 9001} {
				var want [][]float64
				for c := range channels {
					want = append(want, noisy(frames, c, bits, 0.1))
				}
				path := flacPath(t, flacfile.Format{Rate: 48000, Bits: bits}, want...)
				file := open(t, capture.Address{Path: path})
				info := capture.Info{Path: path, Format: fmt.Sprintf("%d-bit FLAC", bits), Rate: 48000, Bits: bits, Channels: channels,
					FileFrames: int64(frames), EndS: float64(frames) / 48000, FirstChannel: 1, Container: "FLAC"}
				if diff := cmp.Diff(info, file.Info()); diff != "" {
					t.Errorf("%d bits, %d channels: -want +got:\n%s", bits, channels, diff)
				}
				if w := file.Warnings(); len(w) > 0 {
					t.Errorf("%q", w)
				}
				same(t, readAll(t, file), want)
				if err := hash(file); err != nil {
					t.Error(err)
				}
			}
		}
	}
}

func TestFLACSpans(t *testing.T) {
	all := [][]float64{noisy(10000, 0, 16, 0.1), noisy(10000, 1, 16, 0.1)}
	path := flacPath(t, flacfile.Format{Rate: 1000, Bits: 16, Block: 1024}, all...)
	for _, c := range []struct {
		fragment string
		from, to int
		channels []int
	}{
		{"#t=1", 1000, 10000, []int{0, 1}},
		{"#t=1.024,2.048&ch=2", 1024, 2048, []int{1}},
		{"#t=9.999&ch=1", 9999, 10000, []int{0}},
		{"#t=0,0.001", 0, 1, []int{0, 1}},
		{"#t=3.5,3.501", 3500, 3501, []int{0, 1}},
	} {
		addr := kit.Must(capture.ParseAddress(path + c.fragment))(t)
		var want [][]float64
		for _, ch := range c.channels {
			want = append(want, all[ch][c.from:c.to])
		}
		same(t, readAll(t, open(t, addr)), want)
	}
	file := open(t, capture.Address{Path: path, Start: 2, End: 5})
	one := kit.Must(file.Only(2))(t)
	same(t, readAll(t, one), [][]float64{all[1][2000:5000]})
}

func TestFLACMetadata(t *testing.T) {
	path := flacPath(t, flacfile.Format{Rate: 48000, Bits: 16, Vendor: "Encoder 9",
		Comments: [][2]string{{"TITLE", "Quiet"}, {"DATE", "2031-02-28T19:05:07+01:00"}, {"BENCH_NO", "4"}, {"EMPTY", ""}}}, noisy(100, 0, 16, 0.1))
	want := capture.Metadata{Recorded: time.Date(2031, 2, 28, 19, 5, 7, 0, time.UTC), Source: "DATE", Texts: []capture.Text{
		{Name: "software", Key: "vendor", Value: "Encoder 9"},
		{Name: "title", Key: "TITLE", Value: "Quiet"},
		{Name: "date", Key: "DATE", Value: "2031-02-28T19:05:07+01:00"},
		{Name: "bench no", Key: "BENCH_NO", Value: "4"},
	}}
	if diff := cmp.Diff(want, open(t, capture.Address{Path: path}).Info().Metadata); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// sound is a FLAC file of 10 s in 100 frames, as bytes, and its samples.
func sound(t testing.TB) ([]byte, []float64) {
	x := noisy(10000, 0, 16, 0.1)
	b := kit.Must(os.ReadFile(flacPath(t, flacfile.Format{Rate: 1000, Bits: 16, Block: 100}, x)))(t)
	return b, x
}

const flacHint = `decode it to WAV, such as by "flac -d", and measure that`

const flacHeader = 4 + 4 + 34 // magic, block header, stream information

// setCount writes the number of samples into the 36 bits that the header has for it.
func setCount(b []byte, n uint64) {
	b[21] = b[21]&0xf0 | byte(n>>32)
	b[22], b[23], b[24], b[25] = byte(n>>24), byte(n>>16), byte(n>>8), byte(n)
}

// frameAt is where the n-th frame of sound begins.
func frameAt(t testing.TB, b []byte, n int) int {
	t.Helper()
	at := flacHeader
	for range n {
		next := bytes.Index(b[at+1:], b[flacHeader:flacHeader+4]) // the same header but for the number
		if next < 0 {
			t.Fatal("no such frame")
		}
		at += 1 + next
	}
	return at
}

func TestBadFLAC(t *testing.T) {
	change := func(f func(b []byte) []byte) []byte {
		b, _ := sound(t)
		return f(b)
	}
	for name, c := range map[string]struct {
		file    []byte
		frames  int    // that can be read; 0: refused when it is opened
		warning string // its code
		wrong   string // the error, when it is opened or read
		hint    string
	}{
		"sound":                    {change(func(b []byte) []byte { return b }), 10000, "", "", ""},
		"behind ID3":               {change(func(b []byte) []byte { return append([]byte("ID3\x04\x00\x00\x00\x00\x00\x05tags!"), b...) }), 10000, "", "", ""},
		"tail of ID3":              {change(func(b []byte) []byte { return append(b, "TAG and some more"...) }), 10000, "", "", ""},
		"count open":               {change(func(b []byte) []byte { setCount(b, 0); return b }), 10000, "open_size", "", ""},
		"count open, bytes behind": {change(func(b []byte) []byte { setCount(b, 0); return append(b, "TAG and some more"...) }), 10000, "open_size", "", ""},
		"count too low": {change(func(b []byte) []byte { setCount(b, 9000); return b }), 9000, "bytes_left_out",
			"its samples do not match the checksum of them that it holds: they are not what was recorded", "record or export it again"},
		"count too high": {change(func(b []byte) []byte { setCount(b, 30000); return b }), 10000, "truncated", "", ""},
		"count all ones": {change(func(b []byte) []byte { setCount(b, 1<<36-1); return b }), 0, "",
			" bytes are said to hold more than 1049 s of samples: nothing but digital silence is packed so small", flacHint},
		"cut at a frame":     {change(func(b []byte) []byte { return b[:frameAt(t, b, 42)] }), 4200, "truncated", "", ""},
		"cut within a frame": {change(func(b []byte) []byte { return b[:frameAt(t, b, 42)+20] }), 4200, "truncated", "", ""},
		"cut in the last frame": {change(func(b []byte) []byte { return b[:len(b)-1] }), 0, "read",
			"it is damaged at 9.900 s (it ends too soon)", `what comes before can be read: add "#t=,9.9" to its address`},
		"a bit turned": {change(func(b []byte) []byte { b[frameAt(t, b, 42)+30] ^= 4; return b }), 0, "read",
			"it is damaged at 4.200 s (", `what comes before can be read: add "#t=,4.2" to its address`},
		"a bit turned in a frame's header": {change(func(b []byte) []byte { b[frameAt(t, b, 42)+4] ^= 1; return b }), 0, "read",
			"it is damaged at 4.200 s (", `what comes before can be read: add "#t=,4.2" to its address`},
		"a frame missing": {change(func(b []byte) []byte {
			from, to := frameAt(t, b, 42), frameAt(t, b, 43)
			return append(b[:from:from], b[to:]...)
		}), 0, "read", "it is damaged at 4.200 s (samples are missing or doubled)", `what comes before can be read: add "#t=,4.2" to its address`},
		"damaged at once":   {change(func(b []byte) []byte { b[flacHeader+20] ^= 4; return b }), 0, "read", "it is damaged at 0.000 s (", "record or export it again"},
		"wrong checksum":    {change(func(b []byte) []byte { b[30] ^= 4; return b }), 0, "read", "its samples do not match the checksum of them that it holds: they are not what was recorded", "record or export it again"},
		"no checksum":       {change(func(b []byte) []byte { clear(b[26:42]); return b }), 10000, "", "", ""},
		"magic alone":       {[]byte("fLaC"), 0, "", "the file ends within its header", "record or export it again"},
		"header cut off":    {change(func(b []byte) []byte { return b[:20] }), 0, "", "its header claims 34 bytes where only 12 follow", "record or export it again"},
		"header alone":      {change(func(b []byte) []byte { return b[:flacHeader] }), 0, "", "it holds no samples", "record or export it again"},
		"a header's claim":  {[]byte("fLaC\x00\xff\xff\xff"), 0, "", "its header claims 16777215 bytes where only 0 follow", "record or export it again"},
		"short information": {[]byte("fLaC\x80\x00\x00\x02\x10\x00"), 0, "", "its header cannot be read (it ends too soon)", "record or export it again"},
		"no information":    {[]byte("fLaC\x81\x00\x00\x01\x10"), 0, "", "its header does not begin with what its samples are, or says it twice", "record or export it again"},
		"information twice": {change(func(b []byte) []byte {
			b[4] &^= 0x80
			return append(b[:flacHeader:flacHeader], b[4:]...)
		}), 0, "", "its header does not begin with what its samples are, or says it twice", "record or export it again"},
		"rate 0":   {change(func(b []byte) []byte { b[18], b[19], b[20] = 0, 0, b[20]&0xf; return b }), 0, "", "its header cannot be read (invalid sample rate (0))", "record or export it again"},
		"rate 100": {change(func(b []byte) []byte { b[18], b[19], b[20] = 0, 6, 0x40|b[20]&0xf; return b }), 0, "", "its sample rate is 100 Hz; 400 Hz to 768 kHz are read", "record or export it again"},
		"32 bits":  {change(func(b []byte) []byte { b[20] |= 1; b[21] |= 0xf0; return b }), 0, "", "its samples have 32 bits; of FLAC 8 to 24 bits are read", flacHint},
		"another rate than its frames": {change(func(b []byte) []byte { b[18], b[19], b[20] = 0x0b, 0xb8, b[20]&0xf; return b }), 0, "",
			"it is damaged at 0.000 s (rate, bits or channels change)", "record or export it again"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.wav") // by its content, not by its name
			kit.OK(t, os.WriteFile(path, c.file, 0o666))
			file, err := capture.Open(capture.Address{Path: path})
			if err == nil {
				if c.frames != 0 && file.Frames() != int64(c.frames) {
					t.Errorf("%d frames, want %d", file.Frames(), c.frames)
				}
				if c.warning != "read" && codes(file.Warnings()) != c.warning {
					t.Errorf("warnings %q, want %s", file.Warnings(), c.warning)
				}
				err = pass(t, file, nil)
			} else if c.frames > 0 || c.warning == "read" {
				t.Errorf("it is not opened")
			}
			if c.wrong == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), c.wrong) || fault.Hint(err) != c.hint {
				t.Errorf("%v (hint %q), want %s (hint %q)", err, fault.Hint(err), c.wrong, c.hint)
			}
			if strings.Contains(c.hint, "#t=,") { // and the hint is good advice
				_, fragment, _ := strings.Cut(c.hint, `"`)
				fragment, _, _ = strings.Cut(fragment, `"`)
				addr := kit.Must(capture.ParseAddress(path + fragment))(t)
				if err := pass(t, open(t, addr), nil); err != nil {
					t.Errorf("as the hint says: %v", err)
				}
			}
		})
	}
}

// What a FLAC file allocates follows from the bytes that it has, and not from what
// they claim: four bytes a sample that its frames can hold, and what its partitions
// are listed in.
func TestFLACDoesNotAllocateByClaims(t *testing.T) {
	kit.Unraced(t)
	files := flacfile.Malformed()
	for name, count := range map[string]uint64{"a count of all ones": 1<<36 - 1, "a count of a million": 1_000_000} {
		b, _ := sound(t)
		setCount(b, count)
		files[name] = b[:frameAt(t, b, 1)]
		files[name+" and no frame"] = b[:flacHeader]
	}
	for name, b := range files {
		path := filepath.Join(t.TempDir(), "a.flac")
		kit.OK(t, os.WriteFile(path, b, 0o666))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		file, err := capture.Open(capture.Address{Path: path})
		runtime.ReadMemStats(&after)
		const frame = 8 * 65535 // samples
		most := 4*(8*uint64(len(b))+1<<20+frame) + 64*uint64(len(b)) + 1<<20
		if used := after.TotalAlloc - before.TotalAlloc; used > min(most, 64<<20) {
			t.Errorf("%s: %d bytes to open %d, at most %d", name, used, len(b), most)
		}
		if err != nil && fault.Hint(err) == "" {
			t.Errorf("%s: no hint with %v", name, err)
		}
		if err == nil {
			if err := pass(t, file, nil); err != nil && fault.Hint(err) == "" {
				t.Errorf("%s: no hint with %v", name, err)
			}
		}
	}
}

// 32-bit samples, which RFC 9639 allows and mewkiz/flac v1.0.14 doesn't decode, are
// refused; and decoded as the hint says they are read.
func TestFLACOf32Bits(t *testing.T) {
	if _, err := exec.LookPath("flac"); err != nil {
		t.Skip("no flac on the path: ", err)
	}
	dir := t.TempDir()
	wav, path, back := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.flac"), filepath.Join(dir, "b.wav")
	want := [][]float64{noisy(9001, 0, 32, 0.3), noisy(9001, 1, 32, 0.3)}
	kit.OK(t, wavfile.Write(wav, wavfile.Format{Rate: 48000, Bits: 32}, want...))
	if out, err := exec.Command("flac", "-s", "-o", path, wav).CombinedOutput(); err != nil {
		t.Skipf("this flac doesn't write 32 bits: %v\n%s", err, out)
	}
	_, err := capture.Open(capture.Address{Path: path})
	if err == nil || err.Error() != path+": its samples have 32 bits; of FLAC 8 to 24 bits are read" || fault.Hint(err) != flacHint {
		t.Fatalf("%v (hint %q)", err, fault.Hint(err))
	}
	if out, err := exec.Command("flac", "-d", "-s", "-o", back, path).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	same(t, readAll(t, open(t, capture.Address{Path: back})), want)
}

func codes(warnings []note.Note) string {
	var all []string
	for _, w := range warnings {
		all = append(all, w.Code)
	}
	return strings.Join(all, " ")
}

// A change during a pass shows in the frames' checksums, one between passes in
// that of the file.
func TestAFLACFileThatChangesIsRefused(t *testing.T) {
	b, _ := sound(t)
	path := filepath.Join(t.TempDir(), "a.flac")
	kit.OK(t, os.WriteFile(path, b, 0o666))
	file := open(t, capture.Address{Path: path, End: 3})
	kit.OK(t, pass(t, file, nil))
	rewrite(t, path, int64(len(b)-5), true) // behind the span: the hash is of the whole file
	for name, err := range map[string]error{"read": pass(t, file, nil), "hashed": hash(file)} {
		if err == nil || !strings.HasSuffix(err.Error(), "the file's samples changed while it was read") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestReadingFLACIsCancelled(t *testing.T) {
	b, _ := sound(t)
	path := filepath.Join(t.TempDir(), "a.flac")
	kit.OK(t, os.WriteFile(path, b, 0o666))
	file := open(t, capture.Address{Path: path})
	ctx, cancel := context.WithCancel(context.Background())
	if err := file.Read(ctx, func([][]float64) error { cancel(); return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// Files from the reference encoder, in all its ways of predicting and joining
// channels; skipped where there is none.
func TestFLACOfTheReferenceEncoder(t *testing.T) {
	kit.Unraced(t)
	if _, err := exec.LookPath("flac"); err != nil {
		t.Skip("no flac on the path: ", err)
	}
	for _, bits := range []int{8, 16, 24} {
		for _, level := range []string{"-0", "-5", "-8"} {
			for _, channels := range []int{1, 2, 5} {
				t.Run(fmt.Sprint(bits, level, channels), func(t *testing.T) {
					rate := 96000
					common := onGrid(20_001, 3, bits)
					var want [][]float64
					for c := range channels { // alike, so that channels are joined
						x := noisy(20_001, c, bits, 0.01)
						for i := 4; i < len(x); i++ {
							x[i] = min(max((x[i]+common[i])/2, -1), 1-math.Ldexp(1, 1-bits))
							x[i] = math.Floor(math.Ldexp(x[i], bits-1)) / math.Ldexp(1, bits-1)
						}
						want = append(want, x)
					}
					wav := filepath.Join(t.TempDir(), "a.wav")
					kit.OK(t, wavfile.Write(wav, wavfile.Format{Rate: rate, Bits: bits, Extensible: channels > 2}, want...))
					path := strings.TrimSuffix(wav, "wav") + "flac"
					if out, err := exec.Command("flac", "-s", "--channel-map=none", level, "-o", path, wav).CombinedOutput(); err != nil {
						t.Fatalf("%v\n%s", err, out)
					}
					file := open(t, capture.Address{Path: path})
					if w := file.Warnings(); len(w) > 0 {
						t.Errorf("%q", w)
					}
					same(t, readAll(t, file), want)
				})
			}
		}
	}
}
