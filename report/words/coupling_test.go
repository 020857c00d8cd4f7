package words

import (
	"math"
	"strings"
	"testing"

	"humdiff/report/audibility"
	"humdiff/report/coupling"
	"humdiff/report/internal/golden"
	"humdiff/report/quantity"
	"humdiff/report/result"
	"humdiff/report/session"
)

func exactly(v float64) quantity.Range { return quantity.Exactly(v) }

// run is a pickup at a far end, 2 % wide.
func run(file string, source, volts float64, loaded, bonded session.Tri, plug int) coupling.Measured {
	r := coupling.Run{Pickup: quantity.Range{Lo: 0.99 * volts, Hi: 1.01 * volts}, Loaded: loaded, Amps: quantity.Unknown, Bonded: bonded, Plug: plug}
	r.Bench = coupling.Bench{MainsVolts: quantity.Range{Lo: 225, Hi: 235}, Hz: 50, SourceOhms: exactly(source), InputOhms: exactly(1e6),
		InputFarads: quantity.Unknown, CableFarads: exactly(100e-12)}
	return coupling.Measured{File: file, Channel: 1, Harmonic: 1, Run: r}
}

func assessed(runs ...coupling.Measured) result.Coupling {
	r := result.Coupling{Geometry: result.Geometry{SpacingMetres: 0.01, ParallelMetres: 1.5}}
	r.Runs, r.Mechanism = coupling.Assess(runs)
	return r
}

func TestCouplingGolden(t *testing.T) {
	const yes, no, unstated = session.Yes, session.No, session.Unstated
	open, none := run("open.json", math.Inf(1), 1e-3, no, no, 0), run("none.json", 20, 1e-6, no, no, 0)
	open.Bench.SourceOhms, none.Bench.InputOhms = exactly(math.Inf(1)), quantity.Unknown
	balanced := run("balanced.json", 20, 1e-6, no, no, 1)
	balanced.Bench.Balanced = true
	amps := run("loaded.json", 20, 300e-6, yes, no, 1)
	amps.Amps = exactly(2)
	expected := result.Coupling{Expected: coupling.Forward(exactly(1e-12), []coupling.Bench{run("", 20, 0, no, no, 0).Bench}),
		Wires: &result.WiresGeometry{SpacingMetres: 0.02, DiameterMetres: 0.0014, LengthMetres: 1}}
	for name, r := range map[string]result.Coupling{
		"coupling-one.txt":      assessed(open),
		"coupling-electric.txt": assessed(run("low.json", 20, 1e-6, yes, yes, 1), run("high.json", 10e3, 495e-6, yes, yes, 1)),
		"coupling-rest.txt":     assessed(run("low.json", 20, 1e-6, unstated, unstated, 1), run("high.json", 10e3, 0.99e-6, unstated, unstated, 1)),
		"coupling-magnetic.txt": assessed(run("unloaded.json", 20, 1e-6, no, no, 1), amps),
		"coupling-loop.txt":     assessed(run("isolated.json", 20, 1e-6, no, no, 1), run("bonded.json", 20, 40e-6, no, yes, 1)),
		"coupling-mixed.txt":    assessed(run("low.json", 20, 2e-6, yes, no, 1), run("high.json", 10e3, 100e-6, yes, no, 1)),
		"coupling-plugs.txt":    assessed(run("one.json", 20, 1e-6, no, no, 1), run("two.json", 20, 3e-6, no, no, 2)),
		"coupling-torn.txt":     assessed(run("low.json", 20, 1e-6, no, no, 1), run("high.json", 10e3, 1e-6, no, no, 1)),
		"coupling-balanced.txt": assessed(balanced),
		"coupling-unknown.txt":  assessed(none),
		"coupling-expected.txt": expected,
	} {
		golden.Check(t, name, strings.Join(Coupling(r), "\n")+"\n")
	}
}

// Every reason and every verdict has its words.
func TestCouplingWordsAreThere(t *testing.T) {
	for _, v := range []string{result.Electric, result.Magnetic, result.Loop} {
		if mechanisms[v] == "" {
			t.Errorf("no words for %s", v)
		}
	}
	for _, n := range []string{result.ByTermination, result.ByLoad, result.ByBond, result.NeedCloser, result.NeedRepeat} {
		if needs[n] == "" {
			t.Errorf("no words for the need of %s", n)
		}
	}
	for _, w := range []string{result.WhyBalanced, result.WhyNoVolts, result.WhyNoMains, result.WhyNoImpedance, result.WhyTooMuch} {
		if whyNot[w] == "" {
			t.Errorf("no words for %s", w)
		}
	}
}

func TestAudibleGolden(t *testing.T) {
	speaker := result.Playback{ProgrammeVolts: 2, GainDB: 30, Kind: result.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2}
	room, phone := speaker, result.Playback{ProgrammeVolts: result.None, GainDB: 6, Kind: result.KindHeadphone, SensitivityDB: 105, DistanceMetres: result.None, MarginDB: 3}
	room.MarginDB = 12
	at := func(v quantity.Range, p result.Playback) []string {
		return Audible(audibility.Assess(v, []audibility.Line{{Harmonic: 1, Hz: 50, Volts: v}, {Harmonic: 3, Hz: 150, Volts: v}}, p))
	}
	var all []string
	for _, said := range [][]string{
		at(exactly(0.1), speaker), at(quantity.Range{Lo: 1e-6, Hi: 2e-6}, speaker), at(quantity.Range{Lo: 0.5e-3, Hi: 1e-3}, room),
		at(quantity.Range{Hi: 1e-6}, phone), at(quantity.Range{Hi: 1e-2}, phone), at(quantity.Unknown, phone), at(exactly(3), result.Playback{ProgrammeVolts: 2}),
	} {
		all = append(append(all, said...), "")
	}
	golden.Check(t, "audible.txt", strings.Join(all, "\n"))
	for _, s := range all {
		if strings.Contains(s, "inaudible") {
			t.Errorf("says what can't be known: %s", s)
		}
	}
}
