package capture_test

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"sync"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
	"github.com/google/go-cmp/cmp"
)

// formats are all the writer knows, with the bits whose grid it rounds to.
var formats = []struct {
	wavfile.Format
	grid int // bits of the integer grid test values lie on
	text string
}{
	{wavfile.Format{Bits: 8}, 8, "8-bit PCM"},
	{wavfile.Format{Bits: 16}, 16, "16-bit PCM"},
	{wavfile.Format{Bits: 24}, 24, "24-bit PCM"},
	{wavfile.Format{Bits: 32}, 32, "32-bit PCM"},
	{wavfile.Format{Bits: 32, Float: true}, 24, "32-bit float"},
	{wavfile.Format{Bits: 64, Float: true}, 53, "64-bit float"},
	{wavfile.Format{Bits: 8, Extensible: true}, 8, "8-bit PCM"},
	{wavfile.Format{Bits: 16, Extensible: true}, 16, "16-bit PCM"},
	{wavfile.Format{Bits: 16, Extensible: true, ValidBits: 12}, 12, "12-bit PCM in 16-bit words"},
	{wavfile.Format{Bits: 24, Extensible: true, ValidBits: 20}, 20, "20-bit PCM in 24-bit words"},
	{wavfile.Format{Bits: 32, Extensible: true, ValidBits: 24}, 24, "24-bit PCM in 32-bit words"},
	{wavfile.Format{Bits: 32, Extensible: true}, 32, "32-bit PCM"},
	{wavfile.Format{Bits: 32, Extensible: true, Float: true}, 24, "32-bit float"},
	{wavfile.Format{Bits: 64, Extensible: true, Float: true}, 53, "64-bit float"},
}

// onGrid makes n values of steps of 2^-(bits−1), both ends of the range among them.
func onGrid(n, channel, bits int) []float64 {
	full := math.Ldexp(1, bits-1)
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Round(full*math.Sin(float64(3*i*(channel+1)+channel))*0.9) / full
	}
	x[0], x[1], x[2], x[3] = -1, (full-1)/full, 0, 1/full
	return x
}

func TestEveryFormatComesBackExactly(t *testing.T) {
	const frames = 5001 // odd, so that 8 and 24 bit mono need a pad byte
	for _, f := range formats {
		for _, channels := range []int{1, 2, 5} {
			for _, rf64 := range []bool{false, true} {
				format := f.Format
				format.Rate, format.RF64 = 96000, rf64
				t.Run(fmt.Sprintf("%+v/%d", format, channels), func(t *testing.T) {
					want := make([][]float64, channels)
					for c := range want {
						want[c] = onGrid(frames, c, f.grid)
					}
					path := filepath.Join(t.TempDir(), "a.wav")
					kit.OK(t, wavfile.Write(path, format, want...))
					file := open(t, capture.Address{Path: path})
					wantInfo := capture.Info{Path: path, Format: f.text, Rate: 96000, Bits: validBits(format), Float: format.Float,
						Channels: channels, FileFrames: frames, EndS: frames / 96000., FirstChannel: 1, Container: "RIFF"}
					if rf64 {
						wantInfo.Container = "RF64"
					}
					if diff := cmp.Diff(wantInfo, file.Info()); diff != "" {
						t.Errorf("info (-want +got):\n%s", diff)
					}
					if w := file.Warnings(); len(w) > 0 {
						t.Errorf("warnings %v", w)
					}
					same(t, readAll(t, file), want)
				})
			}
		}
	}
}

func validBits(f wavfile.Format) int {
	if f.ValidBits > 0 {
		return f.ValidBits
	}
	return f.Bits
}

func open(t testing.TB, addr capture.Address) *capture.File {
	t.Helper()
	return kit.Must(capture.Open(addr))(t)
}

// readAll reads a source and checks what it says about itself.
func readAll(t testing.TB, s capture.Source) [][]float64 {
	t.Helper()
	out := make([][]float64, s.Channels())
	kit.OK(t, s.Read(context.Background(), func(frames [][]float64) error {
		for c, x := range frames {
			out[c] = append(out[c], x...)
		}
		return nil
	}))
	for c := range out {
		if int64(len(out[c])) != s.Frames() {
			t.Fatalf("channel %d has %d frames, source says %d", c+1, len(out[c]), s.Frames())
		}
	}
	return out
}

func same(t testing.TB, got, want [][]float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d channels, want %d", len(got), len(want))
	}
	for c := range want {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("channel %d: %d frames, want %d", c+1, len(got[c]), len(want[c]))
		}
		for i := range want[c] {
			if got[c][i] != want[c][i] {
				t.Fatalf("channel %d frame %d: %v, want %v", c+1, i, got[c][i], want[c][i])
			}
		}
	}
}

