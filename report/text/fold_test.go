package text_test

import (
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/report/text"
)

func TestFold(t *testing.T) {
	for _, c := range []struct {
		line  string
		width int
		want  string
	}{
		{"hum rose 11.3 dB", 0, "hum rose 11.3 dB"},
		{"hum rose 11.3 dB", 16, "hum rose 11.3 dB"},
		{"hum rose 11.3 dB", 15, "hum rose 11.3\n  dB"},
		{"  quiet: a ±0.1 b", 14, "  quiet: a\n    ±0.1 b"},
		{"unbreakable-as-it-is and", 5, "unbreakable-as-it-is\n  and"},
		{"nothing", 3, "nothing"},
		{"one line\nand another one", 12, "one line\nand another\n  one"},
	} {
		kit.Same(t, text.Fold(c.line, c.width), c.want, "%q at %d", c.line, c.width)
	}
}
