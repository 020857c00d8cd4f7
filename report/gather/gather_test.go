package gather

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"humdiff/report/internal/sample"
	"humdiff/report/publish"
	"humdiff/report/result"
)

func names(t *testing.T, r result.Compare) string {
	t.Helper()
	files, err := Compare(r)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, f := range files {
		out = append(out, f.Name)
		if len(f.Data) == 0 {
			t.Errorf("%s is empty", f.Name)
		}
	}
	return strings.Join(out, " ")
}

func TestNames(t *testing.T) {
	twice := sample.Compare()
	twice.Pairs = append(twice.Pairs, twice.Pairs[0])
	const always = "report.html compare.json lines.csv lines.md "
	for _, c := range []struct {
		r    result.Compare
		want string
	}{
		{sample.Compare(), always + "spectrum.svg delta.svg lines.svg cycle.svg"},
		{sample.NothingFound(), always + "spectrum.svg"},
		{sample.MainsDiffer(), always + "spectrum.svg cycle.svg"},
		{sample.TwoChannels(), always + "spectrum-ch1.svg delta-ch1.svg lines-ch1.svg cycle-ch1.svg spectrum-ch2.svg delta-ch2.svg lines-ch2.svg cycle-ch2.svg"},
		{twice, always + "spectrum-pair1.svg delta-pair1.svg lines-pair1.svg cycle-pair1.svg spectrum-pair2.svg delta-pair2.svg lines-pair2.svg cycle-pair2.svg"},
	} {
		if got := names(t, c.r); got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
	}
}

// The JSON of the report makes the same report again.
func TestTheJSONIsTheReport(t *testing.T) {
	r := sample.TwoChannels()
	files, err := Compare(r)
	if err != nil {
		t.Fatal(err)
	}
	var back result.Compare
	if err := json.Unmarshal(files[1].Data, &back); err != nil {
		t.Fatal(err)
	}
	again, err := Compare(back)
	if err != nil {
		t.Fatal(err)
	}
	for i := range files {
		if string(files[i].Data) != string(again[i].Data) {
			t.Errorf("%s differs after the way through JSON", files[i].Name)
		}
	}
}

// A report of one channel replaces one of two, and no old figure stays: the
// folder knows every name that a report has.
func TestReportReplacesReport(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	for _, r := range []result.Compare{sample.TwoChannels(), sample.NothingFound()} {
		files, err := Compare(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := publish.Write(context.Background(), dir, false, files); err != nil {
			t.Fatal(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if want := "compare.json files.json lines.csv lines.md report.html spectrum.svg"; strings.Join(got, " ") != want {
		t.Errorf("the folder holds %v, want %s", got, want)
	}
}

// A name is the same once it is read again, and prints nothing that commands a
// terminal: escape, C1 controls, delete, directions of writing, tags.
func TestJSONCommandsNoTerminal(t *testing.T) {
	const name = "a\x1b[31m\u009b1m\x7f\r\n\t\u202eb\U000e0041 µ\"é.wav"
	b, err := JSON(result.Warning{File: name})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range strings.TrimSuffix(string(b), "\n") {
		if !unicode.IsPrint(r) {
			t.Errorf("%U is printed: %s", r, b)
		}
	}
	var back result.Warning
	if err := json.Unmarshal(b, &back); err != nil || back.File != name {
		t.Errorf("%q, %v", back.File, err)
	}
}
