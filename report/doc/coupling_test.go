package doc

import (
	"strings"
	"testing"

	"humdiff/fft/estimate"
	"humdiff/fixtures/kit"
	"humdiff/report/coupling"
	"humdiff/report/model"
)

func certainly(v float64) model.Estimate { return estimate.Of(v, v, v) }

// pickedUp is a pickup at a far end, 2 % wide.
func pickedUp(file string, source, volts float64, loaded, bonded string, plug int) coupling.Measured {
	return coupling.Measured{File: file, Harmonic: 1, Run: coupling.Run{Channel: 1,
		Pickup: estimate.Between(0.99*volts, 1.01*volts), Loaded: loaded, Bonded: bonded, Plug: plug,
		Bench: coupling.Bench{MainsVolts: estimate.Between(225, 235), Hz: 50, SourceOhms: certainly(source), InputOhms: certainly(1e6), CableFarads: certainly(100e-12)}}}
}

func assessed(runs ...coupling.Measured) model.Coupling {
	r := model.Coupling{Geometry: model.Geometry{SpacingMetres: 0.01, ParallelMetres: 1.5}}
	r.Runs, r.Mechanism = coupling.Assess(runs)
	return r
}

// The numbers are those that the program gave before.
func TestCouplings(t *testing.T) {
	const yes, no = model.Yes, model.No
	balanced, amps, open := pickedUp("balanced.json", 20, 1e-6, no, no, 1), pickedUp("loaded.json", 20, 300e-6, yes, no, 1), pickedUp("open.json", 20, 1e-3, no, no, 0)
	balanced.Bench.Balanced, amps.Amps, open.Bench.FarEndOpen = true, certainly(2), true
	expected := model.Coupling{Expected: coupling.Forward(coupling.Numbers{Farads: certainly(1e-12)}, model.Estimate{}, []coupling.Bench{pickedUp("", 20, 0, no, no, 0).Bench})}
	for name, c := range map[string]struct {
		model.Coupling
		title string
		says  []string
	}{
		"one": {assessed(open), "How the hum gets in is not decided.", []string{"No coupling capacitance is given: only two finite terminations", "stated geometry: 10 mm apart, 1.5 m in parallel.", "two finite terminations"}},
		"electric": {assessed(pickedUp("low.json", 20, 1e-6, yes, yes, 1), pickedUp("high.json", 10e3, 495e-6, yes, yes, 1)),
			"The hum comes by the electric field of the lead's voltage (far end 20 Ω; far end 10 kΩ). That alone explains",
			[]string{"From a far end of 20 Ω to 10 kΩ the pickup changed by 53.7 to 54.1 dB. It was 0.990 to 1.01 µV, and became 490 to 500 µV.", "it would change by 53.9 dB, without it by −0.1 dB.", "in low.json is 0.670 to 0.717 pF"}},
		"magnetic": {assessed(pickedUp("unloaded.json", 20, 1e-6, no, no, 1), amps), "less than a third of it.",
			[]string{"by 49.4 to 49.7 dB", "The mutual inductance in loaded.json is 471 to 484 nH, of the magnetic part alone, with the lead at 2 A of 50 Hz."}},
		"loop":  {assessed(pickedUp("isolated.json", 20, 1e-6, no, no, 1), pickedUp("bonded.json", 20, 40e-6, no, yes, 1)), "through a loop of earths", nil},
		"mixed": {assessed(pickedUp("low.json", 20, 2e-6, yes, no, 1), pickedUp("high.json", 10e3, 100e-6, yes, no, 1)), "", nil},
		"plugs": {assessed(pickedUp("one.json", 20, 1e-6, no, no, 1), pickedUp("two.json", 20, 3e-6, no, no, 2)), "not decided", []string{"is given in two.json: only two", "with the larger pickup is quoted"}},
		"shield": {assessed(pickedUp("low.json", 20, 72e-9, no, no, 1), pickedUp("high.json", 2e3, 787e-9, no, no, 1)), "depends on the conditions: with far end 20 Ω by current that the lead's voltage drives into the shield; with far end 2 kΩ by the electric field",
			[]string{"by 20.6 to 20.9 dB", "in high.json is 0.0048 to 0.0062 pF, of the electric part alone"}},
		"class II": {assessed(pickedUp("low.json", 20, 1e-6, no, model.ClassTwo, 1), pickedUp("high.json", 10e3, 1e-6, no, model.ClassTwo, 1)), "not decided", []string{"by −0.2 to 0.2 dB", "class II devices leak"}},
		"torn": {assessed(pickedUp("low.json", 20, 1e-6, no, no, 1), pickedUp("high.json", 10e3, 495e-6, no, no, 1), pickedUp("again.json", 10e3, 5e-6, no, no, 1)), "not decided",
			[]string{"they contradict each other"}},
		"balanced": {assessed(balanced), "not decided", []string{"No coupling capacitance is given: in a balanced input"}},
		"expected": {expected, "Through 1.00 pF a lead at 225 V to 235 V, 50 Hz brings a pickup of 1.41 to 1.48 µV. That is with the far end terminated by 20 Ω, and an input of 1 MΩ.",
			[]string{"569 pV in a band of 1 Hz, and 80.4 nV", "couplings below 0.677 pF"}},
	} {
		d := Coupling(c.Coupling)
		kit.Has(t, name, d.Title, c.title)
		all := allTexts(d)
		kit.Has(t, name, strings.Join(all, "\n"), c.says...)
		shortAndSound(t, name, all)
	}
}

// shortAndSound says that no sentence is longer than 25 words and that numbers are.
func shortAndSound(t *testing.T, name string, all []string) {
	t.Helper()
	for _, text := range all {
		for _, sentence := range strings.Split(strings.ReplaceAll(text, "; ", ". "), ". ") {
			if n := len(strings.Fields(sentence)); n > 25 {
				t.Errorf("%s: %d words: %s", name, n, sentence)
			}
		}
		kit.Lacks(t, name, text, "template:", "NaN", "Inf", "%!", "witness", "held against", "ohm ")
	}
}
