package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// AmplitudeLevel is an amplitude relative to full scale as a level in dBFS.
func AmplitudeLevel(fs model.Estimate) model.Estimate {
	return fs.Map(func(v float64) float64 { return model.DB(v * v).Float() })
}

// Since is the number of the span that others are compared with; 0 where none has ratios.
func (c trendSaid) Since() int { return c.FirstReferred() + 1 }

// addedSaid is what came since the first span, in one span.
type addedSaid struct {
	Span    int
	Size    string // in volts, or dBFS where they are unknown
	Address string
}

// Base is the first span with ratios.
func (c trendSaid) Base() model.TrendSpan { return c.Spans[c.FirstReferred()] }

// Most is the span in which most came since the first; nil where nothing is shown to have.
func (c trendSaid) Most() *addedSaid {
	at, most := -1, 0.0
	for i, x := range c.Spans {
		if x.Referred == nil {
			continue
		}
		if v, ok := x.Referred.Added.Value(); ok && v > most {
			at, most = i, v
		}
	}
	if at < 0 {
		return nil
	}
	return &addedSaid{at + 1, addedIn(c.Set, model.ForAll, c.Spans[at].Referred.Added), c.Spans[at].Address}
}

// Compared says that some span is compared with the first.
func (c trendSaid) Compared() bool {
	return slices.ContainsFunc(c.Spans, func(x model.TrendSpan) bool { return x.Referred != nil && x.Referred.Added.Known() })
}

// addedIn is what was added with its interval, in volts, or dBFS where they are unknown.
func addedIn(set model.Settings, side string, added model.Estimate) string {
	if scale, known := set.ScaleOf(side); known {
		volts := scale.AmplitudeInVolts(added)
		if within := fromTo(volts, "V"); within != Volts(volts) {
			return Volts(volts) + " (" + within + ", rms)"
		}
		return Volts(volts) + " rms"
	}
	return Level(AmplitudeLevel(added))
}

// referredFields are a trend's columns of what the reference tells: how steady ratios are, and
// what came since the first span; none where no span has ratios. JSON has each ratio.
func referredFields(c model.TrendCapture, scale model.Scale) (fields []field[numbered]) {
	if c.FirstReferred() < 0 {
		return nil
	}
	steady := Column{Head: "ratios steady to", Unit: "dB", Spare: spareFloor}
	return append(fields, field[numbered]{Column: steady, cell: func(x numbered) Cell { return numberCell(referred(x.TrendSpan).SteadyDB, 1) }}, addedField(c, scale))
}

// referred is what the reference tells of a span, if only that it tells nothing.
func referred(x model.TrendSpan) model.TrendReferred {
	if x.Referred == nil {
		return model.TrendReferred{SteadyDB: model.None}
	}
	return *x.Referred
}

// addedField is the column of what came since the first span.
func addedField(c model.TrendCapture, scale model.Scale) field[numbered] {
	most := 0.0
	for _, x := range c.Spans {
		most = highest(most, scale.AmplitudeInVolts(referred(x).Added))
	}
	prefix, known := PrefixFor(model.Num(most)), scale.FullScaleVolts.Ok()
	column := Column{Head: fmt.Sprintf("added since span %d", c.FirstReferred()+1), Unit: "dBFS"}
	if known {
		column.Unit = prefix.Name + "V rms"
	}
	return field[numbered]{Column: column, cell: func(x numbered) Cell {
		e := referred(x.TrendSpan).Added
		cell := pickupCell(e, scale, prefix)
		if e.Known() && !known {
			cell.Text, cell.Spread = levelShort(AmplitudeLevel(e)), ""
		}
		return cell
	}}
}
