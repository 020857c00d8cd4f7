package main

import (
	"embed"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report/text"
)

//go:embed topics/*.md
var topicFiles embed.FS

// topics are what help knows beside the commands, in the order in which it
// lists them.
var topics = []struct{ name, short string }{
	{"tutorial", "From recording to publishing, step by step"},
	{"bench", "How to record, safely"},
	{"session", "Many runs: what their list says, controls, claims, blinding"},
	{"words", "What the words mean"},
	{"method", "How it is measured, with sources"},
	{"limits", "What a result does not show"},
	{"json", "What the JSON holds"},
}

// topicCommands are help topics: commands that only have a text.
func topicCommands(s screen) []*cobra.Command {
	var all []*cobra.Command
	for _, t := range topics {
		topic, err := topicFiles.ReadFile("topics/" + t.name + ".md")
		if err != nil {
			panic(err) // it is built in
		}
		c := &cobra.Command{Use: t.name, Short: t.short}
		c.SetHelpFunc(func(*cobra.Command, []string) {
			// What can't be printed can't be complained about either.
			_, _ = io.WriteString(s.stdout, text.Fold(unwrapped(string(topic)), s.width))
		})
		all = append(all, c)
	}
	return all
}

// nearestTopic is the help topic that a mistyped word means, if any. cobra looks
// for what is like a word only among commands that run.
func nearestTopic(word string) string {
	var names []string
	for _, t := range topics {
		names = append(names, t.name)
	}
	return append(like(names, word), "")[0]
}

// unwrapped joins the lines of each paragraph, so that it can be folded to the
// terminal; lists, headings and what is indented keep their lines.
func unwrapped(text string) string {
	var b strings.Builder
	for i, line := range strings.Split(text, "\n") {
		switch {
		case i == 0:
		case line == "" || startsAnew(line) || strings.HasSuffix(b.String(), "\n"):
			b.WriteByte('\n')
		default:
			b.WriteByte(' ')
			line = strings.TrimLeft(line, " ")
		}
		b.WriteString(line)
	}
	return b.String()
}

func startsAnew(line string) bool {
	return strings.HasPrefix(line, "#") || strings.HasPrefix(line, "    ") || strings.HasPrefix(line, "- ") ||
		len(line) > 2 && line[0] >= '1' && line[0] <= '9' && line[1] == '.'
}
