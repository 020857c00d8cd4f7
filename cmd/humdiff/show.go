package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/spf13/cobra"

	"humdiff/report/gather"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// showing is the flags that say how a result is printed.
type showing struct {
	format     choice
	levels     choice
	noProgress bool
}

func (s *showing) add(c *cobra.Command) {
	s.format = choice{"text", []string{"text", "markdown", "html", "bbcode", "csv", "json"}}
	c.Flags().Var(&s.format, "format", "how the result is printed")
	s.levels = choice{"auto", []string{"auto", "dBFS", "dBV", "dBu", "volts"}}
	c.Flags().Var(&s.levels, "levels", "unit of the levels in the table; auto is dBFS, or dBV for a pair on two scales")
	c.Flags().BoolVar(&s.noProgress, "no-progress", false, "show no progress")
}

// asIs is a table that is there.
func asIs(t table.Table) func() table.Table { return func() table.Table { return t } }

// view is a result with what the forms of output are made of.
type view struct {
	result    any
	sentences []string
	table     func() table.Table
	csv       func() string // nil: the table's
	warnings  []result.Warning
	more      []table.Table // printed below the first, in text and Markdown
}

// unit is what levels are printed in, of a result with these settings.
func (s showing) unit(set result.Settings) table.Unit {
	if s.levels.value == "auto" || s.levels.value == "" {
		return table.UnitFor(set)
	}
	return table.Unit(s.levels.value)
}

// checkLevels refuses volts without a scale.
func (s showing) checkLevels(known bool) error {
	if known || s.levels.value == "auto" || s.levels.value == "" || s.levels.value == string(table.DBFS) {
		return nil
	}
	return misusedf("give the input's full scale, e.g. --full-scale 2.0V, or a --calibration", "--levels %s needs a voltage scale", s.levels.value)
}

func viewCompare(r result.Compare, u table.Unit) view {
	said := r
	said.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), inSentences)
	return view{result: r, sentences: words.Compare(r), table: func() table.Table { return table.CompareIn(said, u) }, warnings: r.Warnings, more: audibleTables(r)}
}

func viewMeasure(r result.Measure, u table.Unit) view {
	said := r
	said.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), inSentences)
	return view{
		result: r, sentences: words.Measure(r), warnings: r.Warnings,
		table: func() table.Table { return table.MeasureIn(said, u) },
		csv:   func() string { return table.MeasureCSV(said, u) },
	}
}

// inSentences is what the sentences and notes say anyway.
func inSentences(w result.Warning) bool {
	return w.Code == "one_placement" || w.Code == "scale_unknown" || w.Code == "scale_uncertainty_unknown"
}

// show prints a result: sentences before columns. Warnings go to standard error
// after it, except where the form of output holds them itself.
func (s showing) show(out screen, v view) error {
	said, warnings, err := s.forms(v, out.width)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(out.stdout, said); err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintln(out.stderr, fold("warning: "+w, out.errWidth))
	}
	return nil
}

// forms is a result as it is printed, and the warnings that it doesn't hold.
func (s showing) forms(v view, width int) (said string, warnings []string, err error) {
	switch s.format.value {
	case "json":
		numbers, err := gather.JSON(v.result)
		return string(numbers), nil, err
	case "csv":
		if v.csv != nil {
			return v.csv(), table.Warnings(v.warnings), nil
		}
		return v.table().CSV(), table.Warnings(v.warnings), nil
	}
	t := v.table()
	switch s.format.value {
	case "markdown":
		for _, sentence := range v.sentences {
			said += table.EscapeMarkdown(sentence) + "\n"
		}
		said += "\n" + t.Markdown()
		for _, t := range v.more {
			said += "\n" + t.Markdown()
		}
		return said, nil, nil
	case "html", "bbcode":
		return table.Paste(s.format.value, v.sentences, t), nil, nil
	}
	said = strings.Join(v.sentences, "\n") + "\n\n" + t.Fit(width).Text()
	for _, t := range v.more {
		said += "\n" + t.Fit(width).Text()
	}
	return fold(said, width), t.Footers, nil
}

// fold breaks lines longer than width between words; 0 leaves them whole. What
// follows a break is indented as its line is, and by two more.
func fold(text string, width int) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = foldLine(line, width)
	}
	return strings.Join(lines, "\n")
}

func foldLine(line string, width int) string {
	indent := line[:len(line)-len(strings.TrimLeft(line, " "))] + "  "
	folded := ""
	for width > 0 && cells(line) > width {
		at := breakBefore(line, width, len(indent))
		if at < 0 {
			break
		}
		folded += line[:at] + "\n"
		line = indent + line[at+1:]
	}
	return folded + line
}

// breakBefore is the last blank at which a line can be broken so that what is
// before it fits; where nothing fits, the first blank there is; else -1.
func breakBefore(line string, width, indent int) int {
	best := -1
	for at := indent; at < len(line); at++ {
		if line[at] != ' ' {
			continue
		}
		if best >= 0 && cells(line[:at]) > width {
			return best
		}
		best = at
	}
	return best
}

// cells is how wide a text is on a terminal.
func cells(s string) int { return text.StringWidth(s) }
