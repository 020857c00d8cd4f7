package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
)

// Every command of the tutorial works as it stands, one after the other.
func TestTutorial(t *testing.T) {
	made := theDemo(t)
	text := readFile(t, "topics/tutorial.md")
	t.Chdir(t.TempDir())
	commands := regexp.MustCompile(`(?m)^    humdiff (.*)$`).FindAllStringSubmatch(text, -1)
	if len(commands) < 7 {
		t.Fatalf("only %d commands", len(commands))
	}
	for _, c := range commands {
		var args []string
		for _, word := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(c[1], -1) {
			args = append(args, strings.Trim(word, `"`))
		}
		if args[0] == "demo" { // has been run, for all tests
			kit.OK(t, os.CopyFS(args[1], os.DirFS(made)))
			continue
		}
		said(t, args...)
	}
	for _, file := range []string{"trial/truth.json", "grebe/report.html", "sitting/report.html", "grebe.zip"} {
		if _, err := os.Stat(filepath.FromSlash(file)); err != nil {
			t.Error(err)
		}
	}
}

func TestUnwrapped(t *testing.T) {
	for text, want := range map[string]string{
		"a\nb\n\nc\n":            "a b\n\nc\n",
		"# h\n\na\n":             "# h\n\na\n",
		"1. a\n   b\n2. c\n":     "1. a b\n2. c\n",
		"say\n\n    x y\n\nso\n": "say\n\n    x y\n\nso\n",
	} {
		kit.Same(t, unwrapped(text), want, "%q", text)
	}
}
