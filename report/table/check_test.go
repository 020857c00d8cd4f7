package table

import (
	"reflect"
	"strings"
	"testing"

	"humdiff/report/result"
)

// checked is one file that can be used and one that can't.
func checked() result.Check {
	none := result.None
	return result.Check{Schema: result.CheckSchema, Files: []result.CheckedFile{
		{File: "heron.wav", Container: "RIFF", Format: "24-bit PCM", RateHz: 96000, Bits: 24, Count: 2, Frames: 57_600_000, FileS: 600, StartS: 0, EndS: 600,
			SHA256: "00ff", Metadata: result.Metadata{Recorded: "2031-02-28T19:05:07", Source: "bext", Texts: []result.Text{{Name: "comment", Key: "ICMT", Value: "=1+1"}}},
			Channels: []result.CheckedChannel{
				{Channel: 1, Mains: result.CaptureMains{Detected: true, NominalHz: 50, Hz: 49.98}, Health: result.Health{PeakDBFS: -3, PeakSeconds: 2, DC: -1e-9, Clipped: 4}},
				{Channel: 2, Mains: result.CaptureMains{Hz: none}, Health: result.Health{PeakDBFS: none, PeakSeconds: none, DC: none, Silent: true}}}},
		{File: "=bad.wav", RateHz: none, Bits: none, Count: none, Frames: none, FileS: none, StartS: none, EndS: none,
			Problem: result.Problem{What: "the file is empty", Hint: "record it again"}},
	}, Warnings: []result.Warning{{Code: "clipped", File: "heron.wav", Channel: 1, Message: "Clipped."}, {Code: "truncated", File: "heron.wav", Message: "Cut short."}}}
}

func TestCheckCSV(t *testing.T) {
	head, rows := readCSV(t, Check(checked()).CSV())
	cell := func(row int, name string) string {
		t.Helper()
		i, ok := head[name]
		if !ok {
			t.Fatalf("no column %s in %v", name, head)
		}
		return rows[row][i]
	}
	if len(rows) != 3 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, c := range []struct {
		row        int
		name, want string
	}{
		{0, "file", "heron.wav"}, {0, "frames", "57600000"}, {0, "channel", "1"}, {0, "mains_hz", "49.98"}, {0, "warnings", "clipped truncated"},
		{0, "health_peak_dbfs", "-3"}, {0, "health_clipped", "4"}, {0, "texts", "comment: =1+1"}, {0, "recorded", "2031-02-28T19:05:07"},
		{1, "channel", "2"}, {1, "mains_hz", ""}, {1, "warnings", "truncated"}, {1, "health_peak_dbfs", ""}, {1, "health_silent", "true"},
		{2, "file", "'=bad.wav"}, {2, "problem", "the file is empty"}, {2, "channel", ""}, {2, "rate_hz", ""}, {2, "health_clipped", ""},
	} {
		if got := cell(c.row, c.name); got != c.want {
			t.Errorf("row %d, %s: %q, want %q", c.row, c.name, got, c.want)
		}
	}
	known := 0
	for h := range head {
		if strings.HasPrefix(h, "health_") {
			known++
		}
	}
	if n := reflect.TypeFor[result.Health]().NumField(); known < n {
		t.Errorf("%d columns for the %d fields of health", known, n)
	}
}

func TestCheckText(t *testing.T) {
	text := Check(checked()).Text()
	for _, want := range []string{
		"heron.wav\n  24-bit PCM, WAV, 96 kHz, 2 channels, 600 s\n  recorded 2031-02-28 19:05:07 by the recorder's clock (bext)\n  comment: =1+1\n",
		" 1  -3.0       0.000000        4     49.980         2\n", "2  none        unknown        0  not found         1\n",
		"warning: channel 1: Clipped.\nwarning: Cut short.\n",
		"=bad.wav\n  not usable: the file is empty\n  hint: record it again\n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}
