package figure

import (
	"bytes"
	"math/cmplx"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/report/model"
)

// A needle for each line whose phase is known; none without a reference.
func TestPhasors(t *testing.T) {
	r := results()["many lines"]
	p := r.Pairs[0]
	if len(phasorsOf(p)) > 0 {
		t.Fatal("phases without a reference")
	}
	known := &model.Reference{Channel: 2, ClockPPM: model.None, SteadyDB: -64}
	p.Quiet.Reference, p.Near.Reference = known, known
	p.Lines = append([]model.LineChange{}, p.Lines...)
	for i := range p.Lines {
		if i%2 == 0 {
			p.Lines[i].Pickup = estimate.Disc(cmplx.Rect(1e-5/float64(i+1), float64(i)), 2e-7/float64(i+1))
		}
	}
	if len(phasorsOf(p)) == 0 {
		t.Fatal("no phases with a reference")
	}
	f := Phasors(r.Settings, p)
	svg := f.SVG(Options{ID: "phasors"})
	if !bytes.Equal(svg, Phasors(r.Settings, p).SVG(Options{ID: "phasors"})) {
		t.Error("two drawings differ")
	}
	for _, says := range []string{"size, and phase as a needle", "channel 2", "needles: phase", ">15<"} {
		if !bytes.Contains(svg, []byte(says)) {
			t.Errorf("it doesn't say %q", says)
		}
	}
	if len(svg) > 40_000 {
		t.Errorf("%d bytes", len(svg))
	}
}