// threeChannels is a file of 1 kHz, 3 channels, 2.5 s, every sample its own value.
func threeChannels(t testing.TB) (path string, samples [][]float64) {
	samples = make([][]float64, 3)
	for c := range samples {
		for i := range 2500 {
			samples[c] = append(samples[c], float64(i*3+c-4000)/32768)
		}
	}
	path = filepath.Join(t.TempDir(), "three.wav")
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 1000, Bits: 16}, samples...))
	return path, samples
}

func TestSpansAndChannels(t *testing.T) {
	path, all := threeChannels(t)
	for _, c := range []struct {
		fragment       string
		from, to       int // frames
		first, channel int // of the file, and how many
	}{
		{"", 0, 2500, 1, 3},
		{"#ch=1", 0, 2500, 1, 1},
		{"#ch=3", 0, 2500, 3, 1},
		{"#t=1", 1000, 2500, 1, 3},
		{"#t=,1", 0, 1000, 1, 3},
		{"#t=0.5,2.25&ch=2", 500, 2250, 2, 1},
		{"#t=0,2.5", 0, 2500, 1, 3},
		{"#t=2.499", 2499, 2500, 1, 3},
		{"#t=0.0014,0.0016", 1, 2, 1, 3}, // ends go to the nearest frame
		{"#t=0,2.5004", 0, 2500, 1, 3},   // less than half a frame past the end
	} {
		addr := kit.Must(capture.ParseAddress(path + c.fragment))(t)
		file := open(t, addr)
		info := file.Info()
		if info.StartS != float64(c.from)/1000 || info.EndS != float64(c.to)/1000 || info.FirstChannel != c.first ||
			info.FileFrames != 2500 || info.Channels != 3 || file.Channels() != c.channel || file.Rate() != 1000 {
			t.Errorf("%s: %+v, %d channels", c.fragment, info, file.Channels())
		}
		var want [][]float64
		for _, x := range all[c.first-1 : c.first-1+c.channel] {
			want = append(want, x[c.from:c.to])
		}
		same(t, readAll(t, file), want)
	}
}

// The reader's own blocks must not show.
func TestLongReadsAcrossTheReadersOwnBlocks(t *testing.T) {
	const frames = 100_003 // more than 24 of the reader's blocks
	want := [][]float64{onGrid(frames, 0, 24), onGrid(frames, 1, 24), onGrid(frames, 2, 24)}
	path := filepath.Join(t.TempDir(), "a.wav")
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 48000, Bits: 24}, want...))
	file := open(t, capture.Address{Path: path})
	same(t, readAll(t, file), want)
}

