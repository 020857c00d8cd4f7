package doc

import "humdiff/report/model"

// ByReference says that a reference tells the pickup, with its phase.
func (p pairSaid) ByReference() bool {
	q, n := p.Quiet.Reference, p.Near.Reference
	return p.Sound() && q != nil && n != nil && q.Why == "" && n.Why == ""
}

// Resolved says that by the reference the lead added something, whichever way the total went.
func (p pairSaid) Resolved() bool {
	lo, _ := ends(p.Hum.Pickup)
	return p.ByReference() && lo > 0
}

// Added is what the lead added: in volts, or where they are unknown in dBFS.
func (p pairSaid) Added() model.Estimate {
	if near, known := p.Set.ScaleOf(model.ForNear); known {
		return near.AmplitudeInVolts(p.Hum.Pickup)
	}
	return AmplitudeLevel(p.Hum.Pickup)
}

// AddedSaid is that with its interval.
func (p pairSaid) AddedSaid() string { return addedIn(p.Set, model.ForNear, p.Hum.Pickup) }

// Under is how far below quiet's hum the pickup lies, dB; negative: above it.
func (p pairSaid) Under() model.Num {
	v, _ := p.Hum.Pickup.Value()
	return value(p.Hum.Quiet) - model.DB(v*v)
}

// Referred is how many lines have a ratio to the reference in both captures.
func (p pairSaid) Referred() int {
	return count(p.Rows(), func(l model.Row) bool { return l.Quiet.Ratio != nil && l.Near.Ratio != nil })
}

// Steady is how well ratios hold from span to span, dB, in the worse of the two; null where
// noise hides it in one.
func (p pairSaid) Steady() model.Num {
	q, n := p.Quiet.Reference.SteadyDB, p.Near.Reference.SteadyDB
	if !q.Ok() || !n.Ok() {
		return model.None
	}
	return max(q, n)
}

// PhasorText is the text of the figure of what the lead added to each line; shown are drawn
// of all that have a phase.
func PhasorText(set model.Settings, p model.Pair, shown, all int) FigureText {
	said := pairOf(p, set)
	added := tellOne("pair.reference", said)
	return FigureText{Title: added, Kind: ofChannel("What the lead added to each line: size, and phase as a needle", p), X: "harmonic", Y: "pickup, rms",
		Desc: "What the lead added to each line, as phasors. " + added}.captioned("figure.phasors", map[string]any{"pair": said, "shown": shown, "all": all})
}
