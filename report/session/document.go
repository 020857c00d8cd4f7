package session

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// document is a session file taken apart, each value with its place.
type document struct {
	top, bench, roles, playback, drive entry
	runs, driven, claims               []entry
	problems                           Problems

	file  string
	lines places
}

// parse takes a session file apart. What is no TOML is one problem, with its
// line and column.
func parse(file string, text []byte) (d document) {
	d.file = file
	here := place{file: file}
	d.top, d.bench, d.roles, d.playback, d.drive = entry{at: here}, entry{at: here}, entry{at: here}, entry{at: here}, entry{at: here}
	if at := notUTF8(text); at > 0 {
		d.problems.add(place{file: file, line: at}, "save the file as UTF-8", "it holds letters that are no UTF-8")
		return d
	}
	var all map[string]any
	if err := toml.Unmarshal(text, &all); err != nil {
		d.problems.add(syntaxPlace(file, err), "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
		return d
	}
	d.lines = findPlaces(file, text)
	for _, k := range d.entry("", all).keys {
		switch k.name {
		case "bench":
			d.bench = d.table(k)
		case "roles":
			d.roles = d.table(k)
		case "playback":
			d.playback = d.table(k)
		case "drive":
			d.drive = d.table(k)
		case "run":
			d.runs = d.tables(k)
		case "claim":
			d.claims = d.tables(k)
		default:
			d.top.keys = append(d.top.keys, k)
		}
	}
	return d
}

// notUTF8 is the line of the first letter that is no UTF-8; 0 where all are.
func notUTF8(text []byte) int {
	for i, line := range strings.Split(string(text), "\n") {
		if !utf8.ValidString(line) {
			return i + 1
		}
	}
	return 0
}

func syntaxPlace(file string, err error) place {
	at := place{file: file}
	var syntax *toml.DecodeError
	if errors.As(err, &syntax) {
		at.line, at.column = syntax.Position()
	}
	return at
}

// entry lists the keys of a table whose path is given, in the order of lines.
func (d *document) entry(path string, table map[string]any) entry {
	e := entry{at: d.lines.of(d.file, path)}
	for name, v := range table {
		e.keys = append(e.keys, given{name, v, d.lines.of(d.file, joined(path, name))})
	}
	slices.SortFunc(e.keys, func(a, b given) int { return a.at.line - b.at.line })
	return e
}

func (d *document) table(k given) entry {
	table, ok := k.said.(map[string]any)
	if !ok {
		d.problems.add(k.at, fmt.Sprintf("write [%s] on a line of its own, and its keys below", k.name), "%q is no table", k.name)
	}
	return d.entry(k.name, table)
}

func (d *document) tables(k given) (all []entry) {
	list, ok := k.said.([]any)
	if !ok {
		d.problems.add(k.at, fmt.Sprintf("write [[%s]] in double brackets", k.name), "%q is no list of tables", k.name)
	}
	for i, each := range list {
		at := given{fmt.Sprintf("%s[%d]", k.name, i), each, k.at}
		if _, ok := each.(map[string]any); !ok {
			d.problems.add(k.at, fmt.Sprintf("write [[%s]] in double brackets", k.name), "%q is no list of tables", k.name)
			return nil
		}
		all = append(all, d.table(at))
	}
	return all
}

// places say where each table and key stands: "bench.gain", "run[2]",
// "run[2].cable".
type places map[string]place

// of is where a path stands, or else the nearest table around it that is known.
func (p places) of(file, path string) place {
	for around := path; ; {
		if at, ok := p[around]; ok {
			at.key = path
			return at
		}
		cut := strings.LastIndexAny(around, ".[")
		if cut < 0 {
			return place{file: file, key: path}
		}
		around = around[:cut]
	}
}

func joined(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// findPlaces walks over TOML that is known to be sound.
func findPlaces(file string, text []byte) places {
	p := places{}
	var parser unstable.Parser
	parser.Reset(text)
	table, counts := "", map[string]int{}
	for parser.NextExpression() {
		e := parser.Expression()
		switch e.Kind {
		case unstable.Table:
			table = p.note(file, &parser, "", e)
		case unstable.ArrayTable:
			name := p.note(file, &parser, "", e)
			table = fmt.Sprintf("%s[%d]", name, counts[name])
			counts[name]++
			p[table] = position(file, &parser, e)
		case unstable.KeyValue:
			p.note(file, &parser, table, e)
		}
	}
	return p
}

// note keeps where a dotted key stands below a path, each part of it, and gives
// the whole.
func (p places) note(file string, parser *unstable.Parser, path string, e *unstable.Node) string {
	at := position(file, parser, e)
	for it := e.Key(); it.Next(); {
		path = joined(path, string(it.Node().Data))
		if _, known := p[path]; !known || e.Kind == unstable.KeyValue {
			p[path] = at
		}
	}
	return path
}

// position is where an expression's key begins.
func position(file string, parser *unstable.Parser, e *unstable.Node) place {
	it := e.Key()
	it.Next()
	start := parser.Shape(it.Node().Raw).Start
	return place{file: file, line: start.Line, column: start.Column}
}
