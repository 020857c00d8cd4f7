package live

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
)

// grid is the session's runs, a row for each cable and a column for each condition
// under an exposure at a termination.
type grid struct {
	Ends    []head // over the columns: what the cables end in
	Columns []column
	Rows    []row
	Loose   []chip // in no cell yet
}

type head struct {
	Text string
	Span int
}

// column is where runs of one kind stand. Its texts are as a form takes them.
type column struct {
	Text                     string
	End, Exposure, Condition string
	key                      string
}

type row struct {
	Cable string
	Cells []cell
}

// cell is where runs of one cable stand; what falls there becomes like its column.
type cell struct {
	column
	Cable string
	Chips []chip
}

// chip is one run.
type chip struct {
	ID      int
	repeat  int
	Text    string // its repeat
	Name    string // all of it, in words
	File    string
	State   string // "", "open", "guessed", "odd" or "out"
	Odd     []string
	Delta   string
	Guesses string
}

// gridOf is the grid as things stand. The lock is held.
func (b *Bench) gridOf() grid {
	var g grid
	runs := b.sitting.runs
	odd, problems := b.oddOnes(), b.sitting.problems()
	chips := make([]chip, len(runs))
	var cables []string
	for i, r := range runs {
		chips[i] = b.chipOf(r, odd[r.path], problems[i])
		if !placed(r.Run) {
			g.Loose = append(g.Loose, chips[i])
		}
		if name := cableOf(r.Run); !slices.Contains(cables, name) && (placed(r.Run) || r.Cable != "") {
			cables = append(cables, name)
		}
	}
	g.Columns = columnsOf(runs)
	for _, c := range g.Columns {
		text := endSaid(c.End)
		if c.Condition == model.Residual {
			text = "no cable"
		}
		if n := len(g.Ends); n > 0 && g.Ends[n-1].Text == text {
			g.Ends[n-1].Span++
		} else {
			g.Ends = append(g.Ends, head{text, 1})
		}
	}
	at := map[string]*cell{}
	for _, cable := range cables {
		row := row{Cable: doc.Printable(cable), Cells: make([]cell, len(g.Columns))}
		for k, c := range g.Columns {
			row.Cells[k] = cell{column: c, Cable: row.Cable}
			at[cable+"\x00"+c.key] = &row.Cells[k]
		}
		g.Rows = append(g.Rows, row)
	}
	for i, r := range runs {
		if c := at[cableOf(r.Run)+"\x00"+keyOf(r.Run)]; c != nil && placed(r.Run) {
			c.Chips = append(c.Chips, chips[i])
		}
	}
	for _, c := range at {
		slices.SortStableFunc(c.Chips, func(a, b chip) int { return cmp.Compare(a.repeat, b.repeat) })
	}
	return g
}

// noCable is the row of residuals.
const noCable = ""

func cableOf(r model.Run) string {
	if r.Condition == model.Residual {
		return noCable
	}
	return r.Cable
}

// placed says that a run has its cell.
func placed(r model.Run) bool {
	return r.Condition == model.Residual || r.Condition != "" && r.Cable != ""
}

func endOf(t model.Termination) string {
	switch {
	case t.Open:
		return "open"
	case t.Ohms.Ok():
		return strings.TrimSpace(fmt.Sprintf("%g", float64(t.Ohms)))
	}
	return ""
}

func endSaid(end string) string {
	switch end {
	case "":
		return "far end not stated"
	case "open":
		return "far end open"
	}
	return "far end " + end + " Ω"
}

func keyOf(r model.Run) string {
	return endOf(r.Termination) + "\x00" + r.Exposure + "\x00" + r.Condition
}

// order of conditions in a grid.
var order = []string{model.Quiet, model.Near, model.Unplugged, model.Residual}

// last has what stands behind all ends.
var last = map[string]int{model.Residual: 1}

