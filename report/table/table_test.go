package table

import (
	"encoding/csv"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"humdiff/report/internal/golden"
	"humdiff/report/internal/sample"
	"humdiff/report/result"
)

func TestGolden(t *testing.T) {
	for name, table := range map[string]Table{
		"compare":      Compare(sample.Compare()),
		"no-volts":     Compare(sample.NoVolts()),
		"two-channels": Compare(sample.TwoChannels()),
		"nothing":      Compare(sample.NothingFound()),
		"fell":         Compare(sample.Swapped()),
		"hostile":      Compare(sample.Hostile()),
		"unsteady":     Compare(sample.Unsteady()),
		"measure":      Measure(sample.Measure()),
	} {
		golden.Check(t, name+".txt", table.Text())
		golden.Check(t, name+".md", table.Markdown())
		golden.Check(t, name+".csv", table.CSV())
	}
}

// A mark is explained where there is one, and only there.
func TestMarksAreExplained(t *testing.T) {
	for want, table := range map[bool]Table{true: Compare(sample.Unsteady()), false: Compare(sample.Compare())} {
		for _, text := range []string{table.Text(), table.Markdown()} {
			if got := strings.Contains(text, "changed its level"); got != want {
				t.Errorf("explained %v, want %v", got, want)
			}
		}
	}
	m := sample.Measure()
	m.Captures[0].Lines[0].Unsteady = true
	if s := Measure(m).Text(); !strings.Contains(s, "-101.92~ ±0.02") || !strings.Contains(s, "changed its level") {
		t.Errorf("measure has no mark:\n%s", s)
	}
}

func readCSV(t *testing.T, s string) (head map[string]int, rows [][]string) {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(s)).ReadAll() // refuses rows of unequal length
	if err != nil {
		t.Fatal(err)
	}
	head = map[string]int{}
	for i, name := range all[0] {
		if _, twice := head[name]; twice {
			t.Errorf("two columns are called %s", name)
		}
		head[name] = i
	}
	return head, all[1:]
}

// Made a capture at a time, the CSV is the whole table's.
func TestMeasureCSV(t *testing.T) {
	m := sample.Measure()
	other := m.Captures[0]
	other.File = "=other, \"quoted\".wav"
	m.Captures = append(m.Captures, other)
	for _, u := range []Unit{DBFS, Volts} {
		if got, want := MeasureCSV(m, u), MeasureIn(m, u).CSV(); got != want || strings.Count(got, "\n") < 3 {
			t.Errorf("%s: got\n%s\nwant\n%s", u, got, want)
		}
	}
}

// CSV has every line of every pair in the result's own numbers, and nothing
// where there is none.
func TestCSVIsTheResult(t *testing.T) {
	r := sample.TwoChannels()
	head, rows := readCSV(t, Compare(r).CSV())
	i := 0
	for _, p := range r.Pairs {
		for _, l := range p.Lines {
			row := rows[i]
			i++
			text := func(name string) string {
				at, ok := head[name]
				if !ok {
					t.Fatalf("no column %s", name)
				}
				return row[at]
			}
			number := func(name string, want result.Num) {
				got := text(name)
				if !want.Ok() {
					if got != "" {
						t.Errorf("row %d, %s: %q where the result has nothing", i, name, got)
					}
					return
				}
				if v, err := strconv.ParseFloat(got, 64); err != nil || v != float64(want) {
					t.Errorf("row %d, %s: %q, want %v", i, name, got, want)
				}
			}
			number("harmonic", result.Num(l.Harmonic))
			number("hz", l.Hz)
			number("near_channel", result.Num(p.Near.Channel))
			for prefix, side := range map[string]result.Line{"quiet_": l.Quiet, "near_": l.Near} {
				number(prefix+"dbfs", side.DBFS)
				number(prefix+"lo_dbfs", side.LoDBFS)
				number(prefix+"hi_dbfs", side.HiDBFS)
				number(prefix+"limit_dbfs", side.LimitDBFS)
				number(prefix+"floor_dbfs_hz", side.FloorDBFSHz)
				number(prefix+"volts_rms", side.Volts)
				number(prefix+"steadiness", side.Steadiness)
				if text(prefix+"state") != side.State {
					t.Errorf("row %d: state %q, want %q", i, text(prefix+"state"), side.State)
				}
			}
			number("delta_db", l.Delta.DB)
			number("delta_lo_db", l.Delta.LoDB)
			number("delta_hi_db", l.Delta.HiDB)
			number("pickup_lo_volts_rms", l.Pickup.LoVolts)
			number("pickup_hi_volts_rms", l.Pickup.HiVolts)
			number("pickup_lo_fs", l.Pickup.LoFS)
			number("pickup_hi_fs", l.Pickup.HiFS)
		}
	}
	if i != len(rows) {
		t.Errorf("%d rows for %d lines", len(rows), i)
	}
}

