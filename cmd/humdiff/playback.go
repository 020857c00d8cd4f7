package main

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report/model"
	"humdiff/report/unit"
)

// playing is the flags of the chain that hum is played through.
type playing struct {
	programme, playbackGain, speaker, distance, speakers, headphone, impedance, margin string
}

func (p *playing) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&p.programme, "programme", "", "rms `VOLTAGE` of a programme at the input, such as 2V, to compare hum with")
	f.StringVar(&p.playbackGain, "playback-gain", "", "`GAIN` from the input to loudspeaker or headphone, such as 30dB")
	f.StringVar(&p.speaker, "speaker", "", "could it be heard: a loudspeaker's `SENSITIVITY`, dB SPL at 2.83 V and 1 m, such as 87dB")
	f.StringVar(&p.distance, "distance", "", "`LENGTH` from loudspeaker to listener, such as 2.5m")
	f.StringVar(&p.speakers, "speakers", "1", "`NUMBER` of such loudspeakers that play the hum")
	f.StringVar(&p.headphone, "headphone", "", "instead, a headphone's `SENSITIVITY`, such as 105dB/V or 98dB/mW")
	f.StringVar(&p.impedance, "headphone-impedance", "", "`IMPEDANCE` of a headphone rated per milliwatt, such as 32ohm")
	f.StringVar(&p.margin, "room-margin", "0dB", "`MARGIN` for the room, which can add 10 dB and more at low frequencies")
}

// mostSpeakers is how many loudspeakers a listener can plausibly have.
const mostSpeakers = 32

// playback is the chain that was given; nil where none was.
func (p playing) playback() (*model.Playback, error) {
	out := &model.Playback{ProgrammeVolts: model.None, GainDB: model.None, SensitivityDB: model.None, DistanceMetres: model.None}
	if err := p.goTogether(); err != nil {
		return nil, err
	}
	var err error
	read := func(s string, to *model.Num, parse func(string) (float64, error)) {
		if s == "" || err != nil {
			return
		}
		var v float64
		v, err = parse(s)
		*to = model.Num(v)
	}
	read(p.programme, &out.ProgrammeVolts, unit.Volts.Number)
	read(p.playbackGain, &out.GainDB, unit.Gain.Number)
	read(p.speaker, &out.SensitivityDB, unit.Decibels.Number)
	read(p.distance, &out.DistanceMetres, unit.Metres.Number)
	read(p.headphone, &out.SensitivityDB, p.perVolt)
	margin := model.Num(0)
	read(p.margin, &margin, unit.Decibels.Number)
	if err != nil {
		return nil, misused(err)
	}
	out.MarginDB = float64(margin)
	if out.MarginDB < 0 {
		return nil, misusedf("write a margin of 0dB or more", "--room-margin %s takes something off", p.margin)
	}
	switch {
	case p.speaker != "":
		out.Kind = model.KindLoudspeaker
		n, err := strconv.Atoi(p.speakers)
		if err != nil || n < 1 || n > mostSpeakers {
			return nil, misusedf("write how many loudspeakers there are, such as 2", "--speakers %s is no number of loudspeakers", p.speakers)
		}
		out.Loudspeakers = n
	case p.headphone != "":
		out.Kind = model.KindHeadphone
	case p.programme == "":
		return nil, nil
	}
	return out, nil
}

// goTogether refuses flags that say nothing without others, and names all that
// are missing at once.
func (p playing) goTogether() error {
	chain := p.speaker + p.headphone
	by, missing := "", []string{}
	for _, n := range []struct{ flag, value, other, without string }{
		{"speaker", p.speaker, p.playbackGain, "--playback-gain"}, {"speaker", p.speaker, p.distance, "--distance"},
		{"headphone", p.headphone, p.playbackGain, "--playback-gain"}, {"distance", p.distance, p.speaker, "--speaker"},
		{"headphone-impedance", p.impedance, p.headphone, "--headphone"}, {"playback-gain", p.playbackGain, chain, "--speaker or --headphone"},
	} {
		if n.value != "" && n.other == "" {
			by, missing = cmp.Or(by, n.flag), append(missing, n.without)
		}
	}
	if len(missing) > 0 {
		return misusedf("give "+strings.Join(missing, " and ")+" too", "--%s says nothing by itself", by)
	}
	if p.speaker != "" && p.headphone != "" {
		return misusedf("leave one of them out", "--speaker and --headphone are two chains")
	}
	return nil
}

// perVolt is a headphone's sensitivity at 1 V: into Z Ω that is 1000/Z mW.
func (p playing) perVolt(s string) (float64, error) {
	if !strings.HasSuffix(strings.TrimSpace(s), "mW") {
		return unit.DBPerVolt.Number(s)
	}
	db, err := unit.DBPerMilliwatt.Number(s)
	if err != nil {
		return 0, err
	}
	if p.impedance == "" {
		return 0, misusedf("give --headphone-impedance too, or the sensitivity per volt", "--headphone %s is per milliwatt", s)
	}
	ohms, err := unit.Ohms.Number(p.impedance)
	return db + 10*math.Log10(1000/ohms), err
}
