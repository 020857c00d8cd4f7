package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// showing is the flags that say how a result is printed.
type showing struct {
	format     choice
	noProgress bool
}

func (s *showing) add(c *cobra.Command) {
	s.format = choice{"text", []string{"text", "markdown", "csv", "json"}}
	c.Flags().Var(&s.format, "format", "how the result is printed")
	c.Flags().BoolVar(&s.noProgress, "no-progress", false, "show no progress")
}

// view is a result with what the forms of output are made of.
type view struct {
	result    any
	sentences []string
	table     table.Table
	warnings  []result.Warning
}

func viewCompare(r result.Compare) view {
	said := r
	said.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), inSentences)
	return view{r, words.Compare(r), table.Compare(said), r.Warnings}
}

func viewMeasure(r result.Measure) view {
	said := r
	said.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), inSentences)
	return view{r, words.Measure(r), table.Measure(said), r.Warnings}
}

// inSentences is what the sentences and notes say anyway.
func inSentences(w result.Warning) bool {
	return w.Code == "one_placement" || w.Code == "scale_unknown"
}

// show prints a result: sentences before columns, warnings below the table.
// CSV has no place for warnings: they go to standard error.
func (s showing) show(out screen, v view) error {
	var text string
	switch s.format.value {
	case "json":
		numbers, err := publish.JSON(v.result)
		if err != nil {
			return err
		}
		text = string(numbers)
	case "csv":
		for _, w := range table.Warnings(v.warnings) {
			fmt.Fprintf(out.stderr, "warning: %s\n", w)
		}
		text = v.table.CSV()
	case "markdown":
		for _, sentence := range v.sentences {
			text += table.EscapeMarkdown(sentence) + "\n"
		}
		text += "\n" + v.table.Markdown()
	default:
		text = strings.Join(v.sentences, "\n") + "\n\n" + v.table.Text()
	}
	_, err := io.WriteString(out.stdout, text)
	return err
}
