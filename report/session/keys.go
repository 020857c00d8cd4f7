package session

import (
	"math"

	"humdiff/report/model"
	"humdiff/report/unit"
)

// key is one key of a table of the session file, or one column of the list of
// runs: what it is called, where its value is kept, an example of it as a first
// session has it, and what to say beside that. By these tables files are read,
// checked, written and explained.
type key struct {
	name    string
	value   value
	example string
	says    string
}

// other names by which keys are read too.
var also = map[string]string{"positive_control": "witness", "termination": "termination_ohms"}

func topKeys(f *File) []key {
	return []key{
		{"title", text(&f.Sitting.Title), `"Three cables beside a mains lead"`, ""},
		{"runs", text(&f.RunsFile), "", ""},
		{"record_seconds", kept(&f.Seconds, asSeconds), `60`, "how long each capture is to be"},
	}
}

func benchKeys(b *model.Bench) []key {
	return []key{
		{"mains_volts", number(&b.MainsVolts, unit.Volts, 1, &b.MainsVoltsWithin), `"230V +-3%"`, "rms, as measured"},
		{"mains_hz", mains(&b.MainsHz), `50`, "or 60; left out, both are looked for"},
		{"full_scale", text(&b.FullScale), `"2.0V"`, "rms of a full-scale sine at the converter: V, mV, dBV or dBu"},
		{"gain", text(&b.Gain), `"40dB"`, "ahead of the converter"},
		{"calibration", list(&b.Calibration), `["tone.wav=1.0V ±0.5%"]`, "in place of full_scale and gain: captures of a known tone"},
		{"input_ohms", number(&b.InputOhms, unit.Ohms, 1, &b.InputOhmsWithin), `"100kohm"`, "of the input"},
		{"input_farads", number(&b.InputFarads, unit.Farads, 1, &b.InputFaradsWithin), `"100pF"`, "of the input"},
		{"balanced", answer(&b.Balanced, nil), `false`, "whether the input is"},
		{"spacing_mm", number(&b.SpacingMM, unit.Metres, 1000, nil), `10`, "between lead and cable"},
		{"parallel_mm", number(&b.ParallelMM, unit.Metres, 1000, nil), `1000`, "the length over which they run beside each other"},
		{"notes", text(&b.Notes), `"Wooden table, no lamp on."`, ""},
		{"photos", photos(&b.Photos), `["bench.jpg"]`, "their SHA-256 goes into the report"},
	}
}

func roleKeys(s *model.Sitting) []key {
	return []key{
		{"witness", text(&s.Control), `"old wire"`, "the positive control: a cable known to leak, recorded under every exposure"},
		{"idle_channel", count(&s.Idle, math.MaxUint16), `2`, "the channel, counted from 1, whose input had nothing connected"},
	}
}

func driveKeys(d *model.DriveBench) []key {
	return []key{
		{"full_scale", text(&d.FullScale), `"10V ±1%"`, "a known source: rms of a full-scale sine at the channel that records the drive"},
		{"shunt_ohms", number(&d.ShuntOhms, unit.Ohms, 1, &d.ShuntWithin), `"10ohm ±1%"`, "across which that channel records the current of a coil or a shield"},
		{"cable_farads", number(&d.CableFarads, unit.Farads, 1, &d.CableWithin), `"100pF ±20%"`, "of the cable, signal conductor to shield"},
		{"lead_amps", number(&d.LeadAmps, unit.Amps, 1, &d.LeadWithin), `"2A ±5%"`, "of a loaded lead whose pickup is to be predicted, at the mains frequency"},
	}
}

func playbackKeys(p *model.Playback) []key {
	return []key{
		{"programme", stated(&p.ProgrammeVolts, unit.Volts), `"2V"`, "rms of a programme at the input, to set hum against"},
		{"gain", stated(&p.GainDB, unit.Decibels), `"30dB"`, "from the input to the loudspeaker, when listening"},
		{"speaker", sensitivity(p, model.KindLoudspeaker, unit.Decibels), `"87dB"`, "SPL at 2.83 V and 1 m; or, with no distance, headphone = \"105dB/V\""},
		{"distance", stated(&p.DistanceMetres, unit.Metres), `"2.5m"`, ""},
		{"speakers", count(&p.Loudspeakers, 32), `2`, ""},
		{"headphone", sensitivity(p, model.KindHeadphone, unit.DBPerVolt), "", ""},
		{"room_margin", margin(&p.MarginDB), `"10dB"`, "rooms raise low frequencies by 10 dB and more"},
	}
}

