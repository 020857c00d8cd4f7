package session

import (
	"humdiff/report/model"
	"humdiff/report/unit"
)

func noPlayback() model.Playback {
	none := model.None
	return model.Playback{ProgrammeVolts: none, GainDB: none, SensitivityDB: none, DistanceMetres: none}
}

// played is a chain as it was stated; nil where there is nothing to set hum against.
func played(p model.Playback) *model.Playback {
	switch {
	case !p.ProgrammeVolts.Ok() && p.Kind == "":
		return nil
	case p.Kind == model.KindLoudspeaker:
		p.Loudspeakers = max(p.Loudspeakers, 1)
	default:
		p.Loudspeakers = 0
	}
	if p.Kind == "" {
		p.MarginDB = 0
	}
	return &p
}

// sensitivity is that of a chain of one kind.
func sensitivity(p *model.Playback, kind string, in unit.Unit) value {
	number := stated(&p.SensitivityDB, in)
	return value{func(said any) error {
		p.Kind = kind
		return number.read(said)
	}, func() any {
		if p.Kind != kind {
			return nil
		}
		return number.write()
	}}
}

// margin is in dB, 0 where nothing is stated.
func margin(to *float64) value {
	return kept(to, func(said any) (float64, error) {
		n := model.None
		err := stated(&n, unit.Decibels).read(said)
		return float64(n), err
	}).written(func(v any) any { return unit.Decibels.WriteNumber(v.(float64)) })
}

// playback checks that what says nothing by itself isn't by itself.
func (c checker) playback() {
	e := c.d.playback
	at := "headphone"
	if e.has("speaker") {
		at = "speaker"
	}
	for _, x := range []struct{ key, needs string }{{"speaker", "distance"}, {"distance", "speaker"}, {"speakers", "speaker"}, {at, "gain"}, {"gain", ""}, {"room_margin", ""}} {
		there := e.has(x.needs)
		if x.needs == "" {
			x.needs, there = "speaker or headphone", e.has("speaker") || e.has("headphone")
		}
		if e.has(x.key) && !there && !e.wrong("speaker", "headphone") {
			c.problems.add(e.place(x.key), "state "+x.needs+" too", "%s says nothing by itself", x.key)
		}
	}
	if e.has("speaker") && e.has("headphone") {
		c.problems.add(e.place("headphone"), "leave one of them out", "speaker and headphone are two chains")
	}
	if p := c.s.Playback; p != nil && p.MarginDB < 0 {
		c.problems.add(e.place("room_margin"), "write 0dB or more", "the margin takes something off")
	}
}
