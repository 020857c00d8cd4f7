package judge

import (
	"humdiff/fft/note"
	"humdiff/report/model"
)

// restrain takes back a verdict that the controls don't bear out, and says why.
func (t test) restrain(b *bench, p *model.ClaimPart) {
	undo := func(why note.Note, decide ...note.Note) {
		p.Verdict = model.Undecided
		p.Reasons, p.Decide = append(p.Reasons, why), append(p.Decide, decide...)
	}
	if t.once {
		undo(say(model.PlacedWireOnce, "cable", t.claim.Cable), say(model.MorePlacements, "count", 3))
	}
	if t.cells == nil {
		return // a known source needs no control: its residual is taken off
	}
	if t.claim.Kind == model.ClaimBelow && !b.Settings.FullScaleVolts.Ok() {
		undo(say(model.ScaleUnknown), say(model.GiveScale))
		return
	}
	for _, c := range t.cells {
		if c.n() < 2 {
			undo(say(model.OnePlacement, "cable", c.cable), say(model.MorePlacements, "cable", c.cable, "count", 3))
		}
	}
	if p.Verdict == model.Undecided {
		return
	}
	little := t.negative && p.Verdict == model.Supported
	if little {
		t.restrainAbsolute(b, undo)
		if answer, elsewhere := b.control(t.where); elsewhere && answer == model.Yes {
			p.Reasons = append(p.Reasons, say(model.WitnessElsewhere))
		}
	} else {
		t.restrainUnplugged(b, undo)
	}
	if compares(t.claim) && p.Verdict == model.Supported && !t.cells[0].rose && !t.cells[1].rose {
		undo(say(model.NotDelivered), say(model.StrongerLead))
	}
	if t.claim.Kind == model.ClaimRise && p.Verdict == model.Refuted {
		t.explainNoise(b, p)
	}
}

// restrainUnplugged asks whether the unplugged lead does as much: then it is no pickup
// of the mains. It can't make a change smaller than it is, so a claim that there is
// little of it isn't asked.
func (t test) restrainUnplugged(b *bench, undo func(note.Note, ...note.Note)) {
	for _, c := range t.cells {
		if d := b.unplugged(c); d.asHigh {
			undo(say(model.DeadAsHigh, "cable", c.cable, "runs", numbers(d.runs)), say(model.ExplainDead, "cable", c.cable))
		}
	}
}

// restrainAbsolute asks of a claim that there is little hum whether there would have
// been any to see.
func (t test) restrainAbsolute(b *bench, undo func(note.Note, ...note.Note)) {
	for _, s := range t.only {
		if s.hi < t.at {
			undo(say(model.PlacementBeyond), say(model.MorePlacements))
			break
		}
	}
	answer, _ := b.control(t.where)
	switch answer {
	case "":
		undo(say(model.NoWitness), say(model.RecordWitness))
	case model.No:
		undo(say(model.WitnessDidNot), say(model.StrongerLead))
	}
	if t.claim.Kind != model.ClaimRise {
		return
	}
	switch above, known := b.aboveResidual(t.cells[0], t.claim.Quantity); {
	case !known:
		undo(say(model.NoResidual), say(model.RecordResidual))
	case above > nearResidual:
		undo(say(model.NoisyBench, "db", above), say(model.QuieterBench, "db", above-nearResidual))
	}
}

// explainNoise says of a refuted rise why a noisy bench doesn't take it back. With x
// the pickup over quiet in amplitude, the rise is |1 + x·e^(iφ)|. Where that is above
// 1, x > −2cos φ, so its square's slope 2(cos φ + x) is positive: a quieter bench, which
// makes x larger, shows more of a rise, whatever the phase.
func (t test) explainNoise(b *bench, p *model.ClaimPart) {
	switch above, known := b.aboveResidual(t.cells[0], t.claim.Quantity); {
	case !known:
		p.Reasons = append(p.Reasons, say(model.NoisyRefutes))
	case above > nearResidual:
		p.Reasons = append(p.Reasons, say(model.NoisyRefutes, "db", above))
	}
}
