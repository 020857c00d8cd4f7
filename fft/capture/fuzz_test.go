package capture

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"humdiff/fft/fault"
	"humdiff/fixtures/flacfile"
	"humdiff/fixtures/wavfile"

	"humdiff/fixtures/kit"
)

// flacSeed is a small FLAC file.
func flacSeed(f *testing.F, bits, channels int) []byte {
	f.Helper()
	var x [][]float64
	for c := range channels {
		samples := make([]float64, 600)
		for i := range samples {
			samples[i] = 0.3 * math.Sin(float64(i*(c+1)))
		}
		x = append(x, samples)
	}
	path := filepath.Join(f.TempDir(), "a.flac")
	format := flacfile.Format{Rate: 48000, Bits: bits, Block: 256, Vendor: "Encoder 9", Comments: [][2]string{{"DATE", "2031-02-28"}}}
	kit.OK(f, flacfile.Write(path, format, x...))
	return kit.Must(os.ReadFile(path))(f)
}

// FuzzFLAC reads a whole file, header, metadata and frames: nothing may crash, and
// no more samples come than the header was taken to promise.
func FuzzFLAC(f *testing.F) {
	for _, c := range [][2]int{{8, 1}, {16, 2}, {24, 3}} {
		b := flacSeed(f, c[0], c[1])
		f.Add(b)
		f.Add(b[:len(b)-100])
		f.Add(append([]byte("ID3\x04\x00\x00\x00\x00\x00\x00"), b...))
		open := bytes.Clone(b)
		clear(open[22:26]) // how many samples it has
		f.Add(open)
	}
	f.Add([]byte("fLaC\x80\x00\x00\x22"))
	for _, b := range flacfile.Malformed() {
		if len(b) < 4000 {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		r := bytes.NewReader(file)
		start, magic := behindID3(r)
		if magic != flacMagic {
			return
		}
		l, err := scanFLAC(r, start, int64(len(file)))
		if err != nil {
			var e *fault.Error
			if !errors.As(err, &e) || e.Hint == "" {
				t.Fatalf("an error without a hint: %v", err)
			}
			return
		}
		most := max(freeSamples, packedSamples*len(file))
		if l.frames() <= 0 || l.frames()*int64(l.format.channels) > int64(most) || l.offset > int64(len(file)) {
			t.Fatalf("%d frames of %d channels from %d bytes", l.frames(), l.format.channels, len(file))
		}
		readMetadata(r, l.texts, l.format.rate)
		frames := newFLACFrames(io.NewSectionReader(r, l.offset, int64(len(file))-l.offset), l)
		for frames.done < uint64(l.frames()) {
			block, err := frames.next()
			if err != nil {
				return
			}
			for _, s := range block.Subframes {
				if len(s.Samples) != int(block.BlockSize) {
					t.Fatalf("%d samples in a block of %d", len(s.Samples), block.BlockSize)
				}
			}
		}
	})
}

// FuzzMetadata takes bytes for each kind of chunk that holds metadata: texts are
// few, short and sound, and dates lie in the years that recordings come from.
func FuzzMetadata(f *testing.F) {
	f.Add(wavfile.Info("ICMT", "bench 4", "ICRD", "2031-03-01", "IDIT", "Fri Feb 28 19:05:07 2031").Body)
	f.Add([]byte("INFOICMT\x03\x00\x00\x00abcINAM\x04\x00\x00\x00name"))
	f.Add([]byte("INFOICMT\xff\xff\xff\xffabc"))
	f.Add(wavfile.Broadcast{Description: "Quiet", Originator: "R\xe9corder", SinceMidnight: 48000, History: "A=PCM"}.Chunk().Body)
	f.Add([]byte("\x04\x00\x00\x00Enc9\x02\x00\x00\x00\x0f\x00\x00\x00DATE=2031-02-28\x07\x00\x00\x00TITLE=x"))
	f.Add([]byte(strings.Repeat("\xff", 400)))
	f.Fuzz(func(t *testing.T, body []byte) {
		for _, id := range []string{"LIST", "bext", vorbisComment} {
			m := readMetadata(bytes.NewReader(body), []place{{id, 0, int64(len(body))}}, 48000)
			if len(m.Texts) > maxTexts {
				t.Fatalf("%d texts", len(m.Texts))
			}
			for _, text := range m.Texts {
				if text.Value == "" || text.Name == "" || !utf8.ValidString(text.Value) || !utf8.ValidString(text.Name) ||
					len(text.Value) > 2*maxTextBytes || len(text.Name) > maxTextKey {
					t.Fatalf("%q", text)
				}
			}
			if y := m.Recorded.Year(); !m.Recorded.IsZero() && (y < 1900 || y > 2200 || m.Source == "") || m.Recorded.IsZero() && m.Source != "" {
				t.Fatalf("recorded %v, by %q", m.Recorded, m.Source)
			}
		}
	})
}
