package batch

import (
	"cmp"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"humdiff/report/session"
)

// hider takes cables' names out of what people wrote about a session.
type hider struct {
	files     []substitute // captures' names, and the runs' numbers for them
	names     []mask
	parts     []string          // words of cables' names, in lower case
	exposures map[string]string // by what they are called
	partly    []string          // where parts of names were taken out
}

type substitute struct{ from, to string }

// mask is a cable's name however its words are joined, and the letter for it.
type mask struct {
	name   *regexp.Regexp
	short  bool // it counts only as a word by itself
	letter string
}

// taken stands for a word that is part of a cable's name.
const taken = "[…]"

func (k Key) hider(s session.Session) *hider {
	h := &hider{names: k.masks(), parts: k.parts(), exposures: map[string]string{"": ""}}
	for i, r := range s.Runs {
		for _, name := range []string{r.Address.Path, r.Measured} {
			if name != "" {
				h.files = append(h.files, substitute{name, hiddenName(i + 1)}, substitute{filepath.Base(filepath.FromSlash(name)), hiddenName(i + 1)})
			}
		}
	}
	slices.SortStableFunc(h.files, func(a, b substitute) int { return cmp.Compare(len(b.from), len(a.from)) })
	var shown []string
	for _, e := range s.Exposures() {
		x := h.text("an exposure's name", e)
		for n := 2; slices.Contains(shown, x); n++ { // two that differ in such a word alone
			x = fmt.Sprintf("%s (%d)", h.text("", e), n)
		}
		h.exposures[e], shown = x, append(shown, x)
	}
	for _, c := range s.Claims {
		if _, known := h.exposures[c.Exposure]; !known {
			h.exposures[c.Exposure] = h.text("an exposure's name", c.Exposure)
		}
	}
	return h
}

// masks are those of all cables, long names first.
func (k Key) masks() (all []mask) {
	const shortest = 3 // letters that are looked for within words too
	for letter, name := range k.Cables {
		var words []string
		for _, w := range strings.FieldsFunc(name, joins) {
			words = append(words, regexp.QuoteMeta(w))
		}
		if len(words) == 0 {
			words = []string{regexp.QuoteMeta(name)}
		}
		all = append(all, mask{regexp.MustCompile("(?i)" + strings.Join(words, `[\s_.\-]*`)), len([]rune(strings.Join(words, ""))) < shortest, letter})
	}
	slices.SortFunc(all, func(a, b mask) int {
		return cmp.Or(cmp.Compare(len(k.Cables[b.letter]), len(k.Cables[a.letter])), cmp.Compare(a.letter, b.letter))
	})
	return all
}

// joins are signs that names' words are joined with.
func joins(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("_-.", r) }

// telling are no words that tell one cable from another.
var telling = []string{"the", "and", "with", "for", "from"}

// parts are the words of cables' names that may tell which is meant. What every
// name has tells nothing, nor do digits alone.
func (k Key) parts() (all []string) {
	count := map[string]int{}
	for _, name := range k.Cables {
		words := wordsIn(strings.ToLower(name))
		slices.Sort(words)
		for _, w := range slices.Compact(words) {
			count[w]++
		}
	}
	for w, n := range count {
		digits := strings.Trim(w, "0123456789") == ""
		if len([]rune(w)) >= 3 && !digits && !slices.Contains(telling, w) && (n < len(k.Cables) || n == 1) {
			all = append(all, w)
		}
	}
	slices.Sort(all)
	return all
}

// wordsIn are the runs of letters and digits of a text.
func wordsIn(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !inWord(r) })
}

func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }

// text is what may be published of what people wrote somewhere.
func (h *hider) text(where, s string) string {
	s, letters := h.named(s)
	var out strings.Builder
	cut := false
	for s != "" {
		n := strings.IndexFunc(s, func(r rune) bool { return !inWord(r) })
		switch {
		case n < 0:
			n = len(s)
		case n == 0:
			n = len(string([]rune(s)[:1]))
		}
		word := s[:n]
		if h.isPart(word) {
			word, cut = taken, true
		}
		out.WriteString(word)
		s = s[n:]
	}
	if cut && where != "" && !slices.Contains(h.partly, where) {
		h.partly = append(h.partly, where)
	}
	return letters.Replace(out.String())
}

// isPart says that a word begins with one of a cable's name, or holds a long one.
func (h *hider) isPart(word string) bool {
	const long = 5 // letters that don't come about in other words by chance
	lower := strings.ToLower(word)
	return slices.ContainsFunc(h.parts, func(part string) bool {
		return strings.HasPrefix(lower, part) || len([]rune(part)) >= long && strings.Contains(lower, part)
	})
}

func (h *hider) texts(where string, all []string) []string {
	var out []string
	for _, s := range all {
		out = append(out, h.text(where, s))
	}
	return out
}

// ours is a sentence of the program's, in which only whole names can be.
func (h *hider) ours(s string) string {
	s, letters := h.named(s)
	return letters.Replace(s)
}

// named takes files' and cables' names out. In their places stand numbers between
// zero bytes, so that no letter is taken for a name; the second result puts
// letters there.
func (h *hider) named(s string) (string, *strings.Replacer) {
	s = strings.ReplaceAll(s, "\x00", "")
	for _, f := range h.files {
		s = strings.ReplaceAll(s, f.from, f.to)
	}
	var pairs []string
	for i, m := range h.names {
		place := fmt.Sprintf("\x00%d\x00", i)
		s = m.replace(s, place)
		pairs = append(pairs, place, m.letter)
	}
	return s, strings.NewReplacer(pairs...)
}

func (m mask) replace(s, by string) string {
	var out strings.Builder
	last := 0
	for _, at := range m.name.FindAllStringIndex(s, -1) {
		if m.short && !alone(s, at[0], at[1]) {
			continue
		}
		out.WriteString(s[last:at[0]] + by)
		last = at[1]
	}
	return out.String() + s[last:]
}

// alone says that no letter or digit stands beside a part of a text.
func alone(s string, from, to int) bool {
	before, after := []rune(s[:from]), []rune(s[to:])
	return (len(before) == 0 || !inWord(before[len(before)-1])) && (len(after) == 0 || !inWord(after[0]))
}

// file is what a capture is called in a blind report.
func (h *hider) file(name string) string {
	if name == "" {
		return ""
	}
	for _, f := range h.files {
		if f.from == name {
			return f.to
		}
	}
	return "a capture"
}