func TestOpenRefuses(t *testing.T) {
	path, _ := threeChannels(t)
	folder := t.TempDir()
	text := filepath.Join(folder, "notes.wav")
	kit.OK(t, os.WriteFile(text, []byte("not a wav file at all"), 0o666))
	gone := filepath.Join(folder, "gone.wav")
	for name, c := range map[string]struct {
		addr       capture.Address
		what, hint string
	}{
		"missing":              {capture.Address{Path: gone}, "there is no such file", "check the name and the folder"},
		"unknown fragment":     {capture.Address{Path: gone + "#channel=2"}, "there is no such file", `write "take.wav#t=10,20&ch=1": seconds 10 to 20 of channel 1; "t=10" runs to the end, "t=,20" from the start`},
		"folder":               {capture.Address{Path: folder}, "a folder, not a file", "name a WAV or FLAC file in it"},
		"not WAV":              {capture.Address{Path: text}, "not a WAV or FLAC file", "convert it to uncompressed WAV (PCM or float) or to FLAC, with any audio editor or converter"},
		"channel 4 of 3":       {capture.Address{Path: path, Channel: 4}, "there is no channel 4: it has 3", "channels count from 1"},
		"channel -1":           {capture.Address{Path: path, Channel: -1}, "there is no channel -1: it has 3", "channels count from 1"},
		"start past the end":   {capture.Address{Path: path, Start: 2.5, End: inf}, "the span starts at 2.5 s, but the file is 2.500 s long", "choose a span within the file"},
		"end past the end":     {capture.Address{Path: path, Start: 1, End: 2.501}, "the span ends at 2.501 s, but the file is 2.500 s long", "leave the end out to read up to the file's end"},
		"far past the end":     {capture.Address{Path: path, Start: 1, End: 1e308}, "the span ends at " + decimal(1e308) + " s, but the file is 2.500 s long", "leave the end out to read up to the file's end"},
		"backwards":            {capture.Address{Path: path, Start: 2, End: 1}, "the span from 2 s to 1 s is empty", "an end comes after its start"},
		"negative":             {capture.Address{Path: path, Start: -1, End: 1}, "the span from -1 s to 1 s is empty", "an end comes after its start"},
		"NaN":                  {capture.Address{Path: path, Start: math.NaN(), End: 1}, "the span from NaN s to 1 s is empty", "an end comes after its start"},
		"shorter than a frame": {capture.Address{Path: path, Start: 1, End: 1.0004}, "the span from 1 s to 1.0004 s holds no sample", "choose a longer span"},
	} {
		_, err := capture.Open(c.addr)
		var e *fault.Error
		if !errors.As(err, &e) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if e.File != c.addr.Path || e.What != c.what || e.Hint != c.hint || e.Error() != c.addr.Path+": "+c.what {
			t.Errorf("%s: %q, hint %q; want %q, hint %q", name, e, e.Hint, c.what, c.hint)
		}
	}
	if _, err := capture.Open(capture.Address{Path: gone}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the cause is lost: %v", err)
	}
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// buffers for one read of a source.
func TestAFileThatBecomesShorterIsNoticed(t *testing.T) {
	path := longFile(t)
	file := open(t, capture.Address{Path: path})
	cut := sync.OnceFunc(func() { kit.OK(t, os.Truncate(path, 100_000)) })
	err := pass(t, file, cut)
	want := path + ": the file has become shorter while it was read: 100000 bytes, 150044 before"
	if err == nil || err.Error() != want || fault.Hint(err) == "" {
		t.Errorf("%v, want %s", err, want)
	}
	kit.OK(t, os.Remove(path))
	if err := pass(t, file, nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that has gone: %v", err)
	}
}

func TestReadingIsCancelled(t *testing.T) {
	path := longFile(t)
	for name, s := range map[string]capture.Source{
		"file":   open(t, capture.Address{Path: path}),
		"memory": capture.Samples(1000, make([]float64, 9000)),
	} {
		ctx, cancel := context.WithCancel(context.Background())
		n := 0
		err := s.Read(ctx, func([][]float64) error { n++; cancel(); return nil })
		if n != 1 || !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %d blocks, %v", name, n, err)
		}
		if err := s.Read(ctx, func([][]float64) error { n++; return nil }); n != 1 || !errors.Is(err, context.Canceled) {
			t.Errorf("%s is read after cancel: %v", name, err)
		}
	}
}

// Whoever takes the samples may end the reading, with an error of his own.
func TestReadingIsEnded(t *testing.T) {
	path := longFile(t)
	for name, s := range map[string]capture.Source{
		"file":   open(t, capture.Address{Path: path}),
		"part":   capture.Pick(open(t, capture.Address{Path: path}), 2, 0),
		"memory": capture.Samples(1000, make([]float64, 9000)),
	} {
		n, enough := 0, errors.New("enough")
		if err := s.Read(context.Background(), func([][]float64) error { n++; return enough }); n != 1 || err != enough {
			t.Errorf("%s: %d blocks, %v", name, n, err)
		}
	}
}

func TestSamples(t *testing.T) {
	want := [][]float64{onGrid(1000, 0, 16), onGrid(1000, 1, 16)}
	s := capture.Samples(8000, want...)
	if s.Rate() != 8000 || s.Channels() != 2 || s.Frames() != 1000 {
		t.Errorf("%d Hz, %d channels, %d frames", s.Rate(), s.Channels(), s.Frames())
	}
	same(t, readAll(t, s), want)
	if none := capture.Samples(8000); none.Channels() != 0 || none.Frames() != 0 {
		t.Error("no channels hold samples")
	}
	defer func() {
		if recover() == nil {
			t.Error("unequal channels pass")
		}
	}()
	capture.Samples(8000, make([]float64, 2), make([]float64, 3))
}

func TestManyReadersAtOnce(t *testing.T) {
	path, want := threeChannels(t)
	file := open(t, capture.Address{Path: path})
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() { same(t, readAll(t, file), want) })
	}
	wg.Wait()
}

