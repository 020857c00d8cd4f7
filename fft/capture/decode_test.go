package capture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
)

func TestDecodeWords(t *testing.T) {
	float32s := format{container: 32, float: true}
	float64s := format{container: 64, float: true}
	for _, c := range []struct {
		format format
		word   string
		want   float64
	}{
		{format{container: 8}, "\x80", 0},
		{format{container: 8}, "\x00", -1},
		{format{container: 8}, "\xff", 127. / 128},
		{format{container: 16}, "\x00\x80", -1},
		{format{container: 16}, "\xff\x7f", 32767. / 32768},
		{format{container: 16}, "\xff\xff", -1. / 32768},
		{format{container: 16}, "\x02\x01", 258. / 32768},
		{format{container: 24}, "\x00\x00\x80", -1},
		{format{container: 24}, "\xff\xff\x7f", 8388607. / 8388608},
		{format{container: 24}, "\xff\xff\xff", -1. / 8388608},
		{format{container: 24}, "\x03\x02\x01", 0x010203 / 8388608.},
		{format{container: 24, bits: 20}, "\x10\x00\x00", 1. / 524288}, // the least step of 20 bits
		{format{container: 32}, "\x00\x00\x00\x80", -1},
		{format{container: 32}, "\xff\xff\xff\x7f", 2147483647. / 2147483648},
		{format{container: 32}, "\x04\x03\x02\x01", 0x01020304 / 2147483648.},
		{format{container: 32, bits: 24}, "\x00\x01\x00\x00", 1. / 8388608}, // the least step of 24 bits
		// IEEE 754: 1.0, -0.5, the largest single below 1
		{float32s, "\x00\x00\x80\x3f", 1},
		{float32s, "\x00\x00\x00\xbf", -.5},
		{float32s, "\xff\xff\x7f\x3f", 1 - 0x1p-24},
		{float64s, "\x00\x00\x00\x00\x00\x00\xf0\x3f", 1},
		{float64s, "\x00\x00\x00\x00\x00\x00\xe0\xbf", -.5},
		{float64s, "\xff\xff\xff\xff\xff\xff\xef\x3f", 1 - 0x1p-53},
	} {
		dst := []float64{math.NaN()}
		decoderFor(c.format)(dst, []byte(c.word+"\xa5"), 0) // the byte of slack must not matter
		kit.Same(t, dst[0], c.want, "%d bits, float %t, % x", c.format.container, c.format.float, c.word)
	}
}

func TestDecodeCountsWhatIsNoNumber(t *testing.T) {
	single := []float32{0.5, float32(math.NaN()), float32(math.Inf(1)), -0.25, float32(math.Inf(-1)), 2e12, 1e12, -3}
	want := []float64{0.5, 0, 0, -0.25, 0, 0, float64(float32(1e12)), -3}
	var words32, words64 string
	for _, x := range single {
		words32 += le32(math.Float32bits(x))
		words64 += le64(math.Float64bits(float64(x)))
	}
	for bits, words := range map[int]string{32: words32, 64: words64} {
		got := make([]float64, len(want))
		decoderFor(format{container: bits, float: true})(got, []byte(words+"\x00\x00"), bits/8)
		if bad, first := finite(got); bad != 4 || first != 1 || fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%d bits: %v, %d bad from %d; want %v, 4 from 1", bits, got, bad, first, want)
		}
	}
}

// slowDecode is the definition: the word's bytes, least first, as a two's complement
// number over 2^(bits−1); 8 bits as offset binary.
func slowDecode(word []byte) float64 {
	var v, scale float64 = 0, 1
	for _, b := range word {
		v += float64(b) * scale
		scale *= 256
	}
	if len(word) == 1 {
		v -= scale / 2
	} else if v >= scale/2 {
		v -= scale
	}
	return v / (scale / 2)
}

