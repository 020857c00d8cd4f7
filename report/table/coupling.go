package table

import (
	"fmt"
	"math"
	"slices"

	"humdiff/report/result"
	"humdiff/report/words"
)

// Coupling is the table of a coupling result: a row for each run, or for each
// far end where pickup was worked out forwards.
func Coupling(r result.Coupling) Table {
	t := Table{Footers: Warnings(r.Warnings)}
	if len(r.Runs) > 0 {
		fields := runFields()
		t.Columns = columns(fields)
		t.Groups = []Group{{Title: "Runs", Rows: rowsOf(r.Runs, fields)}}
		t.Notes = []string{
			"Electric, other: what controlled changes leave for the electric field, and for magnetic field and loop together. Capacitance: of the electric part where there is one, else as if all of the pickup came that way.",
			"Pickup is a range: the phase between old and new hum is unknown.",
		}
		return t
	}
	fields := expectedFields()
	t.Columns = columns(fields)
	t.Groups = []Group{{Title: "Pickup to expect", Rows: rowsOf(r.Expected, fields)}}
	t.Notes = []string{"Thermal: noise of the impedance at the input at 20 °C. 1 µV at: the capacitance that brings 1 µV there."}
	return t
}

func rowsOf[L any](all []L, fields []field[L, any]) []Row {
	var out []Row
	for _, l := range all {
		out = append(out, Row{Shown: true, Cells: lineCells(fields, l)})
	}
	return out
}

type runField = field[result.CouplingRun, any]

func runFields() []runField {
	f := func(head, unit string, spare int, plain []string, cell func(result.CouplingRun) Cell) runField {
		return runField{Column{Head: head, Unit: unit, Plain: plain, Spare: spare}, cell, nil}
	}
	return []runField{
		f("run", "", 0, []string{"file", "channel", "harmonic"}, func(r result.CouplingRun) Cell {
			return Cell{Text: words.File(r.File), Plain: []any{r.File, r.Channel, r.Harmonic}}
		}),
		f("far end", "", 0, []string{"far_end_open", "source_lo_ohms", "source_hi_ohms"}, func(r result.CouplingRun) Cell {
			return Cell{Text: words.FarEnd(r.BenchConditions), Plain: []any{r.FarEndOpen, r.SourceOhms.Lo, r.SourceOhms.Hi}}
		}),
		hidden[result.CouplingRun, any]("loaded", func(r result.CouplingRun) any { return r.Loaded }),
		hidden[result.CouplingRun, any]("lead_lo_amps", func(r result.CouplingRun) any { return r.LeadAmps.Lo }),
		hidden[result.CouplingRun, any]("lead_hi_amps", func(r result.CouplingRun) any { return r.LeadAmps.Hi }),
		hidden[result.CouplingRun, any]("bonded", func(r result.CouplingRun) any { return r.Bonded }),
		hidden[result.CouplingRun, any]("plug", func(r result.CouplingRun) any { return r.Plug }),
		hidden[result.CouplingRun, any]("quoted", func(r result.CouplingRun) any { return r.Quoted }),
		f("pickup", "rms", 0, []string{"pickup_lo_volts_rms", "pickup_hi_volts_rms"}, endsCell("V", func(r result.CouplingRun) result.Ends { return r.PickupVolts })),
		f("capacitance", "", 0, []string{"capacitance_lo_farads", "capacitance_hi_farads"}, endsCell("F", func(r result.CouplingRun) result.Ends { return r.CapacitanceFarads })),
		f("electric", "rms", spareVoltage, []string{"electric_lo_volts_rms", "electric_hi_volts_rms"}, endsCell("V", func(r result.CouplingRun) result.Ends { return r.Mechanism.ElectricVolts })),
		f("other", "rms", spareVoltage, []string{"not_electric_lo_volts_rms", "not_electric_hi_volts_rms"}, endsCell("V", func(r result.CouplingRun) result.Ends { return r.Mechanism.OtherVolts })),
		f("mechanism", "", 0, []string{"mechanism", "how"}, func(r result.CouplingRun) Cell {
			return Cell{Text: words.Verdict(r.Mechanism.Verdict), Plain: []any{r.Mechanism.Verdict, r.Mechanism.How}}
		}),
	}
}

// endsCell prints a range, or nothing where its upper end isn't known.
func endsCell[L any](unit string, of func(L) result.Ends) func(L) Cell {
	return func(l L) Cell {
		e := of(l)
		c := Cell{Plain: []any{e.Lo, e.Hi}}
		if e.Hi.Ok() {
			c.Text = words.Between(e, unit)
		}
		return c
	}
}

type expectedField = field[result.Expected, any]