// No cell of a CSV opens a formula; numbers stay numbers.
func TestCSVIsHarmless(t *testing.T) {
	_, rows := readCSV(t, Compare(sample.Hostile()).CSV())
	for _, row := range rows {
		for _, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err == nil || cell == "" {
				continue
			}
			if strings.ContainsAny(cell[:1], "=+-@\t\r") || strings.ContainsAny(cell, "\x1b\u202e\r\n") {
				t.Fatalf("cell %q", cell)
			}
		}
	}
}

func TestHarmless(t *testing.T) {
	for in, want := range map[string]string{
		"a.wav": "a.wav", "": "", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@a": "'@a", "  =1": "'  =1",
		"\t=1": "<U+0009>=1", "＝1": "'＝1", "a=1": "a=1", "\r": "<U+000D>",
	} {
		if got := Harmless(in); got != want {
			t.Errorf("Harmless(%q) = %q, want %q", in, got, want)
		}
	}
}

// Printed rows are those with something found; the rest are counted.
func TestPrintedRowsAndTheRest(t *testing.T) {
	r := sample.Compare()
	n := 0
	for _, l := range r.Pairs[0].Lines {
		if l.Quiet.State == result.Detected || l.Near.State == result.Detected {
			n++
		}
	}
	table := Compare(r)
	if got := len(table.Shown(table.Groups[0])); got != n {
		t.Errorf("%d rows are printed, want %d", got, n)
	}
	if want := strconv.Itoa(100-n) + " more lines were not found in either capture"; !strings.Contains(table.Text(), want) {
		t.Errorf("text lacks %q", want)
	}
}

func TestWithoutAScaleThereIsNoPickupColumn(t *testing.T) {
	text := Compare(sample.NoVolts()).Text()
	if strings.Contains(text, "V rms") || !strings.Contains(text, "Volts are unknown") {
		t.Error(text)
	}
}

// Many tones are cut to the strongest, and the rest counted.
func TestManyTones(t *testing.T) {
	r := sample.Compare()
	tones := &r.Pairs[0].Tones
	tones.Near = nil
	for i := range 9 {
		tones.Near = append(tones.Near, result.Tone{Hz: 6000 + float64(i), DBFS: result.Num(-130 + i)})
	}
	want := "Tones in near not counted as hum: 6008 Hz at -122.0 dBFS, 6007 Hz at -123.0 dBFS, 6006 Hz at -124.0 dBFS, " +
		"6005 Hz at -125.0 dBFS, 6004 Hz at -126.0 dBFS, and 4 weaker."
	if text := Compare(r).Text(); !strings.Contains(text, want) {
		t.Errorf("text lacks %q", want)
	}
}

// A warning that both channels raise is printed once, with both places.
func TestWarningsOnce(t *testing.T) {
	table := Compare(sample.TwoChannels())
	if strings.Contains(table.Text(), "known only as a wide range") {
		t.Error("the text has warnings, which go elsewhere than results")
	}
	text := table.Markdown()
	if n := strings.Count(text, "known only as a wide range"); n != 1 {
		t.Errorf("printed %d times", n)
	}
	if !strings.Contains(text, "heron-near.wav, channel 1; heron-near.wav, channel 2") {
		t.Errorf("a place is missing: %s", text)
	}
}