func TestNumbersThatAreNone(t *testing.T) {
	left, right := make([]float64, 60_000), make([]float64, 60_000)
	left[50_000], left[50_001], left[59_999] = math.NaN(), math.Inf(1), 1e13
	right[49_999] = -math.MaxFloat64
	path := filepath.Join(t.TempDir(), "a.wav")
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 1000, Bits: 64, Float: true}, left, right))
	for fragment, want := range map[string]string{
		"":           "[not_finite samples=4 first_s=49.999 channel=2]",
		"#ch=1":      "[not_finite samples=3 first_s=50 channel=1]",
		"#t=50.5,59": "[]",
		"#t=50.001":  "[not_finite samples=2 first_s=50.001 channel=1]",
	} {
		addr := kit.Must(capture.ParseAddress(path + fragment))(t)
		file := open(t, addr)
		if w := file.Warnings(); len(w) > 0 {
			t.Errorf("%q: %v before anything was read", fragment, w)
		}
		for range 2 { // a second pass counts nothing twice
			for _, x := range readAll(t, file) {
				for i, v := range x {
					if v != 0 {
						t.Fatalf("%q: frame %d is %v", fragment, i, v)
					}
				}
			}
			kit.Same(t, fmt.Sprint(file.Warnings()), want, "%q", fragment)
		}
	}
}

func TestMendedHeadersWarn(t *testing.T) {
	path, want := threeChannels(t)
	kit.OK(t, os.Truncate(path, 44+1000*6+3))
	file := open(t, capture.Address{Path: path})
	if got, want := fmt.Sprint(file.Warnings()), "[truncated promised_s=2.5 read_s=1]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	same(t, readAll(t, file), [][]float64{want[0][:1000], want[1][:1000], want[2][:1000]})
}

// Neither opening nor reading may cost memory by the length of the file.
func TestMemoryDoesNotGrowWithLength(t *testing.T) {
	const size = 2_000_000_000
	path := filepath.Join(t.TempDir(), "long.wav")
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 96000, Bits: 16}, []float64{0.5}, []float64{-0.5}))
	f := kit.Must(os.OpenFile(path, os.O_RDWR, 0))(t)
	defer f.Close()
	if err := f.Truncate(44 + size); err != nil { // a sparse file
		t.Skip("no room for a sparse file: ", err)
	}
	for at, v := range map[int64]uint32{4: 36 + size, 40: size} {
		kit.Must(f.WriteAt(binary.LittleEndian.AppendUint32(nil, v), at))(t)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	file := open(t, capture.Address{Path: path, Start: 5000})
	kit.Same(t, file.Info().FileFrames, size/4, "frames")
	enough, blocks := errors.New("enough"), 0
	if err := file.Read(context.Background(), func([][]float64) error {
		if blocks++; blocks == 500 {
			return enough
		}
		return nil
	}); err != enough {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if used := after.TotalAlloc - before.TotalAlloc; used > 1<<20 {
		t.Errorf("%d bytes allocated for 500 reads", used)
	}
}

// FIPS 180-4: the digest of "abc".
func TestHash(t *testing.T) {
	path := filepath.Join(t.TempDir(), "abc")
	kit.OK(t, os.WriteFile(path, []byte("abc"), 0o666))
	const want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if got, err := capture.Hash(context.Background(), path); got != want || err != nil {
		t.Errorf("%s, %v", got, err)
	}
	if _, err := capture.Hash(context.Background(), path+"x"); !errors.Is(err, fs.ErrNotExist) || err.Error() != path+"x: there is no such file" {
		t.Errorf("missing file: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := capture.Hash(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// Files from an encoder that isn't ours.
func TestFilesOfAnotherEncoder(t *testing.T) {
	for _, bits := range []int{16, 24, 32} {
		for _, channels := range []int{1, 2, 3} {
			t.Run(fmt.Sprintf("%d/%d", bits, channels), func(t *testing.T) {
				want := make([][]float64, channels)
				for c := range want {
					want[c] = onGrid(1001, c, bits)
				}
				path := filepath.Join(t.TempDir(), "a.wav")
				encodeElsewhere(t, path, bits, want)
				file := open(t, capture.Address{Path: path})
				if w := file.Warnings(); len(w) > 0 {
					t.Errorf("%q", w)
				}
				same(t, readAll(t, file), want)
			})
		}
	}
}

// encodeElsewhere writes plain PCM with go-audio/wav, a LIST chunk after the data
// (without a pad byte between: that encoder forgets it).
func encodeElsewhere(t *testing.T, path string, bits int, x [][]float64) {
	f := kit.Must(os.Create(path))(t)
	defer f.Close()
	e := wav.NewEncoder(f, 48000, bits, len(x), 1)
	e.Metadata = &wav.Metadata{Artist: "Bench 4", Comments: "quiet"}
	buf := audio.IntBuffer{Format: &audio.Format{NumChannels: len(x), SampleRate: 48000}}
	for i := range x[0] {
		for c := range x {
			buf.Data = append(buf.Data, int(math.Ldexp(x[c][i], bits-1)))
		}
	}
	kit.OK(t, e.Write(&buf))
	kit.OK(t, e.Close())
}
