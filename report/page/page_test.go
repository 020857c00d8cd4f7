package page

import (
	"bytes"
	"fmt"
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"humdiff/report/internal/sample"
	"humdiff/report/result"
	"humdiff/report/words"
)

func write(t *testing.T, r result.Compare) string {
	t.Helper()
	b, err := Compare(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

var samples = map[string]func() result.Compare{
	"compare": sample.Compare, "no volts": sample.NoVolts, "two channels": sample.TwoChannels, "nothing": sample.NothingFound,
	"new in near": sample.NewInNear, "swapped": sample.Swapped, "unchanged": sample.Unchanged, "hostile": sample.Hostile,
	"mains differ": sample.MainsDiffer, "clipped": sample.Clipped,
	"empty": func() result.Compare { return result.Compare{} },
}

// The page stands by itself: it names no address but that of the SVG namespace
// (which is a name and never fetched), and is small enough to mail.
func TestNothingIsLoaded(t *testing.T) {
	for name, make := range samples {
		p := write(t, make())
		p = strings.ReplaceAll(withoutScript(t, p), `xmlns="http://www.w3.org/2000/svg"`, "")
		for _, bad := range []string{"http:", "https:", "//", "url(", "@import", "src=", "href=", "<script", "<link", "<img", "<iframe", "<object"} {
			at := strings.Index(p, bad)
			if at < 0 {
				continue
			}
			// A file's name may hold anything, escaped.
			around := p[max(0, at-40):min(len(p), at+40)]
			if name == "hostile" && strings.Contains(around, "&lt;img src=x") {
				continue
			}
			t.Errorf("%s: %q in …%s…", name, bad, around)
		}
		if len(p) > 1_500_000 {
			t.Errorf("%s: %d bytes", name, len(p))
		}
	}
}

// withoutScript takes the page's own script off its end, and finds it there.
func withoutScript(t *testing.T, page string) string {
	t.Helper()
	before, _, ok := strings.Cut(page, `<script>"use strict";`)
	if !ok || !strings.HasSuffix(page, "</script>\n</body>\n</html>\n") {
		t.Fatal("the page's script is not where it should be")
	}
	return before
}

// Names and messages from outside stay text.
func TestHostileNamesStayText(t *testing.T) {
	p := withoutScript(t, write(t, sample.Hostile()))
	for _, bad := range []string{"<script", "<img", "<b ", "onerror=alert(1)>", "\x1b", "\u202e", "</title><img"} {
		if strings.Contains(p, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if !strings.Contains(html.UnescapeString(p), `=cmd()|"<script>alert(1)</script><U+001B>[31m.wav`) {
		t.Error("the name itself is not shown")
	}
}

func TestSameBytesEveryTime(t *testing.T) {
	r := sample.Compare()
	if first, second := write(t, r), write(t, r); first != second {
		t.Error("written twice, two pages")
	}
}

var (
	rowOf  = regexp.MustCompile(`(?s)<tr[^>]*><th scope="row"[^>]*>(\w+)</th>(.*?)</tr>`)
	cellOf = regexp.MustCompile(`(?s)<td[^>]*>(.*?)</td>`)
	tags   = regexp.MustCompile(`<[^>]*>`)
)

// Each number in the page's table is the result's, rounded.
func TestNumbersAreTheResults(t *testing.T) {
	r := sample.Compare()
	p := write(t, r)
	body := p[strings.Index(p, `<h2 id="lines">`):strings.Index(p, `<h2 id="conditions">`)]
	lines := map[string]result.PairLine{}
	for _, l := range r.Pairs[0].Lines {
		lines[fmt.Sprint(l.Harmonic)] = l
	}
	seen := 0
	for _, row := range rowOf.FindAllStringSubmatch(body, -1) {
		l, ok := lines[row[1]]
		if !ok {
			continue // the total
		}
		seen++
		var text []string
		for _, c := range cellOf.FindAllStringSubmatch(row[2], -1) {
			text = append(text, html.UnescapeString(tags.ReplaceAllString(c[1], "")))
		}
		rounded(t, text[0], l.Hz)
		for i, side := range []result.Line{l.Quiet, l.Near} {
			if side.State == result.Detected {
				rounded(t, strings.Fields(text[1+i])[0], side.DBFS)
			} else if after, ok := strings.CutPrefix(text[1+i], "below "); !ok {
				t.Errorf("harmonic %d: %q for a line not found", l.Harmonic, text[1+i])
			} else {
				atMost(t, after, side.LimitDBFS)
			}
		}
		switch l.Delta.State {
		case result.Measured:
			rounded(t, strings.Fields(text[3])[0], l.Delta.DB)
		case result.AtLeast:
			atLeast(t, strings.TrimPrefix(text[3], "at least "), l.Delta.LoDB)
		case result.AtMost:
			atMost(t, strings.TrimPrefix(text[3], "at most "), l.Delta.HiDB)
		}
		rounded(t, text[5], l.Near.FloorDBFSHz)
	}
	if seen != len(r.Pairs[0].Lines) {
		t.Errorf("%d lines in the table, want %d", seen, len(r.Pairs[0].Lines))
	}
}

func number(t *testing.T, s string) (v, step float64) {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is no number", s)
	}
	_, decimals, _ := strings.Cut(s, ".")
	return v, math.Pow(10, -float64(len(decimals)))
}

func rounded(t *testing.T, s string, want result.Num) {
	t.Helper()
	if v, step := number(t, s); math.Abs(v-float64(want)) > step*0.50001 {
		t.Errorf("%s for %v", s, want)
	}
}

// atMost and atLeast: a bound is rounded away from the claim.
func atMost(t *testing.T, s string, want result.Num) {
	t.Helper()
	if v, step := number(t, s); v < float64(want)-1e-6 || v > float64(want)+step {
		t.Errorf("at most %s for %v", s, want)
	}
}

func atLeast(t *testing.T, s string, want result.Num) {
	t.Helper()
	if v, step := number(t, s); v > float64(want)+1e-6 || v < float64(want)-step {
		t.Errorf("at least %s for %v", s, want)
	}
}

// The conclusion comes first, and everything that the page owes a reader is on
// it.
func TestParts(t *testing.T) {
	r := sample.Compare()
	p := html.UnescapeString(write(t, r))
	last := 0
	for _, part := range []string{words.Headline(r.Pairs[0], r.Settings), "What this does not show", "Record a dead run", "<h2 id=\"figures\"",
		"<h2 id=\"lines\"", "<h2 id=\"conditions\"", "What could still explain it", "Work near mains can kill", "Check this with any FFT",
		"131072 points", "How it was measured", r.Pairs[0].Near.SHA256} {
		at := strings.Index(p[last:], part)
		if at < 0 {
			t.Fatalf("%q is missing, or in the wrong place", part)
		}
		last += at
	}
	for _, said := range []string{"in 1 % of captures of noise alone: 0.5 % the search for the mains, 0.5 % a line found, all lines together",
		"Where neither was found, there is no delta, only the two limits."} {
		if !strings.Contains(p, said) {
			t.Errorf("%q is missing", said)
		}
	}
	for _, w := range r.Warnings {
		if !strings.Contains(p, w.Message) {
			t.Errorf("the warning %q is missing", w.Message)
		}
	}
}

// The check box: harmonics 1, 3 and 9 are the sample's strongest, at multiples
// of near's 50.0127 Hz, with near's levels from the result.
func TestCheckLines(t *testing.T) {
	r := sample.Compare()
	got := checkLines(r.Pairs[0])
	want := []checkLine{
		{1, "50.01 Hz", "-101.9 dBFS", "49.98 Hz", "-120.1 dBFS"},
		{3, "150.04 Hz", "-113.1 dBFS", "149.94 Hz", "-123.8 dBFS"},
		{9, "450.11 Hz", "-119.3 dBFS", "449.83 Hz", "does not stand out"},
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := checkLines(sample.NothingFound().Pairs[0]); len(got) != 0 {
		t.Errorf("nothing was found, yet there is %v to check", got)
	}
}

// What can't be compared or relied on is said in the title, and nowhere is it
// taken for nothing found.
func TestNotComparable(t *testing.T) {
	for want, r := range map[string]result.Compare{
		"<h1>Not comparable: the mains is 50 Hz in quiet and 60 Hz in near.</h1>": sample.MainsDiffer(),
		"<h1>Not usable as it is: 12 samples of near are clipped.</h1>":           sample.Clipped(),
	} {
		p := write(t, r)
		if !strings.Contains(p, want) {
			t.Errorf("no %s", want)
		}
		for _, bad := range []string{"No hum was found", "too weak", "Hum rose"} {
			if strings.Contains(p, bad) {
				t.Errorf("%s, and yet %q", want, bad)
			}
		}
	}
	if p := write(t, sample.MainsDiffer()); strings.Contains(p, "pair1-delta") {
		t.Error("a figure of deltas without any delta")
	}
	if p := write(t, sample.Clipped()); strings.Count(p, "as it is: 12 samples of near") < 4 {
		t.Error("a figure's caption doesn't say that near is clipped")
	}
}

// Many channels leave their figures to files of their own.
func TestManyChannels(t *testing.T) {
	r := sample.Compare()
	for range 11 {
		r.Pairs = append(r.Pairs, r.Pairs[0])
	}
	b, err := Compare(r)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(b, []byte("<figure")); n != 3*mostDrawn {
		t.Errorf("%d figures", n)
	}
	if n := bytes.Count(b, []byte("in the files beside this page")); n != 12-mostDrawn {
		t.Errorf("%d hints at files", n)
	}
	if len(b) > 1_500_000 {
		t.Errorf("%d bytes", len(b))
	}
}
