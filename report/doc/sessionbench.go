package doc

import (
	"fmt"
	"strings"

	"humdiff/report/model"
)

// benchSection is the bench as stated.
func benchSection(s model.Session) Section {
	b := s.Bench
	var facts []Fact
	say := func(name, value string) {
		if value != "" {
			facts = append(facts, Fact{name, Printable(value)})
		}
	}
	number := func(n model.Num, write string) string {
		if !n.Ok() {
			return ""
		}
		return write
	}
	say("Mains", number(b.MainsVolts, SI(b.MainsVolts, "V")))
	say("Mains frequency", number(b.MainsHz, Hz(b.MainsHz)))
	say("Full scale, as written", b.FullScale)
	say("Gain", b.Gain)
	say("Calibration", strings.Join(baseNames(b.Calibration), ", "))
	say("Input", number(b.InputOhms, SI(b.InputOhms, "Ω")))
	say("Input capacitance", number(b.InputFarads, SI(b.InputFarads, "F")))
	say("Balanced", b.Balanced)
	say("Lead to cable", number(b.SpacingMM, Fixed(b.SpacingMM, 0)+" mm"))
	say("Beside each other", number(b.ParallelMM, Fixed(b.ParallelMM, 0)+" mm"))
	say("Positive control", s.Control)
	if s.Idle > 0 {
		say("Idle channel", fmt.Sprint(s.Idle))
	}
	say("Notes", b.Notes)
	sec := Section{ID: "bench", Title: "The bench", Folded: true, Blocks: []Block{Facts{Of: facts}, settingsFacts(s.Settings)}}
	if len(b.Photos) > 0 {
		var photos []Fact
		for _, p := range b.Photos {
			photos = append(photos, Fact{File(p.File), Printable(p.SHA256)})
		}
		sec.Blocks = append(sec.Blocks, Heading{"photos", "Photos, by SHA-256"}, Facts{Hashes, photos})
	}
	return sec
}

// baseNames are addresses without their folders.
func baseNames(all []string) []string {
	out := make([]string, len(all))
	for i, a := range all {
		out[i] = Base(a)
	}
	return out
}
