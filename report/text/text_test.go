package text

import (
	"regexp"
	"strings"
	"sync"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/doc"
	"humdiff/report/internal/samples"
	"humdiff/report/model"

	"github.com/jedib0t/go-pretty/v6/text"
)

// comparisons are results of every kind.
var comparisons = sync.OnceValue(func() map[string]model.Compare {
	many := samples.TwoChannels()
	for i := 3; i < 30; i++ {
		p := many.Pairs[1]
		p.Quiet.Channel, p.Near.Channel = i, i
		many.Pairs = append(many.Pairs, p)
	}
	warned := samples.LongNames()
	for _, code := range []string{"clipped", "gated", "gain_moves", "stuck", "hum_fades", "buzz"} {
		for channel := range 3 {
			warned.Warnings = append(warned.Warnings, model.Warning{Note: model.Note{Code: code}, File: warned.Pairs[0].Near.File, Channel: channel})
		}
	}
	return map[string]model.Compare{
		"rose": samples.Compare(), "no volts": samples.NoVolts(), "two channels": samples.TwoChannels(), "nothing": samples.NothingFound(),
		"new in near": samples.NewInNear(), "fell": samples.Swapped(), "unchanged": samples.Unchanged(), "mains differ": samples.MainsDiffer(),
		"clipped": samples.Clipped(), "unsteady": samples.Unsteady(), "two scales": samples.TwoScales(), "residual": samples.WithResidual(),
		"long names": samples.LongNames(), "hostile": samples.Hostile(), "many channels": many, "many warnings": warned, "empty": {},
	}
})

var documents = sync.OnceValue(func() map[string]doc.Document {
	all := map[string]doc.Document{"measure": doc.Measure(samples.Measure(), doc.InDBFS), "check": doc.Check(samples.Check()), "trend": doc.Trend(samples.Trend(), doc.InDBFS)}
	for name, r := range comparisons() {
		all[name] = doc.Compare(r, doc.UnitFor(r.Settings))
	}
	return all
})

func TestGolden(t *testing.T) {
	all := documents()
	kit.Golden(t, "compare.txt", Short(all["rose"], 100)+"\n"+strings.Repeat("=", 100)+"\n\n"+Full(all["residual"], 100))
	kit.Golden(t, "compare.md", Markdown(all["nothing"]))
	kit.Golden(t, "compare.html", HTML(all["mains differ"]))
	kit.Golden(t, "compare.bbcode", BBCode(all["clipped"]))
	kit.Golden(t, "measure.txt", Full(all["measure"], 100))
	kit.Golden(t, "trend.txt", Full(all["trend"], 100))
	kit.Golden(t, "check.txt", Full(all["check"], 100))
}

// The short form of any result fits a screen, and its first two lines say what was
// found and whether it may be published.
func TestShortFitsAScreen(t *testing.T) {
	for name, d := range documents() {
		s := Short(d, 100)
		if n := strings.Count(s, "\n"); n > screen {
			t.Errorf("%s: %d lines:\n%s", name, n, s)
		}
		if lines := strings.Split(s, "\n"); lines[0] != d.Title || d.Gate != "" && lines[1] != d.Gate {
			t.Errorf("%s begins with %q", name, lines[:2])
		}
	}
}

// Nothing is wider than the terminal, as far down as a table can follow.
func TestWidth(t *testing.T) {
	for name, d := range documents() {
		for _, width := range []int{72, 100} {
			for _, line := range strings.Split(Short(d, width)+Full(d, width), "\n") {
				if n := text.StringWidth(line); n > width {
					t.Errorf("%s: %d columns of %d: %s", name, n, width, line)
				}
			}
		}
	}
}

// What is longer than a screen ends with the answer.
func TestAnswerAgain(t *testing.T) {
	d := documents()["rose"]
	if s := Full(d, 100); !strings.HasSuffix(s, "\n"+d.Title+"\n") {
		t.Errorf("ends with %q", s[len(s)-80:])
	}
}

var number = regexp.MustCompile(`\d[\d.]*`)

// A renderer has no number of its own: each stands in what it was given.
func TestNoNumberOfItsOwn(t *testing.T) {
	given := map[string]bool{}
	d := documents()["residual"]
	for _, s := range append([]string{d.Title, d.Gate, d.Lead, d.Footer}, texts(d)...) {
		for _, n := range number.FindAllString(s, -1) {
			given[n] = true
		}
	}
	for form, s := range map[string]string{"short": Short(d, 0), "full": Full(d, 0), "markdown": Markdown(d), "bbcode": BBCode(d)} {
		for _, n := range number.FindAllString(s, -1) {
			if !given[n] {
				t.Errorf("%s has %s, which the document has not", form, n)
			}
		}
	}
}

// texts are all texts of a document's sections.
func texts(d doc.Document) (out []string) {
	list := func(l doc.List) { out = append(append(append(out, l.Title), l.Items...), l.Brief...) }
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case doc.List:
				list(b)
			case doc.Facts:
				for _, f := range b.Of {
					out = append(out, f.Name, f.Value)
				}
			case doc.Table:
				out = append(append(out, b.Title, b.Rest), b.Notes...)
				for _, c := range b.Columns {
					out = append(out, c.Head, c.Unit)
				}
				for _, r := range append(b.Rows, doc.Row{Cells: b.Total}) {
					for _, c := range r.Cells {
						out = append(out, c.String())
					}
				}
			}
		}
	}
	return out
}

// Names from outside command nothing and are no markup.
func TestHostile(t *testing.T) {
	d := documents()["hostile"]
	for form, s := range map[string]string{"short": Short(d, 100), "full": Full(d, 100), "markdown": Markdown(d), "html": HTML(d), "bbcode": BBCode(d)} {
		if strings.ContainsAny(s, "\x1b\u202e") {
			t.Errorf("%s commands a terminal", form)
		}
		for _, odd := range map[string][]string{
			"markdown": {"[x](", "<img", "<script", "https://"},
			"html":     {"<img", "<script", "</title", "<b "},
			"bbcode":   {"[x]", "[b]x", "https://"},
		}[form] {
			kit.Lacks(t, form, strings.ReplaceAll(s, `\<`, ""), odd)
		}
	}
}
