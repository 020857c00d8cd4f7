package doc

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Passport tells what a known source shows of cables: their own numbers, and the pickup
// that those predict.
func Passport(p model.Passport) Document {
	d := Document{Title: passportHeadline(p), Lead: Printable(p.Title), Footer: madeBy(p.Head)}
	var found, missing []string
	var figures []Block
	for i, c := range p.Cables {
		of := cableSaid{c, p, len(p.Cables) > 1}
		for _, q := range c.Couplings {
			found = append(found, tell("passport.coupling", couplingSaid{q, of})...)
		}
		for _, q := range c.Predicted {
			found = append(found, tell("passport.predicted", map[string]any{"of": of, "is": q})...)
		}
		for _, n := range c.Missing {
			missing = appendOnce(missing, of.In()+Says(n))
		}
		if len(c.Frequency) > 0 {
			figures = append(figures, Figure{Name: "coupling", Index: i})
		}
	}
	var claims []string
	for _, c := range p.Claims {
		said := tell("claim.verdict", c)
		for _, part := range c.Parts {
			said = append(said, tell("claim.rule", part)...)
		}
		claims = append(claims, strings.Join(said, " "))
	}
	d.Sections = filled(
		Section{ID: "claims", Title: "Claims", Short: shortSure, Blocks: []Block{List{Items: claims}}},
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{List{Items: found}}},
		Section{ID: "figures", Title: "Coupling against frequency", Blocks: figures},
		Section{ID: "tables", Title: "The numbers", Short: shortLines, Blocks: []Block{passportTable(p)}},
		Section{ID: "budget", Title: "One budget of uncertainty for each", Blocks: []Block{budgetTable(p)}},
		Section{ID: "tones", Title: "Tone by tone", Blocks: []Block{toneTable(p)}},
		nextSection(missing),
		Section{ID: "stands", Title: "What it stands on", Blocks: []Block{List{Items: tell("passport.stands", p)}}},
		Section{ID: "caution", Title: "Before you go to the bench", Blocks: []Block{List{Kind: Caution, Items: slices.Concat(tell("driven.safety", nil), tell("cautions", nil)), Brief: []string{}}}},
		warningSection(p.Warnings),
	)
	return d
}

// cableSaid is a cable's passport with the bench's, for sentences.
type cableSaid struct {
	model.CablePassport
	All  model.Passport
	Many bool // cables
}

// In begins a sentence with the cable, where there are several.
func (c cableSaid) In() string {
	if !c.Many {
		return ""
	}
	return Printable(c.Cable) + ": "
}

// couplingSaid is one number of it.
type couplingSaid struct {
	model.Quotient
	Of cableSaid
}

// passportHeadline names each cable's capacitance, or what else was found first.
func passportHeadline(p model.Passport) string {
	var all []string
	for _, c := range p.Cables {
		if len(c.Couplings) > 0 {
			all = append(all, tellOne("passport.headline", map[string]any{"cable": c.Cable, "is": c.Couplings[0]}))
		}
	}
	if len(all) == 0 {
		return tellOne("passport.none", p)
	}
	return strings.Join(all, " ")
}

// withEnds writes a value with its interval, where that shows, e.g. "0.312 pF (0.29 to 0.33 pF)".
func withEnds(e model.Estimate, unit string) string {
	said := Quantity(e, unit)
	if within := fromTo(e, unit); e.Measured() && within != said {
		return said + " (" + within + ")"
	}
	return said
}

// quantityNamed is what a passport's quantity is called.
func quantityNamed(q string) string { return tellOne("passport.quantity", q) }

// ofCable is a row of a passport's table.
type ofCable struct {
	cable string
	model.Quotient
}

func quotients(p model.Passport) (all []ofCable) {
	for _, c := range p.Cables {
		for _, q := range c.Couplings {
			all = append(all, ofCable{c.Cable, q})
		}
	}
	return all
}

// passportTable has a row for each number of each cable.
func passportTable(p model.Passport) Table {
	type row = ofCable
	inUnit := func(r row, e model.Estimate) string { return withEnds(e, r.Unit) }
	return tableOf("passport", "Each cable's numbers", []field[row]{
		named("cable", func(r row) string { return r.cable }),
		worded("what", func(r row) string { return quantityNamed(r.Quantity) }),
		estimates("value", "", inUnit, func(r row) model.Estimate { return r.Value }),
		estimates("per metre", "", inUnit, func(r row) model.Estimate { return r.PerMetre }).spared(2),
		estimates("rises as f to the", "", func(_ row, e model.Estimate) string { return Fixed(value(e), 2) }, func(r row) model.Estimate { return r.Slope }),
		counts("placements", func(r row) int { return r.Budget.Placements }),
	}, quotients(p), tell("passport.notes", p)...)
}