// columnsOf are the columns that runs need, and at each termination one for quiet and
// one for near.
func columnsOf(runs []run) (all []column) {
	var ends, exposures []string
	add := func(end, exposure, condition string) {
		c := column{End: end, Exposure: doc.Printable(exposure), Condition: condition, key: end + "\x00" + exposure + "\x00" + condition}
		c.Text = conditionSaid(condition)
		if exposure != "" {
			c.Text = exposure + ": " + c.Text
		}
		if !slices.ContainsFunc(all, func(o column) bool { return o.key == c.key }) {
			all = append(all, c)
		}
	}
	for _, r := range runs {
		end := endOf(r.Termination)
		if !slices.Contains(ends, end) && (placed(r.Run) || r.Cable != "") {
			ends = append(ends, end)
		}
		if r.Exposure != "" && !slices.Contains(exposures, r.Exposure) {
			exposures = append(exposures, r.Exposure)
		}
		if placed(r.Run) {
			add(end, r.Exposure, r.Condition)
		}
	}
	for _, end := range ends {
		has := func(condition string) bool {
			return slices.ContainsFunc(all, func(c column) bool { return c.End == end && c.Condition == condition })
		}
		if slices.ContainsFunc(runs, func(r run) bool { return endOf(r.Termination) == end && r.Condition != model.Residual }) {
			if !has(model.Quiet) {
				add(end, "", model.Quiet)
			}
			if !has(model.Near) {
				add(end, cmp.Or(append(exposures, "beside")...), model.Near)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b column) int {
		return cmp.Or(cmp.Compare(last[a.Condition], last[b.Condition]), cmp.Compare(slices.Index(ends, a.End), slices.Index(ends, b.End)),
			cmp.Compare(slices.Index(exposures, a.Exposure), slices.Index(exposures, b.Exposure)),
			cmp.Compare(slices.Index(order, a.Condition), slices.Index(order, b.Condition)))
	})
	return all
}

// conditionSaid is a condition as the page calls it.
func conditionSaid(condition string) string {
	if condition == model.Unplugged {
		return "unplugged"
	}
	return condition
}

// chipOf is a run as the grid shows it. The lock is held.
func (b *Bench) chipOf(r run, odd []string, problems []session.Problem) chip {
	c := chip{ID: r.id, repeat: r.Repeat, Text: fmt.Sprint(r.Repeat), Name: doc.Printable(session.Name(r.Run)), Guesses: words(strings.Join(guesses(r.Run), ", "))}
	var marks []string
	if b.outcome.as[r.id] == b.measured(r) {
		c.Delta, marks = b.outcome.deltas[r.id], b.outcome.marks[r.id]
	}
	t := b.takes[r.path]
	if r.Address != "" {
		c.File = doc.File(b.sitting.file.Named(r.Run))
	}
	if !placed(r.Run) {
		c.Text = c.File
	}
	if t != nil && t.err != nil {
		c.Odd, odd, problems, marks = append(c.Odd, sentence(t.err)), nil, nil, nil // that comes first
	}
	if r.LeftOut != "" {
		c.Odd, c.State = append(c.Odd, "Left out: "+doc.Printable(r.LeftOut)+"."), "out"
		return c
	}
	for _, p := range problems {
		if placed(r.Run) || !strings.Contains(p.What, " has no ") { // what it lacks shows
			c.Odd = append(c.Odd, sentenceOf(p))
		}
	}
	for _, s := range slices.Concat(odd, marks) {
		c.Odd = append(c.Odd, strings.TrimSuffix(s, ".")+".")
	}
	switch {
	case len(c.Odd) > 0:
		c.State = "odd"
	case t == nil && r.Measured == "":
		c.State = "open"
	case c.Guesses != "":
		c.State = "guessed"
	}
	return c
}

// guesses are what was guessed of a run and shows in the grid.
func guesses(r model.Run) (all []string) {
	for _, key := range r.Guessed {
		if key != model.StartKey || !r.Start.IsZero() {
			all = append(all, key)
		}
	}
	return all
}

// sentenceOf is a problem as a cell says it.
func sentenceOf(p session.Problem) string {
	s := strings.ToUpper(p.What[:1]) + p.What[1:] + "."
	if p.Hint != "" {
		s += " " + strings.ToUpper(p.Hint[:1]) + p.Hint[1:] + "."
	}
	return doc.Printable(s)
}
