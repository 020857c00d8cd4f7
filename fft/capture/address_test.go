package capture_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fixtures/kit"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var inf = math.Inf(1)

func TestParseAddress(t *testing.T) {
	for s, want := range map[string]capture.Address{
		"a.wav":                      {Path: "a.wav", End: inf},
		"dir.x/a b.wav#ch=2":         {Path: "dir.x/a b.wav", Channel: 2, End: inf},
		"a.wav#t=10":                 {Path: "a.wav", Start: 10, End: inf},
		"a.wav#t=10,":                {Path: "a.wav", Start: 10, End: inf},
		"a.wav#t=,20":                {Path: "a.wav", End: 20},
		"a.wav#t=10,20":              {Path: "a.wav", Start: 10, End: 20},
		"a.wav#t=0.25,1.5&ch=1":      {Path: "a.wav", Start: .25, End: 1.5, Channel: 1},
		"a.wav#ch=16&t=2":            {Path: "a.wav", Start: 2, End: inf, Channel: 16},
		`C:\captures\a.wav#t=1,2`:    {Path: `C:\captures\a.wav`, Start: 1, End: 2},
		"100%25.wav#t=1":             {Path: "100%25.wav", Start: 1, End: inf},
		"take#3.wav":                 {Path: "take#3.wav", End: inf},
		"take#3.wav#t=1":             {Path: "take#3.wav", Start: 1, End: inf},
		"a.wav#":                     {Path: "a.wav#", End: inf},
		"a.wav#channel=2":            {Path: "a.wav#channel=2", End: inf},
		"odd#t=1#t=0":                {Path: "odd#t=1", End: inf},
		"a.wav#t=npt:01:30.5,02:00":  {Path: "a.wav", Start: 90.5, End: 120},
		"a.wav#t=0:02:00,0:03:00.25": {Path: "a.wav", Start: 120, End: 180.25},
		"a.wav#t=100:00:00":          {Path: "a.wav", Start: 360000, End: inf},
		"a.wav#t=1:30":               {Path: "a.wav", Start: 90, End: inf},

		// the examples of W3C Media Fragments 1.0, section 4.2.1
		"video.ogg#t=npt:10,20":       {Path: "video.ogg", Start: 10, End: 20},
		"video.ogg#t=npt:,121.5":      {Path: "video.ogg", End: 121.5},
		"v#t=0:02:00,121.5":           {Path: "v", Start: 120, End: 121.5},
		"v#t=npt:120,0:02:01.5":       {Path: "v", Start: 120, End: 121.5},
		"v#t=npt:10":                  {Path: "v", Start: 10, End: inf},
		"dir#t=1/a.wav#t=3":           {Path: "dir#t=1/a.wav", Start: 3, End: inf},
		"mix#a&b.wav":                 {Path: "mix#a&b.wav", End: inf},
		"a.wav#ch=65535":              {Path: "a.wav", Channel: 65535, End: inf},
		"-":                           {Path: "-", End: inf},
		"a.wav#t=1.":                  {Path: "a.wav", Start: 1, End: inf},
		"a.wav#t=00:00:00.5,00:00:01": {Path: "a.wav", Start: .5, End: 1},
	} {
		got, err := capture.ParseAddress(s)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	}
}

