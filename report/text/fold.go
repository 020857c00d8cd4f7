package text

import (
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
)

// Fold breaks lines wider than a terminal between words; 0 columns leave them
// whole. What follows a break is indented as its line is, and by two more.
func Fold(s string, width int) string {
	lines := strings.Split(s, "\n")
	for i, line := range lines {
		lines[i] = foldLine(line, width)
	}
	return strings.Join(lines, "\n")
}

func foldLine(line string, width int) string {
	indent := line[:len(line)-len(strings.TrimLeft(line, " "))] + "  "
	folded := ""
	for width > 0 && text.StringWidth(line) > width {
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
		if best >= 0 && text.StringWidth(line[:at]) > width {
			return best
		}
		best = at
	}
	return best
}
