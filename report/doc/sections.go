package doc

import (
	"fmt"
	"strings"
)

// Places of sections in the short form, in which a reader's questions come: may I
// publish it, how sure, which lines, could it be heard, what is wrong, what to
// record next.
const (
	shortPublish = iota + 1
	shortSure
	shortLines
	shortHeard
	shortWarnings
	shortNext
)

// eachTold puts a heading above what is said of each of several channels.
func eachTold(all []told, part func(told) []string) []Block {
	var blocks []Block
	for _, t := range all {
		if items := part(t); len(items) > 0 {
			if t.of != "" {
				blocks = append(blocks, Heading{Text: t.of})
			}
			blocks = append(blocks, List{Items: items})
		}
	}
	return blocks
}

func sureSection(all []told) Section {
	items := once(all, func(t told) []string { return t.sure })
	if len(items) == 0 {
		return Section{}
	}
	return Section{ID: "sure", Title: "How sure", Short: shortSure, Blocks: []Block{List{Kind: Prose, Items: items, Brief: briefSure(all, items)}}}
}

// briefSure is the first of what is said of how sure, and of one channel what puts it
// in doubt.
func briefSure(all []told, items []string) []string {
	if len(all) != 1 || len(items) < 3 {
		return first(items, 2)
	}
	return append(items[:1:1], items[2:]...)
}

func foundSection(all []told) Section {
	return Section{ID: "found", Title: "What it stands on", Blocks: eachTold(all, func(t told) []string {
		return append(t.standsOn[:len(t.standsOn):len(t.standsOn)], t.found...)
	})}
}

// openSection is what is not shown, and what would show it.
func openSection(all []told) Section {
	next := once(all, func(t told) []string { return t.next })
	notShown := once(all, func(t told) []string { return t.notShown })
	var lists Columns
	if len(notShown) > 0 {
		lists = append(lists, List{Title: "What this does not show", Items: notShown, Brief: []string{}})
	}
	if len(next) > 0 {
		lists = append(lists, List{Title: "What to record next", Items: next, Brief: first(next, 2)})
	}
	if len(lists) == 0 {
		return Section{}
	}
	return Section{ID: "open", Title: "What is open", Short: shortNext, Blocks: []Block{lists}}
}

// first is the first items, and of how many others there are more.
func first(items []string, n int) []string {
	if len(items) <= n+1 {
		return items
	}
	return append(items[:n:n], more(len(items)-n, ""))
}

// whose names whom a sentence is said of, or how many they are.
func whose(names []string) string {
	if len(names) > mostHeaded {
		return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
	}
	return strings.Join(names, "; ")
}

// once gathers what is said of channels, each thing once, with the channels it is
// said of where it isn't said of all.
func once(all []told, part func(told) []string) []string {
	var order []string
	of := map[string][]string{} // whom a sentence is said of
	for _, t := range all {
		for _, sentence := range part(t) {
			if of[sentence] == nil {
				order = append(order, sentence)
			}
			of[sentence] = append(of[sentence], t.of)
		}
	}
	for i, sentence := range order {
		if names := of[sentence]; len(names) < len(all) {
			order[i] = whose(names) + ": " + lowerFirst(sentence)
		}
	}
	return order
}