func TestParseAddressRefuses(t *testing.T) {
	for s, want := range map[string]string{
		"":                        `"" names no file`,
		"#t=1":                    `"#t=1" names no file`,
		"a.wav#t=":                `a.wav: "" gives neither a start nor an end`,
		"a.wav#t=,":               `a.wav: "," gives neither a start nor an end`,
		"a.wav#t=20,10":           `a.wav: span "20,10" is empty: it starts at 20 s and ends at 10 s`,
		"a.wav#t=,0":              `a.wav: span ",0" is empty: it starts at 0 s and ends at 0 s`,
		"a.wav#t=x":               `a.wav: "x" is no number of seconds in span "x"`,
		"a.wav#t=-1,2":            `a.wav: "-1" is no number of seconds in span "-1,2"`,
		"a.wav#t=1e3":             `a.wav: "1e3" is no number of seconds in span "1e3"`,
		"a.wav#t=NaN":             `a.wav: "NaN" is no number of seconds in span "NaN"`,
		"a.wav#t=1,5,2,5":         `a.wav: "5,2,5" has a decimal comma: write a decimal point in span "1,5,2,5"`,
		"a.wav#t=90:00":           `a.wav: "90:00" is no number of seconds in span "90:00"`,
		"a.wav#t=1:60":            `a.wav: "1:60" is no number of seconds in span "1:60"`,
		"a.wav#t=0:5:00":          `a.wav: "0:5:00" is no number of seconds in span "0:5:00"`,
		"a.wav#t=smpte:0:02:00":   `a.wav: "smpte:0:02:00" is no number of seconds in span "smpte:0:02:00"`,
		"a.wav#t=2000000000":      `a.wav: "2000000000" is longer than any capture in span "2000000000"`,
		"a.wav#ch=0":              `a.wav: "0" is no channel number`,
		"a.wav#ch=L":              `a.wav: "L" is no channel number`,
		"a.wav#ch=1,2":            `a.wav: "1,2" is no channel number`,
		"a.wav#ch=65536":          `a.wav: "65536" is no channel number`,
		"a.wav#ch=":               `a.wav: "" is no channel number`,
		"a.wav#t=1&t=2":           `a.wav: "t" is given twice in "t=1&t=2"`,
		"a.wav#t=1&track=2":       `a.wav: "track=2" in the address is neither t= nor ch=`,
		"a.wav#ch=1&":             `a.wav: "" in the address is neither t= nor ch=`,
		"a.wav#t=0.1,0.10000":     `a.wav: span "0.1,0.10000" is empty: it starts at 0.1 s and ends at 0.1 s`,
		"a.wav#t=" + digits(400):  `a.wav: "` + digits(400) + `" is longer than any capture in span "` + digits(400) + `"`,
		"a.wav#t=1&ch=1&t=1&ch=1": `a.wav: "t" is given twice in "t=1&ch=1&t=1&ch=1"`,
	} {
		a, err := capture.ParseAddress(s)
		if err == nil || err.Error() != want {
			t.Errorf("%q: %+v, %v; want error %s", s, a, err, want)
			continue
		}
		if fault.Hint(err) == "" {
			t.Errorf("%q: %v has no hint", s, err)
		}
	}
}

func digits(n int) string { return strings.Repeat("9", n) }

func TestAFileOfTheWholeNameIsThatFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "hum#t=1,2")
	kit.OK(t, os.WriteFile(path, nil, 0o666))
	for s, want := range map[string]capture.Address{
		path:            {Path: path, End: inf},
		path + "#t=1,2": {Path: path, Start: 1, End: 2},
		path + "x":      {}, // no such file, and no span either
	} {
		got, err := capture.ParseAddress(s)
		if got != want || (err == nil) != (want.Path != "") {
			t.Errorf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	}
}

func TestAddressStringReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := capture.Address{
			Path:    rapid.StringMatching(`[a-z./#&=,:t%]{1,12}(#t=[0-9]|#ch=1)?`).Draw(t, "path"),
			Channel: rapid.IntRange(0, 65535).Draw(t, "channel"),
			Start:   rapid.OneOf(rapid.Just(0.), rapid.Float64Range(0, 1e8)).Draw(t, "start"),
			End:     inf,
		}
		if rapid.Bool().Draw(t, "closed") {
			want.End = rapid.Float64Range(math.Nextafter(want.Start, inf), 1e9).Draw(t, "end")
		}
		s := want.String()
		got, err := capture.ParseAddress(s)
		if err != nil || got != want {
			t.Fatalf("%q: %+v, %v; want %+v", s, got, err, want)
		}
	})
}

func TestAddressString(t *testing.T) {
	for want, a := range map[string]capture.Address{
		"a.wav":              {Path: "a.wav", End: inf},
		"b.wav":              {Path: "b.wav"}, // the zero span is the whole file
		"a.wav#t=10,20&ch=1": {Path: "a.wav", Start: 10, End: 20, Channel: 1},
		"a.wav#t=,0.1":       {Path: "a.wav", End: .1},
		"a.wav#t=0.5":        {Path: "a.wav", Start: .5, End: inf},
		"a#t=1.wav#t=0":      {Path: "a#t=1.wav", End: inf},
		"a#1.wav":            {Path: "a#1.wav", End: inf},
	} {
		kit.Same(t, a.String(), want, "%+v", a)
	}
}

