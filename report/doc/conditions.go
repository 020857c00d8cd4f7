package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

func settingsFacts(s model.Settings) Facts {
	volts := "unknown"
	if known := Scales(s); len(known) > 0 {
		volts = strings.Join(known, "; ")
	}
	mains := Printable(s.Mains)
	if s.WideMains {
		mains += ", over the range of generators"
	}
	half := Percent(s.FalseAlarmShare / 2)
	return Facts{Of: []Fact{
		{"Mains sought", mains},
		{"Lines to", Hz(model.Num(s.UpToHz))},
		{"Window", Printable(s.Window)},
		{"Full scale", volts},
		{"Intervals", Percent(s.Confidence)},
		{"False alarms", fmt.Sprintf("in %s of captures of noise alone: %s the search for the mains, %s a line found, all lines together",
			Percent(s.FalseAlarmShare), half, half)},
	}}
}

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
func sidesTable(id string, all []side) Table {
	t := Table{ID: id, Title: "Conditions", Columns: []Column{{Head: "condition", Left: true}}}
	for _, s := range all {
		t.Columns = append(t.Columns, Column{Head: s.name, Left: true})
	}
	for _, fact := range []struct {
		name string
		of   func(model.Capture) string
	}{
		{"file", func(c model.Capture) string { return File(c.File) }},
		{"channel", func(c model.Capture) string { return fmt.Sprint(c.Channel) }},
		{"span", Averaged},
		{"sample rate", func(c model.Capture) string { return Hz(model.Num(c.RateHz)) }},
		{"samples", func(c model.Capture) string { return Samples(c.Side) }},
		{"mains, by the recorder's clock", mainsCondition},
		{"largest sample", largest},
		{"DC offset", func(c model.Capture) string { return Fixed(c.Health.DC, 6) + " of full scale" }},
		{"clipped", func(c model.Capture) string { return Count(c.Health.Clipped, "sample") }},
		{"noise without hum", func(c model.Capture) string { return DBFS(c.Noise.DBFS) }},
		{"noise, A-weighted", func(c model.Capture) string { return DBFS(c.Noise.ADBFS) }},
	} {
		row := Row{Shown: true, Cells: []Cell{{Text: fact.name}}}
		for _, s := range all {
			row.Cells = append(row.Cells, Cell{Text: fact.of(s.Capture)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// mainsCondition is a capture's mains, and between which frequencies it was.
func mainsCondition(c model.Capture) string {
	m := c.Mains
	if !m.Detected {
		return "not found"
	}
	said := MainsHz(m.Hz, m.U95Hz)
	if !m.MinHz.Ok() || !m.MaxHz.Ok() {
		return said
	}
	lo, hi := Fixed(m.MinHz, 3), Fixed(m.MaxHz, 3)
	if lo == hi {
		return said + ", wandering by less than 0.001 Hz"
	}
	return fmt.Sprintf("%s, wandering from %s to %s Hz", said, lo, hi)
}

func largest(c model.Capture) string {
	h := c.Health
	switch {
	case h.Silent:
		return "one value throughout"
	case !h.PeakDBFS.Ok():
		return unknown
	case !h.PeakSeconds.Ok():
		return DB(h.PeakDBFS) + " from full scale"
	}
	return DB(h.PeakDBFS) + " from full scale at " + Seconds(float64(h.PeakSeconds))
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
