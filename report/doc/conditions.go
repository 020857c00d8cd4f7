package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// settingsFacts are what was asked for.
func settingsFacts(s model.Settings) Facts { return Facts{Of: factsOf(tell("settings", s))} }

// side is a capture under the name it has in a table of conditions.
type side struct {
	name string
	model.Capture
}

func pairSides(p model.Pair) []side {
	all := []side{{"quiet", p.Quiet}, {"near", p.Near}}
	if p.Residual != nil {
		all = append(all, side{"residual", *p.Residual})
	}
	return all
}

// sidesTable is the conditions of captures, side by side.
func sidesTable(i int, title string, all []side) Table {
	t := Table{ID: fmt.Sprintf("conditions%d", i+1), Title: title, Columns: []Column{{Head: "condition", Left: true}}}
	for i, s := range all {
		t.Columns = append(t.Columns, Column{Head: s.name, Left: true})
		for k, fact := range factsOf(tell("conditions", s.Capture)) {
			if i == 0 {
				t.Rows = append(t.Rows, textRow(fact.Name))
			}
			t.Rows[k].Cells = append(t.Rows[k].Cells, Cell{Text: fact.Value})
		}
	}
	return t
}

// hashes list each file once.
func hashes(all []side) Section {
	var facts []Fact
	for _, c := range all {
		if f := (Fact{File(c.File), Printable(c.SHA256)}); !slices.Contains(facts, f) {
			facts = append(facts, f)
		}
	}
	if len(facts) == 0 {
		return Section{}
	}
	return Section{ID: "hashes", Title: "Files", Folded: true, Blocks: []Block{
		List{Items: []string{"SHA-256 of the captures, so that anyone can tell whether they have the same ones:"}}, Facts{Hashes, facts}}}
}
