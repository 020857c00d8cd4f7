package capture_test

import (
	"bytes"
	"encoding/binary"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"time"

	"humdiff/fft/capture"
	"humdiff/fixtures/wavfile"

	"github.com/google/go-cmp/cmp"
)

// described is a sound file with chunks beside its samples.
func described(t testing.TB, before, after []wavfile.Chunk) *capture.File {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.wav")
	f := wavfile.Format{Rate: 48000, Bits: 24, Before: before, After: after}
	if err := wavfile.Write(path, f, onGrid(1001, 0, 24)); err != nil { // odd, so a pad byte comes before what follows
		t.Fatal(err)
	}
	file := open(t, capture.Address{Path: path})
	if w := file.Warnings(); len(w) > 0 {
		t.Errorf("warnings %q", w)
	}
	same(t, readAll(t, file), [][]float64{onGrid(1001, 0, 24)})
	return file
}

func TestMetadata(t *testing.T) {
	evening := time.Date(2031, 2, 28, 19, 5, 7, 0, time.UTC)
	day := time.Date(2031, 2, 28, 0, 0, 0, 0, time.UTC)
	bext := wavfile.Broadcast{Description: "Quiet, lead away", Originator: "Recorder 7", Reference: "R7-0001",
		Began: evening, SinceMidnight: 48000 * 68707, History: "A=PCM,F=48000,W=24\r\n"}.Chunk()
	fromBext := []capture.Text{
		{Name: "description", Key: "bext", Value: "Quiet, lead away"},
		{Name: "originator", Key: "bext", Value: "Recorder 7"},
		{Name: "originator's reference", Key: "bext", Value: "R7-0001"},
		{Name: "first sample", Key: "bext", Value: "68707.000 s after midnight"},
		{Name: "coding history", Key: "bext", Value: "A=PCM,F=48000,W=24"},
	}
	list := wavfile.Info("ICMT", "bench 4", "ICRD", "2031-03-01", "IXYZ", "unheard of", "ISFT", "  ")
	fromList := []capture.Text{
		{Name: "comment", Key: "ICMT", Value: "bench 4"},
		{Name: "created", Key: "ICRD", Value: "2031-03-01"},
		{Name: "IXYZ", Key: "IXYZ", Value: "unheard of"},
	}
	broken := bytes.Clone(bext.Body)
	copy(broken[320:], "2031-02-30")
	divided := bytes.Clone(bext.Body)
	copy(divided[320:], "2031:02_2819.05 07")
	noClock := bytes.Clone(bext.Body)
	copy(noClock[330:], make([]byte, 8))
	for name, c := range map[string]struct {
		before, after []wavfile.Chunk
		want          capture.Metadata
	}{
		"none": {},
		"bext": {[]wavfile.Chunk{bext}, nil, capture.Metadata{Recorded: evening, Source: "bext", Texts: fromBext}},
		"LIST before, bext after": {[]wavfile.Chunk{list}, []wavfile.Chunk{bext},
			capture.Metadata{Recorded: evening, Source: "bext", Texts: append(append([]capture.Text{}, fromList...), fromBext...)}},
		"LIST after": {nil, []wavfile.Chunk{list},
			capture.Metadata{Recorded: day.AddDate(0, 0, 1), DayOnly: true, Source: "ICRD", Texts: fromList}},
		"no such day": {[]wavfile.Chunk{{ID: "bext", Body: broken[:400]}}, nil, capture.Metadata{Texts: append(append([]capture.Text{}, fromBext[:3]...),
			capture.Text{Name: "date", Key: "bext", Value: "2031-02-30"}, capture.Text{Name: "time", Key: "bext", Value: "19:05:07"}, fromBext[3])}},
		"other dividers": {[]wavfile.Chunk{{ID: "bext", Body: divided[:602]}}, nil, capture.Metadata{Recorded: evening, Source: "bext", Texts: fromBext[:4]}},
		"no time of day": {[]wavfile.Chunk{{ID: "bext", Body: noClock[:602]}}, nil, capture.Metadata{Recorded: day, DayOnly: true, Source: "bext", Texts: fromBext[:4]}},
		"bext too short": {[]wavfile.Chunk{{ID: "bext", Body: bext.Body[:345]}}, nil, capture.Metadata{}},
		"Latin-1": {[]wavfile.Chunk{wavfile.Info("ICMT", "20 \xb0C \xb5V")}, nil,
			capture.Metadata{Texts: []capture.Text{{Name: "comment", Key: "ICMT", Value: "20 °C µV"}}}},
		"time of day by a person": {[]wavfile.Chunk{wavfile.Info("ICRD", "2031-02-28 19:05")}, nil, capture.Metadata{
			Recorded: time.Date(2031, 2, 28, 19, 5, 0, 0, time.UTC), Source: "ICRD",
			Texts: []capture.Text{{Name: "created", Key: "ICRD", Value: "2031-02-28 19:05"}}}},
		"a zone is dropped": {[]wavfile.Chunk{wavfile.Info("IDIT", "2031-02-28T19:05:07+02:00")}, nil, capture.Metadata{Recorded: evening, Source: "IDIT",
			Texts: []capture.Text{{Name: "digitised", Key: "IDIT", Value: "2031-02-28T19:05:07+02:00"}}}},
		"a list of another type": {[]wavfile.Chunk{{ID: "LIST", Body: []byte("adtlICMT\x02\x00\x00\x00ab")}}, nil, capture.Metadata{}},
	} {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, described(t, c.before, c.after).Info().Metadata); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// Entries that lie about their size, or are many or long, cost no more than is kept.
func TestMetadataIsBounded(t *testing.T) {
	entry := func(key string, size uint32, body string) string {
		return key + string(binary.LittleEndian.AppendUint32(nil, size)) + body
	}
	for name, c := range map[string]struct {
		info  string
		texts int
	}{
		"an entry of 4 GiB": {entry("ICMT", 0xFFFFFFFF, "some words"), 1},
		"many":              {strings.Repeat(entry("ICMT", 2, "ab"), 5000), 64},
		"empty ones":        {strings.Repeat(entry("ICMT", 0, ""), 5000) + entry("INAM", 2, "ab"), 1},
		"long":              {entry("ICMT", 60000, strings.Repeat("é", 30000)), 1},
		"no pad byte":       {entry("ICMT", 3, "abc") + entry("INAM", 4, "name"), 1},
		"no names":          {entry("\x00\x01\x02\x03", 4, "abcd") + entry("INAM", 4, "name"), 1},
		"ends in a header":  {"ICMT\x02", 0},
	} {
		m := described(t, []wavfile.Chunk{{ID: "LIST", Body: []byte("INFO" + c.info)}}, nil).Info().Metadata
		kit.Same(t, len(m.Texts), c.texts, "%s: texts", name)
		for _, text := range m.Texts {
			if len(text.Value) > 4096 || text.Value == "" || strings.ToValidUTF8(text.Value, "?") != text.Value {
				t.Errorf("%s: a text of %d bytes", name, len(text.Value))
			}
		}
	}
}