// checkWords holds each channel's words against the definition; the bytes are at the
// end of what may be read.
func checkWords(t *testing.T, src []byte, size, channels int) {
	t.Helper()
	frames := len(src) / (size * channels)
	padded := append(bytes.Clone(src[:frames*size*channels]), 0xa5, 0x5a)
	for c := range channels {
		if frames == 0 {
			return
		}
		dst := make([]float64, frames)
		decoderFor(format{container: 8 * size})(dst, padded[c*size:len(padded):len(padded)], channels*size)
		for i, got := range dst {
			at := (i*channels + c) * size
			if want := slowDecode(padded[at : at+size]); got != want {
				t.Fatalf("%d bytes, channel %d of %d, word %d of %d: %v, want %v", size, c+1, channels, i, frames, got, want)
			}
		}
	}
}

func TestDecodeLengths(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for size := 1; size <= 4; size++ {
		for _, channels := range []int{1, 2, 3, 8} {
			for n := range 40 {
				src := make([]byte, n*channels*size)
				for i := range src {
					src[i] = byte(r.Uint32())
				}
				checkWords(t, src, size, channels)
			}
		}
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte("\x80\x00\x00\x00\x80\xff\xff\xff\x7f\xff\xff\xff"), uint8(3), uint8(2))
	f.Add([]byte("some more bytes to be taken for samples"), uint8(1), uint8(1))
	f.Add([]byte("\x00\x00\xc0\x7f\x00\x00\x80\xff"), uint8(4), uint8(1))
	f.Fuzz(func(t *testing.T, src []byte, word, channels uint8) {
		checkWords(t, src, int(word%4)+1, int(channels%5)+1)
		for _, bits := range []int{32, 64} {
			dst := make([]float64, len(src)/(bits/8))
			decoderFor(format{container: bits, float: true})(dst, append(bytes.Clone(src), 0, 0), bits/8)
			bad, first := finite(dst)
			for i, x := range dst {
				if !(math.Abs(x) <= maxMagnitude) || bad > 0 && i == first && x != 0 {
					t.Fatalf("%d-bit float %d is %v (%d bad from %d)", bits, i, x, bad, first)
				}
			}
		}
	})
}

