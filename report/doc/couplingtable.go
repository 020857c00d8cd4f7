package doc

import (
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

func couplingSection(r model.Coupling) Section {
	t := CouplingTable(r)
	if len(t.Rows) == 0 {
		return Section{}
	}
	return Section{ID: "couplings", Title: "Run by run", Short: shortLines, Blocks: []Block{t}}
}

// CouplingTable has a row for each run, or for each far end where pickup was worked
// out forwards.
func CouplingTable(r model.Coupling) Table {
	if len(r.Runs) == 0 {
		fields := expectedFields()
		return Table{ID: "expected", Title: "Pickup to expect", Columns: columns(fields), Rows: rowsOf(r.Expected, fields),
			Notes: []string{"Thermal: noise of the impedance at the input at 20 °C. 1 µV at: the capacitance that brings 1 µV there."}}
	}
	fields := runFields(r)
	return Table{ID: "runs", Title: "Runs", Columns: columns(fields), Rows: rowsOf(r.Runs, fields), Notes: []string{
		"Electric, other: what controlled changes leave for the electric field, and for magnetic field and loop together.",
		"Capacitance: of the electric part where there is one, else as if all of the pickup came that way.",
		"Pickup is a range: the phase between old and new hum is unknown."}}
}

func rowsOf[R any](all []R, fields []field[R]) []Row {
	var out []Row
	for _, r := range all {
		out = append(out, Row{Shown: true, Key: true, Cells: cellsOf(fields, r)})
	}
	return out
}

// rangeCell prints a range, or nothing where its upper end isn't known.
func rangeCell[R any](head, unit string, plain string, of func(R) model.Estimate) field[R] {
	lo, hi, _ := strings.Cut(plain, " ")
	return field[R]{Column: Column{Head: head, Plain: []string{lo, hi}}, cell: func(r R) Cell {
		lo, hi := ends(of(r))
		c := Cell{Plain: []any{lo, hi}, Value: hi}
		if hi.Ok() {
			c.Text = fromTo(of(r), unit)
		}
		return c
	}}
}

func plainEnd(e model.Estimate, upper bool) any {
	lo, hi := endsOrValue(e)
	if upper {
		return hi
	}
	return lo
}

func farEndField[R any](of func(R) model.BenchConditions) field[R] {
	return field[R]{Column: Column{Head: "far end", Plain: []string{"far_end_open", "source_lo_ohms", "source_hi_ohms"}}, cell: func(r R) Cell {
		b := of(r)
		lo, hi := endsOrValue(b.SourceOhms)
		return Cell{Text: FarEnd(b), Plain: []any{b.FarEndOpen, lo, hi}}
	}}
}

func runFields(all model.Coupling) []field[model.CouplingRun] {
	type run = model.CouplingRun
	spare := func(f field[run]) field[run] { f.Spare = spareVoltage; return f }
	return []field[run]{
		{Column: Column{Head: "run", Plain: []string{"file", "channel", "harmonic"}, Left: true}, cell: func(r run) Cell {
			return Cell{Text: fileIn(all, r.File), Plain: []any{r.File, r.Channel, r.Harmonic}}
		}},
		farEndField(func(r run) model.BenchConditions { return r.BenchConditions }),
		hidden("loaded", func(r run) any { return r.Loaded }),
		hidden("lead_lo_amps", func(r run) any { return plainEnd(r.LeadAmps, false) }),
		hidden("lead_hi_amps", func(r run) any { return plainEnd(r.LeadAmps, true) }),
		hidden("bonded", func(r run) any { return r.Bonded }),
		hidden("plug", func(r run) any { return r.Plug }),
		hidden("quoted", func(r run) any { return r.Quoted }),
		rangeCell("pickup", "V", "pickup_lo_volts_rms pickup_hi_volts_rms", func(r run) model.Estimate { return r.PickupVolts }),
		rangeCell("capacitance", "F", "capacitance_lo_farads capacitance_hi_farads", func(r run) model.Estimate { return r.CapacitanceFarads }),
		spare(rangeCell("electric", "V", "electric_lo_volts_rms electric_hi_volts_rms", func(r run) model.Estimate { return r.Mechanism.ElectricVolts })),
		spare(rangeCell("other", "V", "not_electric_lo_volts_rms not_electric_hi_volts_rms", func(r run) model.Estimate { return r.Mechanism.OtherVolts })),
		{Column: Column{Head: "mechanism", Plain: []string{"mechanism", "how"}, Left: true}, cell: func(r run) Cell {
			return Cell{Text: strings.ReplaceAll(r.Mechanism.Verdict, "_", " "), Plain: []any{r.Mechanism.Verdict, r.Mechanism.How}}
		}},
	}
}

func expectedFields() []field[model.Expected] {
	type expected = model.Expected
	number := func(head, unit, name string, of func(expected) model.Num) field[expected] {
		return field[expected]{Column: Column{Head: head, Plain: []string{name}}, cell: func(e expected) Cell {
			return Cell{Text: Quantity(estimate.Between(of(e).Float(), of(e).Float()), unit), Plain: []any{of(e)}, Value: of(e)}
		}}
	}
	return []field[expected]{
		farEndField(func(e expected) model.BenchConditions { return e.BenchConditions }),
		rangeCell("pickup", "V", "pickup_volts_rms_lo pickup_volts_rms_hi", func(e expected) model.Estimate { return e.PickupVolts }),
		number("thermal, 1 Hz", "V", "thermal_volts_per_root_hz", func(e expected) model.Num { return e.ThermalVoltsRootHz }),
		number("20 Hz to 20 kHz", "V", "thermal_volts", func(e expected) model.Num { return e.ThermalVolts }),
		number("1 µV at", "F", "microvolt_farads", func(e expected) model.Num { return e.MicrovoltFarads }),
	}
}
