package session

import (
	"math"

	"humdiff/report/quantity"
)

// Playback is the chain that hum would be played through, NaN and 0 where it
// isn't stated: a loudspeaker or a headphone, or a programme to set hum against.
type Playback struct {
	Programme float64 // V rms at the input
	Gain      float64 // dB, from the input to the loudspeaker or headphone
	Speaker   float64 // dB SPL at 2.83 V and 1 m
	Distance  float64 // m
	Speakers  int     // how many play the hum; 0: one
	Headphone float64 // dB SPL at 1 V
	Margin    float64 // dB, added for the room
}

// Stated says that there is something to set hum against.
func (p Playback) Stated() bool {
	return p != (Playback{}) && (!math.IsNaN(p.Programme) || !math.IsNaN(p.Speaker) || !math.IsNaN(p.Headphone))
}

// BlankPlayback is one of which nothing is stated.
func BlankPlayback() Playback {
	nan := math.NaN()
	return Playback{Programme: nan, Gain: nan, Speaker: nan, Distance: nan, Headphone: nan, Margin: nan}
}

const mostSpeakers = 32

var playbackFields = []field[Playback]{
	volts("programme", func(p *Playback) *float64 { return &p.Programme }),
	measured("gain", quantity.Decibels.Parse, "dB", func(p *Playback) *float64 { return &p.Gain }),
	measured("speaker", quantity.Decibels.Parse, "dB", func(p *Playback) *float64 { return &p.Speaker }),
	measured("distance", quantity.Metres.Parse, "m", func(p *Playback) *float64 { return &p.Distance }),
	count("speakers", mostSpeakers, func(p *Playback) *int { return &p.Speakers }),
	measured("headphone", quantity.DBPerVolt.Parse, "dB/V", func(p *Playback) *float64 { return &p.Headphone }),
	measured("room_margin", quantity.Decibels.Parse, "dB", func(p *Playback) *float64 { return &p.Margin }),
}

var playbackExamples = map[string]example{
	"programme":   {`"2V"`, "rms of a programme at the input, to set hum against"},
	"gain":        {`"30dB"`, "from the input to the loudspeaker, when listening"},
	"speaker":     {`"87dB"`, "SPL at 2.83 V and 1 m; or, with no distance, headphone = \"105dB/V\""},
	"distance":    {`"2.5m"`, ""},
	"speakers":    {`2`, ""},
	"room_margin": {`"10dB"`, "rooms raise low frequencies by 10 dB and more"},
}

// playback checks that what says nothing by itself isn't by itself.
func (c checker) playback() {
	p, is := c.s.Playback, func(x float64) bool { return !math.IsNaN(x) }
	chain := is(p.Speaker) || is(p.Headphone)
	for _, x := range []struct {
		wrong     bool
		key, hint string
	}{
		{is(p.Speaker) && !is(p.Distance), "speaker", "state distance too"},
		{is(p.Distance) && !is(p.Speaker), "distance", "state speaker too"},
		{p.Speakers > 0 && !is(p.Speaker), "speakers", "state speaker too"},
		{chain && !is(p.Gain), map[bool]string{true: "speaker", false: "headphone"}[is(p.Speaker)], "state gain too"},
		{is(p.Gain) && !chain, "gain", "state speaker or headphone too"},
		{is(p.Margin) && !chain, "room_margin", "state speaker or headphone too"},
	} {
		if x.wrong {
			c.problems.add(c.d.playback.place(x.key), x.hint, "%s says nothing by itself", x.key)
		}
	}
	if is(p.Speaker) && is(p.Headphone) {
		c.problems.add(c.d.playback.place("headphone"), "leave one of them out", "speaker and headphone are two chains")
	}
	if p.Margin < 0 {
		c.problems.add(c.d.playback.place("room_margin"), "write 0dB or more", "the margin takes something off")
	}
}
