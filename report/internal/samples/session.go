package samples

import (
	"math"
	"slices"

	"humdiff/fft/note"
	"humdiff/fixtures/sessions"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// Session is a judged session of invented cables, two of them alike, with a positive
// control, unplugged-lead controls, three claims and a loudspeaker.
func Session() model.Session { return judge.Session(sat(design())) }

// design is how the session's levels are drawn; nothing of it is measured.
func design() sessions.Design {
	cable := func(name string, pickup float64) sessions.Cable {
		return sessions.Cable{Name: name, PickupDB: pickup, SD: 0.8, QuietDB: -125, UnpluggedDB: math.Inf(-1)}
	}
	d := sessions.Design{
		Cables:  []sessions.Cable{cable("Heron", -104), cable("Plover", -90), cable("Rail, the long sample", -89.6), cable("Grebe", -72)},
		Repeats: 4, Control: "Grebe", Exposures: []string{"beside", "wrapped"}, ResidualDB: -128, DriftSD: 0.1, NoiseSD: 0.05, LimitDB: -140, Unplugged: true,
	}
	claim := func(line int, name, kind, says string) model.Claim {
		return model.Claim{Line: line, Name: name, Kind: kind, Says: says, By: "a maker", Cable: "Heron", Written: sessions.Written,
			DB: model.None, Volts: model.None, Termination: model.Termination{Ohms: model.None}}
	}
	less, below, rise := claim(30, "less", model.ClaimLess, "Heron picks up 10 dB less than Plover."), claim(38, "below", model.ClaimBelow, ""), claim(45, "rise", model.ClaimRise, "")
	less.Than, less.DB, below.Volts, rise.DB, rise.Exposure = "Plover", 10, 3e-6, 3, "beside"
	d.Claims = []model.Claim{less, below, rise}
	return d
}

// sat is a session as it is recorded, drawn from a design, before it is judged.
func sat(d sessions.Design) model.Session {
	s := sessions.Draw(d, 7)
	s.Head = head(model.SessionSchema)
	s.Title = "Four cables, two exposures"
	playback := Audible().Playback
	s.Playback = &playback
	s.Warnings = []model.Warning{
		{Note: note.New("bus_tones", "tones_hz", []float64{8000}), File: "run002.wav", Channel: 1},
		{Note: note.New("bus_tones", "tones_hz", []float64{8000}), File: "run003.wav", Channel: 1},
		{Note: note.New("clipped", "samples", 12, "runs", 3, "first_s", 101.25), File: "run007.wav", Channel: 1},
	}
	return s
}

// Ranked is Session without claims; NoVoltsSession is on no scale.
func Ranked() model.Session {
	d := design()
	d.Claims = nil
	return judge.Session(sat(d))
}

// NoVoltsSession is Session on no scale: pickups are relative to full scale.
func NoVoltsSession() model.Session {
	s := sat(design())
	s.Settings.FullScaleVolts, s.Settings.FullScaleSaid = model.None, ""
	return judge.Session(s)
}

// HostileSession is Session with names that try to break out.
func HostileSession() model.Session {
	d := design()
	d.Claims = slices.Clone(d.Claims)
	d.Cables[0].Name, d.Claims[0].Cable, d.Claims[0].Says, d.Claims[0].Name = hostileText, hostileText, hostileText, hostileNear
	s := sat(d)
	s.Title, s.Bench.Notes = hostileText, hostileText
	return judge.Session(s)
}