func expectedFields() []expectedField {
	ends := func(head, unit, name string, of func(result.Expected) result.Ends) expectedField {
		return expectedField{Column{Head: head, Plain: []string{name + "_lo", name + "_hi"}}, endsCell(unit, of), nil}
	}
	number := func(head, unit, name string, of func(result.Expected) result.Num) expectedField {
		return expectedField{Column{Head: head, Plain: []string{name}}, func(e result.Expected) Cell {
			v := of(e)
			return Cell{Text: words.Between(result.Ends{Lo: v, Hi: v}, unit), Plain: []any{v}}
		}, nil}
	}
	return []expectedField{
		{Column{Head: "far end", Plain: []string{"far_end_open", "source_lo_ohms", "source_hi_ohms"}}, func(e result.Expected) Cell {
			return Cell{Text: words.FarEnd(e.BenchConditions), Plain: []any{e.FarEndOpen, e.SourceOhms.Lo, e.SourceOhms.Hi}}
		}, nil},
		ends("pickup", "V", "pickup_volts_rms", func(e result.Expected) result.Ends { return e.PickupVolts }),
		number("thermal, 1 Hz", "V", "thermal_volts_per_root_hz", func(e result.Expected) result.Num { return e.ThermalVoltsRootHz }),
		number("20 Hz to 20 kHz", "V", "thermal_volts", func(e result.Expected) result.Num { return e.ThermalVolts }),
		number("1 µV at", "F", "microvolt_farads", func(e result.Expected) result.Num { return e.MicrovoltFarads }),
	}
}

// Audible is the table of lines at the listener against the threshold of
// hearing; those are printed that come nearest to it.
func Audible(a result.Audibility) Table {
	fields := audibleFields()
	t := Table{Columns: columns(fields)}
	g := Group{Title: "At the listener, near"}
	least := leastMargin(a)
	for _, l := range a.Lines {
		g.Rows = append(g.Rows, Row{Shown: l.MarginDB.Hi >= least, Cells: lineCells(fields, l)})
	}
	if left := len(a.Lines) - mostAudible; left > 0 {
		g.Notes = append(g.Notes, fmt.Sprintf("%s farther below the threshold are left out here.", words.Count(left, "line")))
	}
	if e := a.AWeightedDB; e.Hi.Ok() {
		g.Notes = append(g.Notes, fmt.Sprintf("All lines, A-weighted (IEC 61672-1): %s dB SPL.", soundRange(e)))
	}
	t.Groups = []Group{g}
	return t
}

// mostAudible is how many lines are printed; CSV and JSON have them all.
const mostAudible = 12

// leastMargin is that of the last line that is printed.
func leastMargin(a result.Audibility) result.Num {
	var all []result.Num
	for _, l := range a.Lines {
		all = append(all, l.MarginDB.Hi)
	}
	slices.Sort(all)
	if n := len(all); n > mostAudible {
		return all[n-mostAudible]
	}
	return result.Num(math.Inf(-1))
}

func soundRange(e result.Ends) string {
	if !e.Lo.Ok() {
		return "below " + words.Fixed(words.Up(e.Hi), 1)
	}
	if words.Fixed(e.Lo, 1) == words.Fixed(e.Hi, 1) {
		return words.Fixed(e.Lo, 1)
	}
	return words.Fixed(e.Lo, 1) + " to " + words.Fixed(e.Hi, 1)
}

type audibleField = field[result.AudibleLine, any]

func audibleFields() []audibleField {
	sound := func(head, name string, of func(result.AudibleLine) result.Ends) audibleField {
		return audibleField{Column{Head: head, Unit: "dB", Plain: []string{name + "_lo_db", name + "_hi_db"}}, func(l result.AudibleLine) Cell {
			e := of(l)
			return Cell{Text: soundRange(e), Plain: []any{e.Lo, e.Hi}}
		}, nil}
	}
	return []audibleField{
		{Column{Head: "harmonic", Plain: []string{"harmonic"}}, func(l result.AudibleLine) Cell { return harmonicCell(l.Harmonic) }, nil},
		{Column{Head: "frequency", Unit: "Hz", Plain: []string{"hz"}}, func(l result.AudibleLine) Cell { return numberCell(l.Hz, 2) }, nil},
		{Column{Head: "at the input", Plain: []string{"lo_volts_rms", "hi_volts_rms"}}, endsCell("V", func(l result.AudibleLine) result.Ends { return l.Volts }), nil},
		sound("SPL", "spl", func(l result.AudibleLine) result.Ends { return l.SPLDB }),
		{Column{Head: "threshold", Unit: "dB", Plain: []string{"threshold_db"}}, func(l result.AudibleLine) Cell { return numberCell(l.ThresholdDB, 1) }, nil},
		sound("margin", "margin", func(l result.AudibleLine) result.Ends { return l.MarginDB }),
	}
}
