package session

import "humdiff/report/model"

// chain is the chain that hum would be played through as the file states it: a
// loudspeaker or a headphone, or a programme to set hum against.
type chain struct {
	programme model.Num // V rms at the input
	gain      model.Num // dB, from the input to the loudspeaker or headphone
	speaker   model.Num // dB SPL at 2.83 V and 1 m
	distance  model.Num // m
	speakers  int       // how many play the hum; 0: one
	headphone model.Num // dB SPL at 1 V
	margin    model.Num // dB, added for the room
}

func noChain() chain {
	none := model.None
	return chain{programme: none, gain: none, speaker: none, distance: none, headphone: none, margin: none}
}

// model is nil where there is nothing to set hum against.
func (c chain) model() *model.Playback {
	if !c.programme.Ok() && !c.speaker.Ok() && !c.headphone.Ok() {
		return nil
	}
	p := &model.Playback{ProgrammeVolts: c.programme, GainDB: c.gain, SensitivityDB: model.None, DistanceMetres: c.distance}
	switch {
	case c.speaker.Ok():
		p.Kind, p.SensitivityDB, p.Loudspeakers = model.KindLoudspeaker, c.speaker, max(c.speakers, 1)
	case c.headphone.Ok():
		p.Kind, p.SensitivityDB = model.KindHeadphone, c.headphone
	}
	if c.margin.Ok() {
		p.MarginDB = float64(c.margin)
	}
	return p
}

// chainOf is a chain as the file states it; what is so unless it is stated is
// left out.
func chainOf(p *model.Playback) chain {
	c := noChain()
	if p == nil {
		return c
	}
	c.programme, c.gain, c.distance = p.ProgrammeVolts, p.GainDB, p.DistanceMetres
	switch p.Kind {
	case model.KindLoudspeaker:
		c.speaker = p.SensitivityDB
		if p.Loudspeakers > 1 {
			c.speakers = p.Loudspeakers
		}
	case model.KindHeadphone:
		c.headphone = p.SensitivityDB
	}
	if p.MarginDB != 0 {
		c.margin = model.Num(p.MarginDB)
	}
	return c
}

// playback checks that what says nothing by itself isn't by itself.
func (c checker) playback(p chain) {
	plays, at := p.speaker.Ok() || p.headphone.Ok(), "headphone"
	if p.speaker.Ok() {
		at = "speaker"
	}
	for _, x := range []struct {
		alone      bool
		key, needs string
	}{
		{p.speaker.Ok() && !p.distance.Ok(), "speaker", "distance"},
		{p.distance.Ok() && !p.speaker.Ok(), "distance", "speaker"},
		{p.speakers > 0 && !p.speaker.Ok(), "speakers", "speaker"},
		{plays && !p.gain.Ok(), at, "gain"},
		{p.gain.Ok() && !plays, "gain", "speaker or headphone"},
		{p.margin.Ok() && !plays, "room_margin", "speaker or headphone"},
	} {
		if x.alone && !c.d.playback.wrong(x.needs, "speaker", "headphone") {
			c.problems.add(c.d.playback.place(x.key), "state "+x.needs+" too", "%s says nothing by itself", x.key)
		}
	}
	if p.speaker.Ok() && p.headphone.Ok() {
		c.problems.add(c.d.playback.place("headphone"), "leave one of them out", "speaker and headphone are two chains")
	}
	if p.margin < 0 {
		c.problems.add(c.d.playback.place("room_margin"), "write 0dB or more", "the margin takes something off")
	}
}
