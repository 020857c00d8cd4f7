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
		claims = append(claims, tell("claim.verdict", c)...)
		for _, part := range c.Parts {
			claims = append(claims, tell("claim.rule", part)...)
		}
	}
	d.Sections = filled(
		Section{ID: "claims", Title: "Claims", Short: shortSure, Blocks: []Block{List{Items: claims}}},
		Section{ID: "found", Title: "What was found", Short: shortSure, Blocks: []Block{List{Items: found}}},
		Section{ID: "figures", Title: "Coupling against frequency", Blocks: figures},
		Section{ID: "tables", Title: "The numbers", Short: shortLines, Blocks: []Block{PassportTable(p)}},
		Section{ID: "budget", Title: "One budget of uncertainty for each", Blocks: []Block{BudgetTable(p)}},
		Section{ID: "tones", Title: "Tone by tone", Blocks: []Block{ToneTable(p)}},
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

// withEnds writes a value with its interval, e.g. "0.312 pF (0.29 to 0.33 pF)".
func withEnds(e model.Estimate, unit string) string {
	if !e.Measured() {
		return Quantity(e, unit)
	}
	return Quantity(e, unit) + " (" + fromTo(e, unit) + ")"
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

// PassportTable has a row for each number of each cable.
func PassportTable(p model.Passport) Table {
	amount := func(head, name string, spare int, of func(ofCable) model.Estimate) field[ofCable] {
		return field[ofCable]{Column: Column{Head: head, Plain: []string{name, name + "_lo", name + "_hi"}, Spare: spare}, cell: func(r ofCable) Cell {
			v, lo, hi := of(r).Numbers()
			c := Cell{Plain: []any{model.Of(v), model.Of(lo), model.Of(hi)}}
			if of(r).Known() {
				c.Text = withEnds(of(r), r.Unit)
			}
			return c
		}}
	}
	fields := []field[ofCable]{
		{Column: Column{Head: "cable", Plain: []string{"cable"}, Left: true}, cell: func(r ofCable) Cell { return Cell{Text: Printable(r.cable), Plain: []any{r.cable}} }},
		{Column: Column{Head: "what", Plain: []string{"quantity", "unit"}, Left: true}, cell: func(r ofCable) Cell {
			return Cell{Text: quantityNamed(r.Quantity), Plain: []any{r.Quantity, r.Unit}}
		}},
		amount("value", "value", 0, func(r ofCable) model.Estimate { return r.Value }),
		amount("per metre", "per_metre", 2, func(r ofCable) model.Estimate { return r.PerMetre }),
		{Column: Column{Head: "rises as f to the", Plain: []string{"slope"}}, cell: func(r ofCable) Cell {
			v, _ := r.Slope.Value()
			c := Cell{Plain: []any{model.Of(v)}}
			if r.Slope.Known() {
				c.Text = Fixed(model.Num(v), 2)
			}
			return c
		}},
		{Column: Column{Head: "placements", Plain: []string{"placements"}}, cell: func(r ofCable) Cell { return countCell(r.Budget.Placements) }},
	}
	return Table{ID: "passport", Title: "Each cable's numbers", Columns: columns(fields), Rows: rowsOf(quotients(p), fields), Notes: tell("passport.notes", p)}
}

// ofBudget is a row of the budgets.
type ofBudget struct {
	ofCable
	what string
	u    model.Num
	dof  model.Num
}

// BudgetTable has a row for each part of each budget, and its sum.
func BudgetTable(p model.Passport) Table {
	var all []ofBudget
	for _, q := range quotients(p) {
		for _, part := range q.Budget.Parts {
			all = append(all, ofBudget{q, part.What, part.UDB, part.DOF})
		}
		if q.Budget.UDB.Ok() {
			all = append(all, ofBudget{q, "all", q.Budget.UDB, q.Budget.DOF})
		}
	}
	fields := []field[ofBudget]{
		{Column: Column{Head: "cable", Plain: []string{"cable"}, Left: true}, cell: func(r ofBudget) Cell { return Cell{Text: Printable(r.cable), Plain: []any{r.cable}} }},
		{Column: Column{Head: "of", Plain: []string{"quantity"}, Left: true}, cell: func(r ofBudget) Cell { return Cell{Text: quantityNamed(r.Quantity), Plain: []any{r.Quantity}} }},
		{Column: Column{Head: "from", Plain: []string{"part"}, Left: true}, cell: func(r ofBudget) Cell {
			return Cell{Text: tellOne("passport.part", r.what), Plain: []any{r.what}}
		}},
		{Column: Column{Head: "standard uncertainty", Unit: "dB", Plain: []string{"u_db"}}, cell: func(r ofBudget) Cell {
			return Cell{Text: Fixed(r.u, 3), Plain: []any{r.u}, Value: r.u}
		}},
		{Column: Column{Head: "degrees of freedom", Plain: []string{"dof"}}, cell: func(r ofBudget) Cell {
			c := Cell{Text: "∞", Plain: []any{r.dof}}
			if r.dof.Ok() {
				c.Text = Fixed(r.dof, 1)
			}
			return c
		}},
	}
	return Table{ID: "budget", Title: "Budgets", Columns: columns(fields), Rows: rowsOf(all, fields), Notes: tell("passport.budget", nil)}
}

// ofTone is a row of what couples at each tone.
type ofTone struct {
	cable string
	model.AtTone
}

// ToneTable has a row for each tone of each drive; of one file alone, its ratios.
func ToneTable(p model.Passport) Table {
	var all []ofTone
	for _, c := range p.Cables {
		for _, t := range c.Frequency {
			all = append(all, ofTone{c.Cable, t})
		}
	}
	if len(all) == 0 {
		return ratioTable(p)
	}
	fields := []field[ofTone]{
		{Column: Column{Head: "cable", Plain: []string{"cable"}, Left: true}, cell: func(r ofTone) Cell { return Cell{Text: Printable(r.cable), Plain: []any{r.cable}} }},
		{Column: Column{Head: "driven", Plain: []string{"drive"}, Left: true}, cell: func(r ofTone) Cell { return Cell{Text: r.Drive, Plain: []any{r.Drive}} }},
		{Column: Column{Head: "tone", Plain: []string{"hz"}}, cell: func(r ofTone) Cell { return Cell{Text: ToneHz(float64(r.Hz)), Plain: []any{r.Hz}, Value: r.Hz} }},
		{Column: Column{Head: "couples", Plain: []string{"size", "size_lo", "size_hi"}}, cell: func(r ofTone) Cell {
			v, lo, hi := r.Size.Numbers()
			return Cell{Text: withEnds(r.Size, toneUnit(r.Drive)), Plain: []any{model.Of(v), model.Of(lo), model.Of(hi)}}
		}},
		{Column: Column{Head: "phase", Unit: "°", Plain: []string{"phase_deg"}}, cell: func(r ofTone) Cell {
			c := Cell{Plain: []any{r.Phase}}
			if r.Size.Measured() {
				c.Text = Fixed(r.Phase, 0)
			}
			return c
		}},
	}
	return Table{ID: "tones", Title: "What couples at each tone", Columns: columns(fields), Rows: rowsOf(all, fields), Notes: tell("passport.tones", nil)}
}

// toneUnit is the unit of what couples.
func toneUnit(drive string) string {
	return map[string]string{model.DriveWire: "V/V", model.DriveCoil: "V/A", model.DriveShield: "Ω"}[drive]
}

// ratioTable has the ratios of one file's channels, at each tone.
func ratioTable(p model.Passport) Table {
	type ratio struct {
		model.DrivenTone
		run model.DrivenRun
	}
	var all []ratio
	for _, r := range p.Runs {
		for _, t := range r.Tones {
			all = append(all, ratio{t, r})
		}
	}
	fields := []field[ratio]{
		{Column: Column{Head: "run", Plain: []string{"run"}}, cell: func(r ratio) Cell { return countCell(r.run.Number) }},
		{Column: Column{Head: "tone", Plain: []string{"hz"}}, cell: func(r ratio) Cell { return Cell{Text: ToneHz(float64(r.Hz)), Plain: []any{r.Hz}} }},
		{Column: Column{Head: "drive", Plain: []string{"drive_dbfs"}}, cell: func(r ratio) Cell { return Cell{Text: DBFS(r.DBFS), Plain: []any{r.DBFS}} }},
		{Column: Column{Head: "ratio to the drive", Plain: []string{"re", "im", "u"}}, cell: func(r ratio) Cell {
			z := complex(float64(r.Re), float64(r.Im))
			text := fmt.Sprintf("%s dB, %s°", Fixed(model.Num(20*math.Log10(cmplx.Abs(z))), 1), Fixed(model.Num(cmplx.Phase(z)*180/math.Pi), 0))
			return Cell{Text: text, Plain: []any{r.Re, r.Im, r.U}}
		}},
	}
	return Table{ID: "ratios", Title: "Ratios", Columns: columns(fields), Rows: rowsOf(all, fields)}
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
	d.Sections = filled(Section{ID: "agreement", Title: "Number by number", Short: shortLines, Blocks: []Block{AgreementTable(r)}})
	return d
}

// AgreementTable has a row for each number that both benches have.
func AgreementTable(r model.Agreement) Table {
	type row = model.AgreeingRow
	amount := func(head, name string, of func(row) model.Estimate) field[row] {
		return field[row]{Column: Column{Head: head, Plain: []string{name, name + "_lo", name + "_hi"}}, cell: func(r row) Cell {
			v, lo, hi := of(r).Numbers()
			return Cell{Text: withEnds(of(r), r.Unit), Plain: []any{model.Of(v), model.Of(lo), model.Of(hi)}}
		}}
	}
	fields := []field[row]{
		{Column: Column{Head: "cable", Plain: []string{"cable"}, Left: true}, cell: func(r row) Cell { return Cell{Text: Printable(r.Cable), Plain: []any{r.Cable}} }},
		{Column: Column{Head: "what", Plain: []string{"quantity", "unit"}, Left: true}, cell: func(r row) Cell {
			return Cell{Text: quantityNamed(r.Quantity), Plain: []any{r.Quantity, r.Unit}}
		}},
		amount("first", "first", func(r row) model.Estimate { return r.First }),
		amount("second", "second", func(r row) model.Estimate { return r.Second }),
		{Column: Column{Head: "normalized error", Plain: []string{"normalized_error", "agrees"}}, cell: func(r row) Cell {
			c := Cell{Plain: []any{r.Error, r.Agrees}}
			if r.Error.Ok() {
				c.Text = Fixed(r.Error, 2)
			}
			return c
		}},
	}
	return Table{ID: "agreement", Title: "Two benches", Columns: columns(fields), Rows: rowsOf(r.Rows, fields), Notes: tell("agreement.notes", nil)}
}