// Undetected lines have no number in the printed forms, whatever their fields
// hold; and text has no control character.
func TestPrintedFormsAreHonestAndHarmless(t *testing.T) {
	r := sample.Hostile()
	for i := range r.Pairs[0].Lines {
		if l := &r.Pairs[0].Lines[i]; l.Quiet.State != result.Detected {
			l.Quiet.DBFS, l.Quiet.LoDBFS, l.Quiet.HiDBFS = -77.7, -77.8, -77.6
		}
	}
	table := Compare(r)
	for _, out := range []string{table.Text(), table.Markdown()} {
		if strings.Contains(out, "77.") {
			t.Error("an undetected line got a number")
		}
		if regexp.MustCompile(`[\x00-\x09\x0b-\x1f\x7f\x{202e}]`).MatchString(out) {
			t.Error("a control character passes")
		}
	}
}

// Markdown: no markup from a name survives unescaped, in a cell neither; and a cell
// is one cell.
func TestMarkdownIsEscaped(t *testing.T) {
	cell := "a|b`c`<script>&amp;[x](y)\\|"
	row := Table{Columns: []Column{{Head: "file"}}, Groups: []Group{{Rows: []Row{{Shown: true, Cells: []Cell{{Text: cell}}}}}}}
	want := "| a\\|b\\`c\\`\\<script\\>\\&amp;\\[x\\](y)\\\\\\| |"
	if got := row.Markdown(); !strings.Contains(got, want) || row.Group(0)+"\n" != strings.TrimPrefix(got, "****\n\n") {
		t.Errorf("%q, want %q in it", got, want)
	}
	md := Compare(sample.Hostile()).Markdown()
	for _, bad := range []*regexp.Regexp{
		regexp.MustCompile(`(^|[^\\])<[a-z/!]`), regexp.MustCompile(`(^|[^\\])\]\(`), regexp.MustCompile("(^|[^\\\\])`"),
		regexp.MustCompile(`(^|[^\\])&[a-z]+;`),
	} {
		if at := bad.FindString(md); at != "" {
			t.Errorf("unescaped %q", at)
		}
	}
}

// On a narrow terminal the floor goes first, then what else can be spared, and
// what went is said; the delta keeps its interval to the end.
func TestFit(t *testing.T) {
	whole := Compare(sample.Compare())
	for _, c := range []struct {
		width      int
		gone, kept string // kept: harmonic 1's levels and delta
	}{
		{200, "", "-120.14 ±0.10 -101.92 ±0.02 18.22 ±0.10"},
		{101, "", "-120.14 ±0.10 -101.92 ±0.02 18.22 ±0.10"},
		{100, "floor", "-120.14 ±0.10 -101.92 ±0.02 18.22 ±0.10"},
		{85, "floor, frequency", "-120.14 ±0.10 -101.92 ±0.02 18.22 ±0.10"},
		{80, "floor, frequency, the levels' intervals", "-120.14 -101.92 18.22 ±0.10"},
		{55, "floor, frequency, the levels' intervals, pickup", "-120.14 -101.92 18.22 ±0.10"},
	} {
		fitted := whole.Fit(c.width)
		said := fitted.Text()
		if got := fitted.width(); got > c.width {
			t.Errorf("%d columns wide, have %d", got, c.width)
		}
		head := said[strings.Index(said, "harmonic "):]
		head = head[:strings.Index(head, "\n")]
		for _, column := range []string{"floor", "frequency", "pickup"} {
			if want := !strings.Contains(c.gone, column); strings.Contains(head, column) != want {
				t.Errorf("at %d columns, %s is there: %v, want %v", c.width, column, !want, want)
			}
		}
		if told := "Left out, as the terminal is narrow: " + c.gone + "."; strings.Contains(said, told) != (c.gone != "") {
			t.Errorf("at %d columns, lacks or has %q", c.width, told)
		}
		if !strings.Contains(strings.Join(strings.Fields(said), " "), c.kept) {
			t.Errorf("at %d columns, lacks %q", c.width, c.kept)
		}
		if fitted.CSV() != whole.CSV() {
			t.Errorf("at %d columns, the CSV changes", c.width)
		}
	}
	if whole.Fit(80).Text() == whole.Text() || whole.Fit(0).Text() != whole.Text() || whole.width() != 101 {
		t.Errorf("the whole table is %d wide, want 101 and unchanged", whole.width())
	}
}
