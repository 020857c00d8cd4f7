package session

import (
	"math"
	"strconv"
	"strings"
	"time"

	"humdiff/fft/capture"
)

// The keys of each table, in the order in which they are written.

var topFields = []field[Session]{
	text("title", func(s *Session) *string { return &s.Title }),
	text("runs", func(s *Session) *string { return &s.RunsFile }),
}

var benchFields = []field[Bench]{
	number("mains_volts", 0, func(b *Bench) *float64 { return &b.MainsVolts }),
	{"mains_hz", setMains, func(b Bench) any { return stated(b.MainsHz) }},
	text("full_scale", func(b *Bench) *string { return &b.FullScale }),
	text("gain", func(b *Bench) *string { return &b.Gain }),
	list("calibration", func(b *Bench) *[]string { return &b.Calibration }),
	number("input_ohms", 0, func(b *Bench) *float64 { return &b.InputOhms }),
	number("input_farads", 0, func(b *Bench) *float64 { return &b.InputFarads }),
	tri("balanced", func(b *Bench) *Tri { return &b.Balanced }),
	number("spacing_mm", 0, func(b *Bench) *float64 { return &b.SpacingMM }),
	number("parallel_mm", 0, func(b *Bench) *float64 { return &b.ParallelMM }),
	text("notes", func(b *Bench) *string { return &b.Notes }),
	list("photos", func(b *Bench) *[]string { return &b.Photos }),
}

func setMains(b *Bench, v any) error {
	hz, err := asNumber(v)
	if err != nil || hz != 50 && hz != 60 {
		return hinted("write 50 or 60, or leave it out to have both looked for", "%s is no nominal mains frequency", quoted(v))
	}
	b.MainsHz = hz
	return nil
}

var roleFields = []field[Roles]{
	text("witness", func(r *Roles) *string { return &r.Witness }),
	count("idle_channel", math.MaxUint16, func(r *Roles) *int { return &r.Idle }),
}

var runFields = []field[Run]{
	text("cable", func(r *Run) *string { return &r.Cable }),
	ohms("termination_ohms", func(r *Run) *float64 { return &r.Termination }),
	text("exposure", func(r *Run) *string { return &r.Exposure }),
	oneOf("condition", []Condition{Quiet, Near, Dead, Residual}, func(r *Run) *Condition { return &r.Condition }),
	count("repeat", 1000, func(r *Run) *int { return &r.Repeat }),
	yes("replaced", func(r *Run) *bool { return &r.Replaced }),
	count("plug", 2, func(r *Run) *int { return &r.Plug }),
	tri("loaded", func(r *Run) *Tri { return &r.Loaded }, "loaded", "unloaded"),
	number("load_amps", 0, func(r *Run) *float64 { return &r.LoadAmps }),
	tri("bonded", func(r *Run) *Tri { return &r.Bonded }, "bonded", "isolated"),
	{"file", setFile, func(r Run) any { return stated(r.Address.String()) }},
	text("measured", func(r *Run) *string { return &r.Measured }),
	instant(StartKey, func(r *Run) *time.Time { return &r.Start }),
	text("note", func(r *Run) *string { return &r.Note }),
	text("left_out", func(r *Run) *string { return &r.LeftOut }),
	list("guessed", func(r *Run) *[]string { return &r.Guessed }),
}

// setFile keeps the address as written: it is taken apart where the session's
// folder is known.
func setFile(r *Run, v any) (err error) {
	r.Address.Path, err = asText(v)
	return err
}

var claimFields = []field[Claim]{
	text("name", func(c *Claim) *string { return &c.Name }),
	text("says", func(c *Claim) *string { return &c.Says }),
	instant("written", func(c *Claim) *time.Time { return &c.Written }),
	text("by", func(c *Claim) *string { return &c.By }),
	oneOf("kind", []ClaimKind{Less, Below, Rise}, func(c *Claim) *ClaimKind { return &c.Kind }),
	text("cable", func(c *Claim) *string { return &c.Cable }),
	text("than", func(c *Claim) *string { return &c.Than }),
	number("db", 0, func(c *Claim) *float64 { return &c.DB }),
	volts("volts", func(c *Claim) *float64 { return &c.Volts }),
	ohms("termination_ohms", func(c *Claim) *float64 { return &c.Termination }),
	text("exposure", func(c *Claim) *string { return &c.Exposure }),
	{"of", setQuantity, func(c Claim) any { return stated(c.Of.String()) }},
}

// Words for what a claim is about.
const (
	aWeightedHum = "A-weighted hum"
	harmonicWord = "harmonic "
)

// String is the quantity as the session file has it; empty for the total.
func (q Quantity) String() string {
	switch {
	case q.AWeighted:
		return aWeightedHum
	case q.Harmonic > 0:
		return harmonicWord + strconv.Itoa(q.Harmonic)
	}
	return ""
}

func setQuantity(c *Claim, v any) error {
	s, err := asText(v)
	if err != nil {
		return err
	}
	said := strings.ToLower(strings.TrimSpace(s))
	number, isLine := strings.CutPrefix(said, harmonicWord)
	h, err := strconv.Atoi(strings.TrimSpace(number))
	switch {
	case said == "hum":
		c.Of = Quantity{}
	case said == strings.ToLower(aWeightedHum):
		c.Of = Quantity{AWeighted: true}
	case isLine && err == nil && h >= 1 && h <= 1000:
		c.Of = Quantity{Harmonic: h}
	default:
		return hinted(`write "hum", "A-weighted hum", or a line such as "harmonic 3"`, "%q is not known", s)
	}
	return nil
}

// What nobody stated.

// BlankBench is a bench of which nothing is stated.
func BlankBench() Bench {
	nan := math.NaN()
	return Bench{MainsVolts: nan, InputOhms: nan, InputFarads: nan, SpacingMM: nan, ParallelMM: nan}
}

func blankRun() Run {
	return Run{Termination: math.NaN(), Repeat: 1, LoadAmps: math.NaN(), Address: capture.Address{End: math.Inf(1)}}
}

func blankClaim() Claim {
	nan := math.NaN()
	return Claim{DB: nan, Volts: nan, Termination: nan}
}