// Files that are wrong in one way each, opened and read to the end: each is read
// right, with a warning that says what was mended, or refused with its name, the
// reason and a hint. scan_test.go has those that only the header decides, flac_test.go
// those of FLAC, access_linux_test.go and unchanged_test.go what isn't in the bytes.
func TestBadFiles(t *testing.T) {
	t.Parallel()
	ramp := make([]float64, 1000)
	var data, floats, doubles string
	for i := range ramp {
		ramp[i] = float64(i-500) / 32768
		data += le16(uint16(int16(i - 500)))
		floats += le32(math.Float32bits(float32(ramp[i])))
		doubles += le64(math.Float64bits(ramp[i]))
	}
	whole := riff(pcm16, chunk("data", data))
	float32s := chunk("fmt ", fmtBody(tagFloat, 1, 1000, 4, 32)+le16(0))
	holes := le32(0x7fc00000) + le32(0x7f800000) + le32(0xff800000) + floats[12:] // NaN, +Inf, -Inf
	ext := func(bits, sub uint16, body string) string {
		return riff(chunk("fmt ", fmtBody(tagExtensible, 1, 1000, bits/8, bits)+extension(bits, sub, subFormatTail)), chunk("data", body))
	}
	id3 := func(size int) string {
		return "ID3\x04\x00\x00\x00\x00" + string([]byte{byte(size >> 7), byte(size & 0x7f)}) + strings.Repeat("t", size)
	}
	rf64 := func(size uint64) string {
		return "RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(0)+le64(size)+le64(0)+le32(0)) + pcm16 + "data\xff\xff\xff\xff" + data
	}
	for name, c := range map[string]struct {
		file    string
		frames  int    // that are read as they were written; 0: refused
		warning string // codes
		wrong   string
	}{
		"sound": {whole, 1000, "", ""},

		// Junk.
		"JUNK before fmt":            {riff(chunk("JUNK", strings.Repeat("\x00", 28)), pcm16, chunk("data", data)), 1000, "", ""},
		"odd junk before fmt":        {riff(chunk("junk", "\xff\xfe\xfd"), chunk("\x01\x02\x03\x04", "odd"), pcm16, chunk("data", data)), 1000, "", ""},
		"bytes before fmt":           {riff("garbage and more", pcm16, chunk("data", data)), 0, "", `its "garb" chunk claims 543516513 bytes`},
		"a tag before RIFF":          {id3(300) + whole, 1000, "tag_left_out", ""},
		"a tag of odd length before": {id3(7) + whole, 1000, "tag_left_out", ""},
		"a tag that claims":          {"ID3\x04\x00\x00\x7f\x7f\x7f\x7f" + whole, 0, "", "not a WAV or FLAC file but an MP3 file"},
		"bytes before RIFF":          {"\x00\x00\x00" + whole, 0, "", "not a WAV or FLAC file"},
		"garbage behind":             {whole + strings.Repeat("\xa5", 4001), 1000, "bytes_left_out", ""},
		"a tag behind":               {whole + "TAG" + strings.Repeat(" ", 125), 1000, "bytes_left_out", ""},

		// Sizes that lie.
		"a fmt chunk two bytes short of its claim": {riff("fmt "+le32(18)+pcm16[8:], chunk("data", data)), 0, "", "chunk claims"},
		"a LIST shorter than it says":              {riff("LIST"+le32(400)+"INFO", pcm16, chunk("data", data)), 0, "", "claims"},
		"a LIST longer than it says":               {riff("LIST"+le32(4)+"INFOICMT"+le32(2)+"ab", pcm16, chunk("data", data)), 1000, "", ""},
		"data one byte longer than it is":          {riff(pcm16, "data"+le32(2001)+data), 1000, "truncated", ""},
		"RF64, ds64 says nothing":                  {rf64(0), 1000, "open_size", ""},
		"RF64, ds64 says too little":               {rf64(1000), 500, "bytes_left_out", ""},
		"RF64, ds64 says too much":                 {rf64(1 << 50), 1000, "truncated", ""},
		"RF64, ds64 behind the data": {"RF64\xff\xff\xff\xffWAVE" + pcm16 + "data" + le32(2000) + data +
			chunk("ds64", le64(0)+le64(2000)+le64(0)+le32(0)), 1000, "", ""},
		"RIFF with a ds64": {riff(chunk("ds64", le64(0)+le64(4)+le64(0)+le32(0)), pcm16, chunk("data", data)), 1000, "", ""},

		// Formats.
		"8 bits":                 {riff(chunk("fmt ", fmtBody(tagPCM, 1, 1000, 1, 8)), chunk("data", "\x80\x81\x82")), -3, "", ""},
		"64-bit float":           {riff(chunk("fmt ", fmtBody(tagFloat, 1, 1000, 8, 64)+le16(0)), chunk("data", doubles)), 1000, "", ""},
		"extensible float":       {ext(32, tagFloat, floats), 1000, "", ""},
		"extensible PCM":         {ext(16, tagPCM, data), 1000, "", ""},
		"extensible A-law":       {ext(8, 6, data), 0, "", "its samples are coded as A-law"},
		"extensible extensible":  {ext(16, tagExtensible, data), 0, "", "its samples are coded as format 0xfffe"},
		"extensible without tag": {ext(16, 0, data), 0, "", "its samples are coded as format 0x0000"},
		"another GUID": {riff(chunk("fmt ", fmtBody(tagExtensible, 1, 1000, 2, 16)+extension(16, tagPCM, "\x00\x00\x21\x07\xd3\x11\x86\x44\xc8\xc1\xca\x00\x00\x00")),
			chunk("data", data)), 0, "", "its samples are in an unknown sub-format"},
		"16-bit float, extensible": {ext(16, tagFloat, data), 0, "", "its samples are 16-bit float, which is not read"},
		"NaN and infinite":         {riff(float32s, chunk("data", holes)), -1000, "not_finite", ""},
		"nothing but NaN":          {riff(float32s, chunk("data", strings.Repeat(le32(0x7fc00000), 100))), -100, "not_finite", ""},

		// Other formats, named .wav.
		"AIFF":             {"FORM\x00\x00\x00\x22AIFFCOMM", 0, "", "but an AIFF file"},
		"Ogg":              {"OggS\x00\x02" + strings.Repeat("\x00", 22) + "\x01vorbis", 0, "", "but an Ogg file"},
		"Ogg with FLAC":    {"OggS\x00\x02" + strings.Repeat("\x00", 22) + "\x7fFLAC\x01\x00", 0, "", "but a FLAC stream in an Ogg file"},
		"MP3":              {"\xff\xfb\x90\x64" + strings.Repeat("\x00", 100), 0, "", "but an MP3 file"},
		"MP3 with a tag":   {id3(100) + "\xff\xfb\x90\x64" + strings.Repeat("\x00", 100), 0, "", "but an MP3 file"},
		"MP3, half rate":   {"\xff\xf3\x48\xc4" + strings.Repeat("\x00", 100), 0, "", "but an MP3 file"},
		"AAC":              {"\xff\xf1\x50\x80\x00\x1f\xfc", 0, "", "but an AAC file"},
		"Windows Media":    {"\x30\x26\xb2\x75\x8e\x66\xcf\x11", 0, "", "but a Windows Media file"},
		"WebM":             {"\x1a\x45\xdf\xa3\x9f\x42\x86\x81", 0, "", "but a Matroska or WebM file"},
		"one bit":          {"DSD \x1c\x00\x00\x00", 0, "", "but a one-bit (DSD) file"},
		"a page":           {"<!DOCTYPE html><html><body>404</body></html>", 0, "", "but a web page"},
		"packed":           {"\x1f\x8b\x08\x00\x00\x00\x00\x00", 0, "", "but a gzip archive"},
		"ones":             {strings.Repeat("\xff", 100), 0, "", "not a WAV or FLAC file"},
		"UTF-16":           {"\xff\xfeh\x00u\x00m\x00", 0, "", "not a WAV or FLAC file"},
		"WAV with a video": {"RIFF\x00\x10\x00\x00AVI LIST", 0, "", `a RIFF file, but of type "AVI "`},
	} {
		for _, as := range []string{"a.wav", "a.flac", "name with \n|<b>=1.WAV"} { // the name decides nothing
			path := filepath.Join(t.TempDir(), as)
			kit.OK(t, os.WriteFile(path, []byte(c.file), 0o666))
			got, warnings, err := readWhole(path)
			if c.frames == 0 {
				var e *fault.Error
				if !errors.As(err, &e) || e.File != path || !strings.Contains(e.What, c.wrong) || e.Hint == "" {
					t.Errorf("%s: %v (hint %q), want %s", name, err, fault.Hint(err), c.wrong)
				}
				continue
			}
			if err != nil || warnings != c.warning {
				t.Errorf("%s: %v, warnings %q, want %q", name, err, warnings, c.warning)
			}
			if c.frames > 0 && !slices.Equal(got, ramp[:c.frames]) {
				t.Errorf("%s: %d samples, want the first %d that were written", name, len(got), c.frames)
			} else if c.frames < 0 && len(got) != -c.frames {
				t.Errorf("%s: %d samples, want %d", name, len(got), -c.frames)
			}
		}
	}
}

// readWhole reads a file of one channel and says which warnings it has then.
func readWhole(path string) (x []float64, warnings string, err error) {
	file, err := Open(Address{Path: path, End: math.Inf(1)})
	if err != nil {
		return nil, "", err
	}
	if err := Each(context.Background(), file, nil, func(frames [][]float64) { x = append(x, frames[0]...) }); err != nil {
		return nil, "", err
	}
	var codes []string
	for _, w := range file.Warnings() {
		codes = append(codes, w.Code)
	}
	return x, strings.Join(codes, " "), nil
}
