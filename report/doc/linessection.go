package doc

import (
	"slices"

	"humdiff/report/model"
)

// linesSection is tables of lines with what their numbers mean; the short form has
// the lines that matter most, of a single table.
func linesSection(tables []Table, set model.Settings, u Unit, own ...string) Section {
	s := Section{ID: "lines", Title: "Line by line"}
	if len(tables) == 1 {
		s.Short = shortLines
	}
	for _, t := range tables {
		s.Blocks = append(s.Blocks, t)
	}
	if len(tables) > 0 {
		notes := tableNotes(set, u, own, slices.ContainsFunc(tables, anyMarked))
		s.Blocks = append(s.Blocks, List{Kind: Notes, Items: notes, Brief: []string{}})
	}
	return s
}

func warningSection(all []model.Warning) Section {
	s := Section{ID: "warnings", Title: "Warnings"}
	if len(all) == 0 {
		s.Blocks = []Block{List{Items: []string{"No warnings."}}}
		return s
	}
	s.Short = shortWarnings
	s.Blocks = []Block{WarningList(all)}
	return s
}