func runKeys(r *model.Run) []key {
	return []key{
		{"cable", text(&r.Cable), "", ""},
		{"termination_ohms", termination(&r.Termination), "", `is ohms, as 20 or 4k7ohm, or "open"`},
		{"exposure", text(&r.Exposure), "", "is how the lead was brought to bear, in your words"},
		{"condition", word(&r.Condition, conditionWords, model.Quiet, model.Near, model.Unplugged, model.Residual, model.Driven), "", "is quiet, near, dead (the lead in place, but unplugged), residual (the input shorted, or closed with termination_ohms) or driven (a known source on)"},
		{"repeat", count(&r.Repeat, 1000), "", ""},
		{"replaced", yes(&r.Replaced), "", "is yes where the lead was taken away and put back since the repeat before"},
		{"plug", count(&r.Plug, 2), "", "is 1 or 2, for which way round"},
		{"loaded", answer(&r.Loaded, leadWords), "", "is yes where the lead feeds a load"},
		{"load_amps", number(&r.LoadAmps, unit.Amps, 1, nil), "", "is the lead's current at the mains frequency"},
		{"bonded", answer(&r.Bonded, bondWords), "", "is yes where the far device is connected to the mains' earth, class2 where it is double-insulated (it leaks), no where it is on battery or behind a transformer"},
		{"file", text(&r.Address), "", ""},
		{"drive", word(&r.Drive, nil, model.Drives...), "", "is wire, coil or shield: what a known source drives, in a driven run and in a residual with the drive on"},
		{"reference", reference(&r.Reference), "", "is ch=2 where the file's channel 2 records the field, or the drive"},
		{"measured", text(&r.Measured), "", ""},
		{model.StartKey, instant(&r.Start), "", "is as 2026-05-31 14:05"},
		{"note", text(&r.Note), "", ""},
		{"left_out", text(&r.LeftOut), "", "is the reason why a run isn't used"},
		{"guessed", list(&r.Guessed), "", "names the columns that nobody has confirmed yet; where it names start, and start is empty, nothing is said of the order in which the runs were made"},
	}
}

func claimKeys(c *model.Claim) []key {
	l := &c.Limit
	if l.Unit == "" && l.Value == 0 { // of a claim that somebody else made: nothing is stated
		*l = model.NoLimit()
	}
	return []key{
		{"name", text(&c.Name), "", ""},
		{"says", text(&c.Says), "", ""},
		{"written", instant(&c.Written), "", ""},
		{"by", text(&c.By), "", ""},
		{"kind", word(&c.Kind, nil, model.ClaimKinds...), "", ""},
		{"cable", text(&c.Cable), "", ""},
		{"than", text(&c.Than), "", ""},
		{"db", number(&c.DB, unit.Decibels, 1, nil), "", ""},
		{"volts", stated(&c.Volts, unit.Volts), "", ""},
		{"farads", limit(l, unit.Farads, "F"), "", ""},
		{"henries", limit(l, unit.Henries, "H"), "", ""},
		{"ohms", limit(l, unit.Ohms, "Ω"), "", ""},
		{"predicted", limit(l, unit.Volts, "V"), "", ""},
		{"hz", number(&l.Hz, unit.Hz, 1, nil), "", ""},
		{"mains_volts", number(&l.MainsVolts, unit.Volts, 1, nil), "", ""},
		{"input_ohms", number(&l.InputOhms, unit.Ohms, 1, nil), "", ""},
		{"termination_ohms", termination(&c.Termination), "", ""},
		{"exposure", text(&c.Exposure), "", ""},
		{"of", quantity(&c.Quantity), "", ""},
	}
}

const claimExamples = `
# Claims to be tested. Date them before you record. There are four kinds: "less" than another cable by so many dB,
# "below" a voltage, "rise", at most so many dB above quiet, and "same", within so many dB of another cable. Each may be about
# one termination, one exposure, and in place of the hum total about one line ("harmonic 3") or "A-weighted hum".
# [[claim]]
# name = "twenty decibels"
# says = "Cable one picks up at least 20 dB less than cable two."
# by = "the maker of cable one"
# written = 2026-05-01
# kind = "less"
# cable = "cable one"
# than = "cable two"
# db = 20
#
# [[claim]]
# name = "a microvolt"
# written = 2026-05-01
# kind = "below"
# cable = "cable two"
# volts = "1uV"
# termination_ohms = 20
# exposure = "beside"
#
# [[claim]]
# name = "no rise"
# written = 2026-05-01
# kind = "rise"
# cable = "cable one"
# db = 3
# of = "A-weighted hum"
#
# [[claim]]
# name = "no difference that matters"
# written = 2026-05-01
# kind = "same"
# cable = "cable one"
# than = "cable two"
# db = 1
#
# A fifth kind, "coupling", is about a cable's own numbers, by a known source: see humdiff help session.
`

// names of keys.
func names(keys []key) (all []string) {
	for _, k := range keys {
		all = append(all, k.name)
	}
	return all
}