func TestParseSpan(t *testing.T) {
	for s, want := range map[string][2]float64{
		"0:60":     {0, 60},
		"90:150.5": {90, 150.5},
		":60":      {0, 60},
		"90:":      {90, inf},
		"0:":       {0, inf},
	} {
		start, end, err := capture.ParseSpan(s)
		if err != nil || start != want[0] || end != want[1] {
			t.Errorf("%q: %v, %v, %v; want %v", s, start, end, err, want)
		}
	}
	for s, want := range map[string]string{
		"":               `"" is no span`,
		"60":             `"60" is no span`,
		"0:01:00":        `"0:01:00" is no span`,
		":":              `":" gives neither a start nor an end`,
		"60:0":           `span "60:0" is empty: it starts at 60 s and ends at 0 s`,
		"5:5":            `span "5:5" is empty: it starts at 5 s and ends at 5 s`,
		"0,5:60":         `"0,5" has a decimal comma: write a decimal point in span "0,5:60"`,
		"-1:60":          `"-1" is no number of seconds in span "-1:60"`,
		"0:+Inf":         `"+Inf" is no number of seconds in span "0:+Inf"`,
		"0 : 60":         `"0 " is no number of seconds in span "0 : 60"`,
		"0:99999999999":  `"99999999999" is longer than any capture in span "0:99999999999"`,
		"0x10:0x20":      `"0x10" is no number of seconds in span "0x10:0x20"`,
		"1_000:2_000":    `"1_000" is no number of seconds in span "1_000:2_000"`,
		"0:60s":          `"60s" is no number of seconds in span "0:60s"`,
		"t=0:60":         `"t=0" is no number of seconds in span "t=0:60"`,
		"00:00:10,00:20": `"00:00:10,00:20" is no span`,
	} {
		_, _, err := capture.ParseSpan(s)
		if err == nil || err.Error() != want || fault.Hint(err) == "" {
			t.Errorf("%q: %v (hint %q); want error %s", s, err, fault.Hint(err), want)
		}
	}
}

func FuzzParseAddress(f *testing.F) {
	for _, s := range []string{"a.wav", "a.wav#t=1,2&ch=3", "a#b#t=npt:0:01:00.5,", "#", "#t=", "x#ch=1&t=,5", "x#t=1.0000000000000001", "x#t=1#t=0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, err := capture.ParseAddress(s)
		if err != nil {
			return
		}
		if !(a.Start >= 0 && a.Start < a.End) || a.Channel < 0 || a.Path == "" {
			t.Fatalf("%q: %+v", s, a)
		}
		again, err := capture.ParseAddress(a.String())
		if err != nil || again != a {
			t.Fatalf("%q: %+v, written %q, read back %+v, %v", s, a, a.String(), again, err)
		}
	})
}

func TestFolder(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"b.WAV", "a.flac", "notes.txt", "b/2.wav", "b/10.wav", "a.d/x.bwf", ".hidden.wav", ".trash/y.wav", "plain"} {
		path := filepath.Join(dir, name)
		kit.OK(t, os.MkdirAll(filepath.Dir(path), 0o777))
		kit.OK(t, os.WriteFile(path, nil, 0o666))
	}
	kit.OK(t, os.Mkdir(filepath.Join(dir, "folder.wav"), 0o777))
	if err := os.Symlink(dir, filepath.Join(dir, "b", "loop")); err != nil {
		t.Log("no links here: ", err)
	}
	var got []string
	paths, unread := capture.Folder(dir)
	for _, p := range paths {
		rel := kit.Must(filepath.Rel(dir, p))(t)
		got = append(got, filepath.ToSlash(rel))
	}
	want := []string{"a.d/x.bwf", "a.flac", "b.WAV", "b/10.wav", "b/2.wav"}
	if diff := cmp.Diff(want, got); diff != "" || len(unread) > 0 {
		t.Errorf("-want +got:\n%s%v", diff, unread)
	}
	missing := filepath.Join(dir, "gone")
	if paths, unread := capture.Folder(missing); len(paths) > 0 || len(unread) != 1 || unread[0].Error() != missing+": there is no such file" {
		t.Errorf("%v, %v", paths, unread)
	}
}

// A part of a file's channels, of samples' or of a part's is those channels.
func TestPart(t *testing.T) {
	path, all := threeChannels(t)
	memory := capture.Samples(1000, all...)
	for name, src := range map[string]capture.Source{"a file": open(t, capture.Address{Path: path}), "samples": memory} {
		if whole := capture.Part(src, 0, 3); whole != src {
			t.Errorf("%s: the whole is something else", name)
		}
		for from := range 3 {
			for n := 1; from+n <= 3; n++ {
				same(t, readAll(t, capture.Part(src, from, n)), all[from:from+n])
			}
		}
		same(t, readAll(t, capture.Part(capture.Part(src, 1, 2), 1, 1)), all[2:])
	}
	defer func() {
		if recover() == nil {
			t.Error("a part beyond the channels")
		}
	}()
	capture.Part(memory, 2, 2)
}
