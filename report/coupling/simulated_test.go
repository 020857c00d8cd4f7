package coupling

import (
	"context"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
	"humdiff/report/delta"
)

// recorded gives a bench its room hum, its noise and its recorder.
func recorded(s bench.Setup, room float64) bench.Setup {
	s.Mains.Track.WanderHz, s.Mains.Track.WanderSeconds = 0.01, 60
	s.Room = bench.Coupling{Farads: room, Turn: 2}
	s.Recorder = bench.Recorder{Rate: 2000, FullScale: 2, GainDB: 20, NoiseVolts: 20e-9, Bits: 24, Dither: true}
	return s
}

// pickup measures the fundamental's pickup in volts, as a user's pair would.
func pickup(t *testing.T, s bench.Setup, seconds float64, seed int64) Range {
	t.Helper()
	level := func(cond bench.Condition) (mains.Level, float64) {
		c, err := s.Capture(cond, seconds, seed)
		if err != nil {
			t.Fatal(err)
		}
		m, err := mains.Measure(context.Background(), c.Source(), mains.Options{UpTo: 500, Nominal: 50})
		if err != nil {
			t.Fatal(err)
		}
		return m[0].Lines[0].Level, c.Truth.FullScaleVolts
	}
	quiet, full := level(bench.Quiet)
	near, _ := level(bench.Near)
	lo, hi := delta.Pickup(quiet, near)
	return Range{Lo: lo * full, Hi: hi * full}
}

// Captures of simulated benches with random couplings, terminations and open
// far ends, measured blind: the capacitance lies within its interval. Room hum
// lies from far below to above the pickup, so that intervals are wide and
// narrow; each end of a pickup fails in at most 5 % of pairs.
func TestCapacitanceOfSimulatedPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	sources := []float64{20, 600, 2e3, 10e3, math.Inf(1)}
	trials := 200
	if testing.Short() {
		trials = 20
	}
	held, narrow := 0, 0
	for i := range trials {
		c := conditions{source: sources[i%len(sources)]}
		farads := 1e-12 * math.Pow(10, 2*r.Float64()-1)
		s := recorded(world{farads: farads}.setup(c, 0), farads*math.Pow(10, -2*r.Float64()))
		got := Capacitance(pickup(t, s, 10, int64(i)), runAt(c, Range{}).Bench)
		if got.Lo <= farads && farads <= got.Hi {
			held++
		}
		if got.Lo > 0.8*farads && got.Hi < 1.25*farads {
			narrow++
		}
	}
	t.Logf("held in %d of %d, narrow in %d", held, trials, narrow)
	if held < trials*95/100-1 || narrow < trials/3 {
		t.Errorf("capacitance held in %d of %d pairs, within 2 dB in %d", held, trials, narrow)
	}
}

// The same with all three mechanisms, over the runs that a bench would make:
// nothing proved may be untrue, whatever the seed. Intervals fail in at most
// 5 % of runs, and a wrong proof needs a failure of decibels; none is allowed.
func TestMechanismOfSimulatedRuns(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	set := []conditions{{20, 2, true}, {5e3, 2, true}, {20, 0, true}, {20, 2, false}}
	trials := 100
	if testing.Short() {
		trials = 10
	}
	count := map[string]int{}
	for i := range trials {
		w, _ := trial(r)
		var runs []Run
		for n, c := range set {
			s := recorded(w.setup(c, 0), w.farads/30)
			runs = append(runs, runAt(c, pickup(t, s, 5, int64(10*i+n))))
		}
		for n, f := range Mechanism(runs).Findings {
			p := w.setup(set[n], 0).Pickup(1, 50)
			count[f.Verdict]++
			if f.How == Proved {
				count["wrong"] += wrong(f.Verdict, p)
			}
		}
	}
	t.Log(count)
	if count["wrong"] > 0 || count[Electric] == 0 || count[Magnetic] == 0 {
		t.Errorf("findings: %v", count)
	}
}

func wrong(verdict string, p bench.Pickup) int {
	size := map[string][2]complex128{Electric: {p.Electric, p.Magnetic + p.Loop}, Magnetic: {p.Magnetic, p.Electric + p.Loop}, Loop: {p.Loop, p.Electric + p.Magnetic}}
	if s, ok := size[verdict]; ok && cmplx.Abs(s[0]) < 2*cmplx.Abs(s[1]) {
		return 1
	}
	return 0
}
