package session

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"humdiff/fft/fault"
)

// Problem is one thing wrong with a session's files.
type Problem struct {
	File   string
	Line   int // 0: concerns the whole file
	Column int // 0: the whole line
	What   string
	Hint   string // may be empty
	Gone   bool   // a file that is named isn't there: what is stated can be read all the same
	At     string // the table and key, such as "bench.gain", "run[2].file" (from 0) or "claim[0]"; empty: neither
}

// Error reads "FILE:LINE:COLUMN: what is wrong".
func (p Problem) Error() string {
	at := p.File
	for _, n := range []int{p.Line, p.Column} {
		if n > 0 {
			at += fmt.Sprintf(":%d", n)
		}
	}
	return at + ": " + p.What
}

// Problems are all that is wrong with a session, in the order of the files'
// lines. As an error it is a line for each, its hint below it.
type Problems []Problem

func (p Problems) Error() string {
	var lines []string
	for _, each := range p {
		lines = append(lines, each.Error())
		if each.Hint != "" {
			lines = append(lines, "  hint: "+each.Hint)
		}
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives each problem as an error of its own, with file and hint.
func (p Problems) Unwrap() []error {
	var all []error
	for _, each := range p {
		all = append(all, &fault.Error{What: each.Error(), Hint: each.Hint, Err: each})
	}
	return all
}

// OnlyGone says that nothing is wrong but that files aren't where they are named.
func (p Problems) OnlyGone() bool {
	return !slices.ContainsFunc(p, func(each Problem) bool { return !each.Gone })
}

// place is where a problem is.
type place struct {
	file         string
	line, column int
	key          string // as a Problem has it
}

func (p *Problems) add(at place, hint, format string, args ...any) {
	*p = append(*p, Problem{File: at.file, Line: at.line, Column: at.column, At: at.key, What: fmt.Sprintf(format, args...), Hint: hint})
}

// sorted puts them in the order of lines; files in the order in which they came.
func (p Problems) sorted() Problems {
	files := map[string]int{}
	for _, each := range p {
		if _, ok := files[each.File]; !ok {
			files[each.File] = len(files)
		}
	}
	slices.SortStableFunc(p, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(files[a.File], files[b.File]), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return p
}

// err is nil where there is no problem.
func (p Problems) err() error {
	if len(p) == 0 {
		return nil
	}
	return p.sorted()
}

// nearest is the name that a mistyped one may have meant; empty where none is
// within a third of its letters.
func nearest(word string, names []string) string {
	best, least := "", len(word)/3+1
	for _, name := range names {
		if d := levenshtein.ComputeDistance(strings.ToLower(word), strings.ToLower(name)); d <= least {
			best, least = name, d-1
		}
	}
	return best
}
