package text

import (
	"slices"
	"strings"

	"humdiff/report/doc"

	"github.com/jedib0t/go-pretty/v6/text"
)

// sheet is what is printed of a table: the rows that are shown.
type sheet struct {
	columns []doc.Column
	rows    [][]doc.Cell
	total   []doc.Cell
}

// sheetOf is a table as printed, in the short form with its key rows alone.
func sheetOf(t doc.Table, short bool) sheet {
	s := sheet{columns: t.Columns, total: harmless(t.Total)}
	for _, r := range t.Rows {
		if r.Shown && (r.Key || !short) {
			s.rows = append(s.rows, harmless(r.Cells))
		}
	}
	return s
}

func harmless(cells []doc.Cell) []doc.Cell {
	cells = slices.Clone(cells)
	for i := range cells {
		cells[i].Text = doc.Printable(cells[i].Text)
	}
	return cells
}

func (w *writer) table(t doc.Table) {
	s := sheetOf(t, w.short)
	if len(t.Rows) > 0 && len(s.rows) == 0 && s.total == nil {
		return // the short form has none of it
	}
	if w.Len() > 0 && t.Title != "" && t.Title != w.of {
		w.line(0, "")
	}
	switch {
	case w.ownTitle:
		w.paragraph(0, t.Title)
	case t.Title != w.of && t.Title != "":
		w.paragraph(1, t.Title)
	}
	var left []string
	if len(s.rows) > 0 {
		if s, left = s.fit(w.width, 1); w.short && w.width == 0 {
			s, _ = s.fit(usual, doc.SpareFirst)
		}
		for _, line := range s.render(w.width) {
			w.line(0, line)
		}
	}
	if w.short {
		if t.Rest != "" {
			w.paragraph(1, t.Rest)
		}
		return
	}
	for _, n := range t.Notes {
		w.paragraph(1, n)
	}
	if len(left) > 0 {
		w.paragraph(1, doc.LeftOut(left))
	}
}

// fit leaves out of a sheet what can best be spared, and at least so well, until it is no
// wider than so many columns, as far as that goes, and names what that was.
func (s sheet) fit(width, least int) (fitting sheet, left []string) {
	for spare := mostSpare(s.columns); spare >= least && width > 0 && s.width() > width; spare-- {
		if spare == doc.SpareIntervals {
			s, left = s.bare(), append(left, doc.WithoutIntervals)
			continue
		}
		for i := len(s.columns) - 1; i >= 0; i-- {
			if s.columns[i].Spare == spare {
				left = append(left, s.columns[i].Head)
				s = s.without(i)
			}
		}
	}
	return s, left
}

func mostSpare(columns []doc.Column) int {
	most := 0
	for _, c := range columns {
		most = max(most, c.Spare)
		if c.Level {
			most = max(most, doc.SpareIntervals)
		}
	}
	return most
}

func (s sheet) without(column int) sheet {
	cut := func(cells []doc.Cell) []doc.Cell {
		if cells == nil {
			return nil
		}
		return slices.Delete(slices.Clone(cells), column, column+1)
	}
	return s.each(slices.Delete(slices.Clone(s.columns), column, column+1), cut)
}

// bare takes the intervals off the levels.
func (s sheet) bare() sheet {
	return s.each(s.columns, func(cells []doc.Cell) []doc.Cell {
		cells = slices.Clone(cells)
		for i := range cells {
			if s.columns[i].Level {
				cells[i].Spread = ""
			}
		}
		return cells
	})
}

func (s sheet) each(columns []doc.Column, change func([]doc.Cell) []doc.Cell) sheet {
	out := sheet{columns: columns, total: change(s.total)}
	for _, r := range s.rows {
		out.rows = append(out.rows, change(r))
	}
	return out
}

// width is that of the rules between head and rows.
func (s sheet) width() int { return sum(s.natural()) + gap*len(s.columns) }

