package doc

import (
	"slices"

	"humdiff/report/model"
)

// explanation is what could still explain a result, and the run that would tell.
type explanation = struct{ Text, Answer string }

// explain lists what could still explain a comparison. Where nothing rose, only
// what can hide a rise; pairs that nothing can be read off need no explanation but
// that.
func explain(r model.Compare) Advice {
	var out Advice
	var sound []model.Pair
	for _, p := range r.Pairs {
		switch {
		case Clipped(p) != "":
			out = append(out, explanation{"Clipping, which makes lines of its own and changes the levels of others.", "Record again at a lower gain."})
		case Obstacle(p) != "":
			out = append(out, explanation{"Nothing yet: there is no comparison to explain, as " + Obstacle(p) + ".", "Record both captures again."})
		default:
			sound = append(sound, p)
		}
	}
	out = slices.Compact(out)
	has := func(c change) bool {
		return slices.ContainsFunc(sound, func(p model.Pair) bool { return changeOf(p.Hum.Delta) == c })
	}
	if has(rose) || has(fell) {
		out = append(out, ofAnyChange...)
	}
	if has(rose) {
		out = append(out, explanation{"The instrument picked it up, not the cable.", ofInstrument(sound)})
		out = append(out, ofRise...)
	}
	if has(fell) {
		out = append(out, ofFall...)
	}
	if len(sound) > 0 && !has(rose) {
		out = append(out, ofNoRise...)
	}
	return out
}

var (
	ofAnyChange = Advice{
		{"Something else changed between the captures: a device switched on, a cable or a hand moved, another gain.", "Record quiet again after near."},
		{"Laying the lead there changed the bench, with or without voltage on it.", "Record an unplugged-lead control: the same lead in the same place, unplugged."},
	}
	ofRise = Advice{
		{"The lead's current did it, not its voltage; or current in a loop of earths.",
			"Change one thing at a time: the load on the lead, the termination, the far device's earth. This comparison alone names no mechanism."},
		{"This placement was a lucky or an unlucky one.", "Repeat with the lead taken away and put back."},
	}
	ofFall = Advice{
		{"Quiet and near were given in the wrong order.", "Check which file is which."},
		{"The new hum cancels the old: they add as waves do, and can be opposite.", "Lower the hum in quiet, or move the lead and record again."},
	}
	ofNoRise = Advice{
		{"The exposure was too weak to raise any cable.", "Record a positive control, a cable known to leak, under the same exposure."},
		{"A rise is hidden below the upper limits.", "Record longer."},
	}
)

// ofInstrument is what there is of a residual, or what to record.
func ofInstrument(pairs []model.Pair) string {
	if slices.ContainsFunc(pairs, func(p model.Pair) bool { return p.Residual == nil }) {
		return "Record a residual under the same exposure: the input shorted at its connector."
	}
	return "A residual was recorded, see above: it speaks to this only if the lead lay there then too."
}
