package session

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/fault"
)

// entry is one table of the session file, or one row of the list of runs, with
// where each value stands.
type entry struct {
	at   place
	keys []given
	bad  []string // keys that are there and can't be understood
}

// given is what is said of a key.
type given struct {
	name string
	said any
	at   place
}

// has says whether a key is there, understood or not.
func (e entry) has(name string) bool {
	return e.wrong(name) || slices.ContainsFunc(e.keys, func(g given) bool { return g.name == name })
}

// wrong says whether one of some keys is there and can't be understood. What
// depends on it is then no problem of its own.
func (e entry) wrong(names ...string) bool {
	return slices.ContainsFunc(e.bad, func(b string) bool { return slices.Contains(names, b) })
}

// place is where a key stands; the entry where it isn't there.
func (e entry) place(name string) place {
	for _, g := range e.keys {
		if g.name == name {
			return g.at
		}
	}
	return e.at
}

// fill sets what an entry states, and says what can't be.
func (e *entry) fill(keys []key, problems *Problems) {
	for i, g := range e.keys {
		if name := also[g.name]; slices.ContainsFunc(keys, func(k key) bool { return k.name == name }) {
			if e.has(name) {
				problems.add(g.at, "leave one of them out", "%s is %s by another name, which is there too", g.name, name)
			}
			e.keys[i].name = name
		}
	}
	for _, g := range e.keys {
		i := slices.IndexFunc(keys, func(k key) bool { return k.name == g.name })
		if i < 0 {
			problems.add(g.at, meant(g.name, names(keys)), "there is no key %q here", g.name)
			e.bad = append(e.bad, nearest(g.name, names(keys)))
			continue
		}
		if err := keys[i].value.read(g.said); err != nil {
			problems.add(g.at, fault.Hint(err), "%s: %s", g.name, err)
			e.bad = append(e.bad, g.name)
		}
	}
}

// meant is the hint for a word that isn't known.
func meant(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "there are " + strings.Join(known, ", ")
}