// render is the sheet in lines, heads and total set off by rules; columns of words are folded
// where it would be wider than so many columns.
func (s sheet) render(width int) (lines []string) {
	widths, room := s.widths(width), s.roomBehind()
	add := func(texts []string) { lines = append(lines, s.set(texts, widths)...) }
	rule := func() { lines = append(lines, strings.Repeat("-", sum(widths)+gap*len(widths))) }
	var heads []string
	for _, c := range s.columns {
		heads = append(heads, strings.TrimSuffix(c.Head+"\n"+c.Unit, "\n"))
	}
	add(heads)
	rule()
	for _, r := range s.rows {
		add(aligned(r, room))
	}
	if s.total != nil {
		rule()
		add(aligned(s.total, room))
	}
	return lines
}

// set sets texts beside each other, each in its column.
func (s sheet) set(texts []string, widths []int) (lines []string) {
	for i, t := range texts {
		for k, line := range foldCell(t, widths[i]) {
			if k == len(lines) {
				lines = append(lines, strings.Repeat(" ", sum(widths[:i])+gap*i))
			}
			blank := strings.Repeat(" ", max(0, widths[i]-text.StringWidth(line)))
			if s.columns[i].Left {
				line += blank
			} else {
				line = blank + line
			}
			lines[k] += line + strings.Repeat(" ", gap)
		}
		for k := range lines { // those that this text has nothing in
			lines[k] = padded(lines[k], sum(widths[:i+1])+gap*(i+1))
		}
	}
	return lines
}

func sum(all []int) (n int) {
	for _, x := range all {
		n += x
	}
	return n
}

// widths are how wide columns are; where there is too little room the widest give way.
func (s sheet) widths(width int) []int {
	all := s.natural()
	for over := s.width() - width; width > 0 && over > 0; over-- {
		widest := 0
		for i := range all {
			if all[i] > all[widest] {
				widest = i
			}
		}
		if all[widest] <= narrowest {
			break
		}
		all[widest]--
	}
	return all
}

// natural is how wide columns are where there is room.
func (s sheet) natural() []int {
	room := s.roomBehind()
	all := make([]int, len(s.columns))
	for i, c := range s.columns {
		all[i] = max(text.StringWidth(c.Head), text.StringWidth(c.Unit))
	}
	for _, r := range append(s.rows[:len(s.rows):len(s.rows)], s.total) {
		for i, c := range r {
			w := text.StringWidth(c.Text) + text.StringWidth(c.Mark)
			if c.Spread != "" {
				w = text.StringWidth(c.Text) + room[i].mark + 1 + room[i].spread
			}
			all[i] = max(all[i], w)
		}
	}
	return all
}

const (
	gap       = 2 // blanks between columns
	narrowest = 8 // columns
)

// foldCell folds a cell's or a heading's lines.
func foldCell(s string, width int) (lines []string) {
	for _, line := range strings.Split(s, "\n") {
		if text.StringWidth(line) <= width { // whatever blanks align it
			lines = append(lines, line)
			continue
		}
		lines = append(lines, folded(line, width, true)...)
	}
	return lines
}

// behind is how wide the marks and the intervals of a column are.
type behind struct{ mark, spread int }

func (s sheet) roomBehind() []behind {
	room := make([]behind, len(s.columns))
	for _, r := range append(s.rows[:len(s.rows):len(s.rows)], s.total) {
		for i, c := range r {
			room[i] = behind{max(room[i].mark, text.StringWidth(c.Mark)), max(room[i].spread, text.StringWidth(c.Spread))}
		}
	}
	return room
}

// aligned pads marks and intervals, so that the values before them end in one
// place; a cell without an interval, such as a limit, ends where the intervals
// end.
func aligned(cells []doc.Cell, room []behind) []string {
	row := make([]string, len(cells))
	for i, c := range cells {
		s := c.Text + c.Mark
		if c.Spread != "" {
			s = c.Text + padded(c.Mark, room[i].mark) + " " + padded(c.Spread, room[i].spread)
		}
		row[i] = s
	}
	return row
}