// budgetTable has a row for each part of each budget, and its sum.
func budgetTable(p model.Passport) Table {
	type row struct {
		ofCable
		part model.BudgetPart
	}
	var all []row
	for _, q := range quotients(p) {
		for _, part := range q.Budget.Parts {
			all = append(all, row{q, part})
		}
		if q.Budget.UDB.Ok() {
			all = append(all, row{q, model.BudgetPart{What: "all", UDB: q.Budget.UDB, DOF: q.Budget.DOF}})
		}
	}
	return tableOf("budget", "Budgets", []field[row]{
		named("cable", func(r row) string { return r.cable }),
		worded("of", func(r row) string { return quantityNamed(r.Quantity) }),
		worded("from", func(r row) string { return tellOne("passport.part", r.part.What) }),
		numbers("standard uncertainty", "dB", decimal(3), func(r row) model.Num { return r.part.UDB }),
		{Column: Column{Head: "degrees of freedom"}, cell: func(r row) Cell {
			if !r.part.DOF.Ok() {
				return Cell{Text: "∞"}
			}
			return Cell{Text: Fixed(r.part.DOF, 1)}
		}},
	}, all, tell("passport.budget", nil)...)
}

// toneTable has a row for each tone of each drive; of one file alone, its ratios.
func toneTable(p model.Passport) Table {
	type row struct {
		cable string
		model.AtTone
	}
	var all []row
	for _, c := range p.Cables {
		for _, t := range c.Frequency {
			all = append(all, row{c.Cable, t})
		}
	}
	if len(all) == 0 {
		return ratioTable(p)
	}
	units := map[string]string{model.DriveWire: "V/V", model.DriveCoil: "V/A", model.DriveShield: "Ω"}
	return tableOf("tones", "What couples at each tone", []field[row]{
		named("cable", func(r row) string { return r.cable }),
		worded("driven", func(r row) string { return r.Drive }),
		numbers("tone", "", tone, func(r row) model.Num { return r.Hz }),
		{Column: Column{Head: "couples"}, cell: func(r row) Cell { return Cell{Text: withEnds(r.Size, units[r.Drive])} }},
		numbers("phase", "°", decimal(0), func(r row) model.Num {
			if !r.Size.Measured() {
				return model.None
			}
			return r.Phase
		}),
	}, all, tell("passport.tones", nil)...)
}

func tone(hz model.Num) string { return ToneHz(hz.Float()) }

// ratioTable has the ratios of one file's channels, at each tone.
func ratioTable(p model.Passport) Table {
	type row struct {
		model.DrivenTone
		run int
	}
	var all []row
	for _, r := range p.Runs {
		for _, t := range r.Tones {
			all = append(all, row{t, r.Number})
		}
	}
	return tableOf("ratios", "Ratios", []field[row]{
		counts("run", func(r row) int { return r.run }),
		numbers("tone", "", tone, func(r row) model.Num { return r.Hz }),
		numbers("drive", "", DBFS, func(r row) model.Num { return r.DBFS }),
		{Column: Column{Head: "ratio to the drive"}, cell: func(r row) Cell {
			z := complex(float64(r.Re), float64(r.Im))
			return Cell{Text: fmt.Sprintf("%s dB, %s°", Fixed(model.Num(20*math.Log10(cmplx.Abs(z))), 1), Fixed(model.Num(cmplx.Phase(z)*180/math.Pi), 0))}
		}},
	}, all)
}

// CouplingText is the text of what couples into a cable against frequency.
func CouplingText(p model.Passport, i int) FigureText {
	c := p.Cables[i]
	title := tellOne("passport.none", p)
	if len(c.Couplings) > 0 {
		title = tellOne("passport.headline", map[string]any{"cable": c.Cable, "is": c.Couplings[0]})
	}
	return FigureText{Title: title, Kind: "What couples at each tone of a known source", X: "frequency, Hz", Y: "coupling, dB (wire: re 1 V/V; coil: re 1 V/A; shield: re 1 Ω)",
		Desc: "Coupling against frequency, with its 95 % intervals from recording noise. " + title}.captioned("figure.coupling", cableSaid{c, p, true})
}

// KeySlope labels the line that rises with frequency.
const KeySlope = "rises with frequency"

// Agreement tells whether two benches say the same of the cables that both measured.
func Agreement(r model.Agreement) Document {
	d := Document{Title: tellOne("agreement.headline", r), Lead: File(r.First.File) + " and " + File(r.Second.File), Footer: madeBy(r.Head)}
	d.Sections = filled(Section{ID: "agreement", Title: "Number by number", Short: shortLines, Blocks: []Block{agreementTable(r)}})
	return d
}

// agreementTable has a row for each number that both benches have.
func agreementTable(r model.Agreement) Table {
	type row = model.AgreeingRow
	inUnit := func(r row, e model.Estimate) string { return withEnds(e, r.Unit) }
	return tableOf("agreement", "Two benches", []field[row]{
		named("cable", func(r row) string { return r.Cable }),
		worded("what", func(r row) string { return quantityNamed(r.Quantity) }),
		estimates("first", "", inUnit, func(r row) model.Estimate { return r.First }),
		estimates("second", "", inUnit, func(r row) model.Estimate { return r.Second }),
		numbers("normalized error", "", decimal(2), func(r row) model.Num { return r.Error }),
	}, r.Rows, tell("agreement.notes", nil)...)
}
