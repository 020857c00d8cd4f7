package session

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Field is one thing that a session may state, as a form has it.
type Field struct {
	Name, Value   string
	Example, Says string
	Choices       []string // the words there are for it; empty: any
}

// Tables of a session that forms have.
const (
	TopTable   = "top"
	BenchTable = "bench"
	RolesTable = "roles"
	ClaimTable = "claim"
	RunTable   = "run"
)

// choices are the words of keys that have few.
var choices = map[string][]string{
	"condition": {model.Quiet, model.Near, model.Unplugged, model.Residual}, "kind": model.ClaimKinds,
	"mains_hz": {"50", "60"}, "plug": {"1", "2"}, "bonded": {model.Yes, "class2", model.No},
	"balanced": {model.Yes, model.No}, "loaded": {model.Yes, model.No}, "replaced": {model.Yes, model.No},
}

// lists are the keys of which a form has several values, parted by semicolons.
var lists = []string{"calibration", "photos"}

// table is the keys of a table of the session, and of a run or claim the ith; where
// there is none of that number, those of a blank one. keep puts what they then state
// into the session.
func (f *File) table(name string, i int, blank bool) (keys []key, keep func()) {
	s := &f.Sitting
	switch name {
	case TopTable:
		fresh := File{}
		if !blank {
			fresh = *f
		}
		return topKeys(&fresh)[:1], // the rest is the program's
			func() { s.Title = fresh.Sitting.Title }
	case BenchTable:
		b := Blank().Bench
		if !blank {
			b = s.Bench
		}
		return benchKeys(&b), func() { s.Bench = b }
	case RolesTable:
		r := Blank()
		if !blank {
			r = *s
		}
		return roleKeys(&r), func() { s.Control, s.Idle = r.Control, r.Idle }
	case ClaimTable:
		return item(&s.Claims, i, blank, blankClaim, claimKeys)
	case RunTable:
		return item(&s.Runs, i, blank, BlankRun, runKeys)
	}
	return nil, func() {}
}

func item[V any](all *[]V, i int, blank bool, none func() V, keysOf func(*V) []key) (keys []key, keep func()) {
	v, there := none(), i >= 0 && i < len(*all)
	if there && !blank {
		v = (*all)[i]
	}
	return keysOf(&v), func() {
		*all = slices.Clone(*all)
		if there {
			(*all)[i] = v
		} else {
			*all = append(*all, v)
		}
	}
}

// Fields are what a table of the session states, and may state.
func (f File) Fields(table string, i int) (all []Field) {
	keys, _ := f.table(table, i, false)
	for _, k := range keys {
		v := Field{Name: k.name, Value: cellOf(k.value.write()), Example: strings.Trim(k.example, `"[]`), Says: k.says, Choices: choices[k.name]}
		if many, is := k.value.write().([]string); is && slices.Contains(lists, k.name) {
			v.Value = strings.Join(many, "; ")
		}
		all = append(all, v)
	}
	return all
}

// Fill states in a table what a form says, by the names of its fields: an empty text
// is nothing stated, and a field that isn't named stays as it is. Where any can't be
// understood nothing is changed, and wrong says why, by name.
func (f *File) Fill(table string, i int, said map[string]string) (wrong map[string]string) {
	was, _ := f.table(table, i, false)
	keys, keep := f.table(table, i, true)
	wrong = map[string]string{}
	for k, to := range keys {
		text, named := said[to.name]
		if !named {
			text = cellOf(was[k].value.write())
		}
		if strings.TrimSpace(text) == "" {
			continue
		}
		var v any = cell(text)
		if slices.Contains(lists, to.name) && named {
			v = parted(text)
		}
		if err := to.value.read(v); err != nil {
			wrong[to.name] = err.Error()
			if hint := fault.Hint(err); hint != "" {
				wrong[to.name] = fmt.Sprintf("%s: %s", err, hint)
			}
		}
	}
	if len(wrong) == 0 {
		keep()
	}
	return wrong
}

func parted(text string) (all []any) {
	for part := range strings.SplitSeq(text, ";") {
		if part = strings.TrimSpace(part); part != "" {
			all = append(all, part)
		}
	}
	return all
}

// Confirmed is a run as guess reads it off its name, where nobody has said otherwise:
// what r states and nobody guessed stays.
func Confirmed(guess, r model.Run) model.Run {
	was, out := runKeys(&r), guess
	for i, to := range runKeys(&out) {
		v := was[i].value.write()
		if to.name == "guessed" || slices.Contains(r.Guessed, to.name) || v == nil && to.name != model.StartKey {
			continue
		}
		if v == nil || to.value.read(cell(cellOf(v))) == nil {
			out.Guessed = slices.DeleteFunc(slices.Clone(out.Guessed), func(key string) bool { return key == to.name })
		}
	}
	return out
}
