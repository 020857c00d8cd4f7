package report_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"humdiff/fft/fault"
	"humdiff/fixtures/antenna"
	"humdiff/fixtures/bench"
	"humdiff/report"
	"humdiff/report/model"
)

// steady is a bench with a reference that leaves nothing to be desired.
func steady() antenna.Bench {
	b := antenna.Draw(5)
	b.Seconds, b.Cable.Unsteady = 30, bench.Unsteady{}
	b.Cable.Room.Farads, b.Cable.Lead.Farads, b.Antenna.Room.Farads = 3e-12, 1e-12, 2e-12
	return b
}

// compared records a bench and compares by its reference.
func compared(t *testing.T, b antenna.Bench) model.Compare {
	t.Helper()
	c, err := b.Compare(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A reference that is no good is found, said, and not used; the comparison stands without it.
func TestUselessReferences(t *testing.T) {
	for code, spoil := range map[string]func(*antenna.Bench){
		model.ReferenceClipped: func(b *antenna.Bench) { b.Antenna.Recorder.FullScale = 20e-6 },
		model.ReferenceWeak:    func(b *antenna.Bench) { b.Antenna.Recorder.NoiseVolts = 2e-2 },
		model.ReferenceClock:   func(b *antenna.Bench) { b.Antenna.Recorder.ClockPPM = 2.5 },
	} {
		b := steady()
		spoil(&b)
		c := compared(t, b)
		if !slices.ContainsFunc(c.Warnings, func(w model.Warning) bool { return w.Code == code }) {
			t.Errorf("%s isn't said, but %v", code, c.Warnings)
		}
		p := c.Pairs[0]
		if p.Near.Reference == nil || p.Near.Reference.Why != code || p.Hum.Pickup.Measured() {
			t.Errorf("%s: reference %+v, pickup %v", code, p.Near.Reference, p.Hum.Pickup)
		}
	}
	sound := compared(t, steady())
	if p := sound.Pairs[0]; !p.Hum.Pickup.Measured() || p.Near.Reference.Why != "" {
		t.Errorf("a good reference isn't used: %+v, pickup %v, %v", p.Near.Reference, p.Hum.Pickup, sound.Warnings)
	}
}

// An antenna that the lead reaches is found by its own level.
func TestReferenceThatTheLeadReaches(t *testing.T) {
	b := steady()
	b.Antenna.Lead = bench.Coupling{Farads: 0.2 * b.Antenna.Room.Farads, Turn: 0.3}
	c := compared(t, b)
	if !slices.ContainsFunc(c.Warnings, func(w model.Warning) bool { return w.Code == "reference_moved" }) {
		t.Errorf("it isn't said: %v", c.Warnings)
	}
}

// The reference has to be another channel of the same file.
func TestReferenceOfAnotherFile(t *testing.T) {
	b, dir := steady(), t.TempDir()
	b.Seconds = 5
	addr, err := b.Record(bench.Quiet, dir)
	if err != nil {
		t.Fatal(err)
	}
	for reference, says := range map[int]string{3: "there is no channel 3", 2: "nothing but the reference"} {
		var r report.Request
		r.Reference = reference
		addr.Channel = 2
		_, err := report.Compare(t.Context(), r, report.Compared{Quiet: addr, Near: addr})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("reference %d: %v", reference, err)
		}
		if said := new(fault.Error); !errors.As(err, &said) {
			t.Errorf("reference %d: %v names no file", reference, err)
		}
	}
}

// Without ends or channel named, the span of an address counts for the reference too.
func TestReferenceInASpan(t *testing.T) {
	b, dir := steady(), t.TempDir()
	quiet, err := b.Record(bench.Quiet, dir)
	if err != nil {
		t.Fatal(err)
	}
	near, err := b.Record(bench.Near, dir)
	if err != nil {
		t.Fatal(err)
	}
	near.Start, near.End = 4, 27.5
	var r report.Request
	r.Reference, r.UpTo = antenna.ReferenceChannel, 500
	c, err := report.Compare(t.Context(), r, report.Compared{Quiet: quiet, Near: near})
	if err != nil {
		t.Fatal(err)
	}
	if p := c.Pairs[0]; len(c.Pairs) != 1 || p.Near.Channel != 1 || !p.Lines[0].Pickup.Measured() {
		t.Errorf("%d pairs; of channel %d, pickup %v", len(c.Pairs), p.Near.Channel, p.Lines[0].Pickup)
	}
}
