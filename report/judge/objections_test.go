package judge_test

import (
	"slices"
	"testing"
	"time"

	"humdiff/fft/note"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/sessions"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// What the unplugged lead does as well is not the mains': a claim that rests on
// it is undecided, and it is said.
func TestDeadAsHigh(t *testing.T) {
	d := simple()
	d.Cables[1].UnpluggedDB = -58
	d.Claims = []model.Claim{
		claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(model.Claim{Kind: model.ClaimBelow, Cable: "Plover", Volts: 1e-5}),
		claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1e-3}),
	}
	s := judged(d, nil)
	f := found(s, model.DeadAsHigh)
	if len(f) != 1 || f[0].Cable != "Plover" || len(f[0].Runs) == 0 {
		t.Fatalf("%+v", s.Findings)
	}
	for i, want := range []string{model.Undecided, model.Undecided, model.Supported} {
		kit.Same(t, s.Claims[i].Verdict, want, "claim %d, %+v", i, s.Claims[i].Parts)
	}
	if o := objection(t, s, model.ObjectVoltage); o.State != model.Upheld {
		t.Errorf("%+v", o)
	}
	for _, p := range s.Rankings[0].Places {
		if got := slices.Contains(p.Doubts, model.DeadAsHigh); got != (p.Cable == "Plover") {
			t.Errorf("%s: %v", p.Cable, p.Doubts)
		}
	}
	// Well below near it is said, and nothing else changes.
	d.Cables[1].UnpluggedDB = -70
	if s = judged(d, nil); len(found(s, model.DeadRises)) != 1 || s.Claims[0].Verdict != model.Supported {
		t.Errorf("%+v", s.Findings)
	}
}

func TestIdleRises(t *testing.T) {
	d := simple()
	d.LimitDB = -150
	s := judged(d, func(in *model.Session) {
		for i, r := range in.Runs {
			if r.Condition == model.Near && r.Cable == "Plover" {
				h := &in.Runs[i].IdleCapture.Hum
				h.Level = h.Level.Shift(20)
			}
		}
	})
	f := found(s, model.IdleRises)
	if len(f) != 1 || f[0].Cable != "Plover" || len(f[0].Runs) != 4 {
		t.Fatalf("%+v", s.Findings)
	}
	if o := objection(t, s, model.ObjectInput); o.State != model.Open {
		t.Errorf("%+v", o)
	}
}

// An exposure that raises nothing is kept, but isn't ranked, and no claim stands
// on it.
func TestNoDifference(t *testing.T) {
	d := simple()
	for i := range d.Cables {
		d.Cables[i].PickupDB = -170
	}
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1}), claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1, Exposure: "beside"})}
	s := judged(d, nil)
	if len(s.Rankings) != 0 || len(s.Exposures) != 1 || len(s.Exposures[0].Others) != 3 || s.Exposures[0].Witness != model.No {
		t.Errorf("%+v %+v", s.Rankings, s.Exposures)
	}
	if len(found(s, model.NoDifference)) != 1 || len(s.Cells) == 0 {
		t.Error("it isn't said")
	}
	if m := s.MayPublish; m.State != model.OnlyAs || !slices.Contains(codes(m.Why), model.NoDifference) {
		t.Errorf("%+v", m)
	}
	if c := s.Claims[0]; c.Verdict != model.Undecided || codes(c.Reasons)[0] != model.NotDelivered {
		t.Errorf("%+v", c)
	}
	if c := s.Claims[1]; c.Verdict != model.Undecided || !slices.Contains(codes(c.Parts[0].Reasons), model.WitnessDidNot) {
		t.Errorf("%+v", c)
	}
}

// Cables that hardly took turns are not said to have taken turns. By hand: places 0
// to 7 spread by a sum of squares of 42 about 3.5. In AAABABBB A has 0, 1, 2, 4 and B
// 3, 5, 6, 7: means 1.75 and 5.25, so 24.5 lie between cables, 58 %. In AAABBBBA the
// means are 2.5 and 4.5: 8 of 42.
func TestTurns(t *testing.T) {
	at := func(order string) model.Objection {
		d := simple()
		d.Cables, d.Unplugged = d.Cables[:2], false
		return objection(t, judged(d, func(in *model.Session) {
			count, next := map[rune]int{}, 0
			place := map[[2]int]int{}
			for _, c := range order {
				count[c]++
				place[[2]int{int(c - 'A'), count[c]}] = next
				next++
			}
			for i, r := range in.Runs {
				if r.Condition == model.Near {
					cable := map[string]int{"Heron": 0, "Plover": 1}[r.Cable]
					in.Runs[i].Start = sessions.Written.Add(time.Duration(100+place[[2]int{cable, r.Repeat}]) * time.Hour)
				}
			}
		}), model.ObjectOrder)
	}
	for order, want := range map[string]string{
		"ABABABAB": model.OrderMixed, "ABBABAAB": model.OrderMixed, "AAABBBBA": model.OrderMixed, "AAAABBBB": model.OrderInBlocks,
		"AAABABBB": model.OrderInParts,
	} {
		if o := at(order); o.Notes[0].Code != want || want == model.OrderInParts && (o.State != model.Open || int(o.Notes[0].Num("count")) != 58) {
			t.Errorf("%s: %+v, want %s", order, o, want)
		}
	}
}

// Where quiet shows no hum, no spread of pickups is known, and none is stated; quiet
// is then steady as far as its limits tell.
func TestSilentQuiet(t *testing.T) {
	d := simple()
	d.LimitDB = -115
	s := judged(d, nil)
	if n := objection(t, s, model.ObjectPlacement).Notes[0]; n.Code != model.Placements || n.Get("db") != nil {
		t.Errorf("%+v", n)
	}
	if o := objection(t, s, model.ObjectBench); o.Notes[0].Code != model.QuietSilent || o.State != model.Answered {
		t.Errorf("%+v", o)
	}
	if s = judged(simple(), nil); objection(t, s, model.ObjectPlacement).Notes[0].Get("db") == nil {
		t.Error("a spread that is known isn't stated")
	}
}

// Runs that are left out are judged as well: it is said whether they would have
// changed anything.
func TestSelection(t *testing.T) {
	d := simple()
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 20})}
	leave := func(db float64) func(*model.Session) {
		return func(in *model.Session) {
			for i, r := range in.Runs {
				if r.Condition == model.Near && r.Cable == "Heron" && r.Repeat == 2 {
					in.Runs[i].LeftOut = "a door slammed"
					h := &in.Runs[i].Capture.Hum
					h.Level = sessions.Level(db, 0.1)
				}
			}
		}
	}
	for db, want := range map[float64]string{-90: model.SameWithThem, -50: model.OtherWithThem} {
		s := judged(d, leave(db))
		o := objection(t, s, model.ObjectSelection)
		if !slices.Contains(codes(o.Notes), want) {
			t.Errorf("left out at %g dB: %v, want %s", db, codes(o.Notes), want)
		}
		kit.Same(t, len(s.Cells[0].Repeats), 3, "repeats used")
	}
	s := judged(d, func(in *model.Session) {
		in.Runs[2].Capture, in.Runs[2].Unused = nil, note.New("not_measured", "error", "no such file")
	})
	if r := s.Runs[2]; !r.Failed || r.Used || r.Unused.Text("error") != "no such file" {
		t.Errorf("%+v", r)
	}
	if o := objection(t, s, model.ObjectSelection); o.State != model.Open || !slices.Contains(codes(o.Notes), model.UnknownWith) {
		t.Errorf("%+v", o)
	}
}

// Cables recorded one after the other are told, and so is a bench that moved.
func TestOrder(t *testing.T) {
	d := simple()
	d.Blocks = true
	s := judged(d, nil)
	if len(found(s, model.InBlocks)) != 1 || objection(t, s, model.ObjectOrder).State != model.Open {
		t.Errorf("%+v", s.Findings)
	}
	d = simple()
	for i := range d.Cables {
		d.Cables[i].SD = 0.2
	}
	s = judged(d, func(in *model.Session) {
		for i := range in.Runs {
			h := &in.Runs[i].Capture.Hum
			by := 3 * float64(i) / float64(len(in.Runs))
			h.Level = h.Level.Shift(by)
		}
	})
	if len(found(s, model.QuietMoved)) == 0 || len(found(s, model.PickupMoves)) != 1 || objection(t, s, model.ObjectBench).State != model.Open {
		t.Errorf("%+v", s.Findings)
	}
	// Without start times the order of the list is taken, and said.
	s = judged(simple(), func(in *model.Session) {
		for i := range in.Runs {
			in.Runs[i].Start = time.Time{}
		}
	})
	order := objection(t, s, model.ObjectOrder)
	if s.ByTime || s.OrderUnknown || order.State != model.Open || !slices.Contains(codes(order.Notes), model.OrderAsListed) {
		t.Error("it isn't said that times are unknown")
	}
	if n := order.Notes[0]; n.Code != model.OrderMixed || n.Num("as_listed") != 1 {
		t.Errorf("%+v", n)
	}
}

// Quiet that rises and falls back is no steady bench, though first and last agree:
// the objection goes by the largest change between any two, and names the largest
// step, which is what is allowed for, beside it.
func TestQuietWanders(t *testing.T) {
	d := simple()
	d.DriftSD, d.NoiseSD = 0, 0
	by := []float64{0, 1, 2, 3, 2, 1, 0, 0}
	s := judged(d, func(in *model.Session) {
		n := 0
		for i, r := range in.Runs {
			if r.Condition == model.Quiet && r.Cable == "Plover" {
				h, up := &in.Runs[i].Capture.Hum, by[n%len(by)]
				h.Level = h.Level.Shift(up)
				n++
			}
		}
	})
	o := objection(t, s, model.ObjectBench)
	if o.State != model.Open || o.Notes[0].Code != model.QuietUnsteady || o.Notes[1].Code != model.QuietSteps || len(o.Notes[0].Ints("runs")) != 2 {
		t.Fatalf("%+v", o)
	}
	kit.Near(t, "largest change", o.Notes[0].Num("db"), 3, 1e-9)
	kit.Near(t, "largest step", o.Notes[1].Num("db"), 1, 1e-9)
}

// Two terminations tell an electric field from the rest: 20 Ω and 10 kΩ at an
// input of 1 MΩ differ by 20·lg(9901/20) = 53.9 dB, the capacitances left aside.
// Without a stated bench nothing is said.
func TestMechanism(t *testing.T) {
	d := simple()
	d.Cables = []sessions.Cable{{Name: "Heron", PickupDB: -100, SD: 0.3, QuietDB: -160, UnpluggedDB: none}}
	d.LimitDB, d.ResidualDB, d.Control = -190, -165, ""
	in := sessions.Draw(d, 1)
	d.Cables[0].PickupDB += 53.9
	high := sessions.Draw(d, 2)
	for _, r := range high.Runs {
		r.Termination.Ohms, r.Start = 10e3, r.Start.Add(24*time.Hour)
		in.Runs = append(in.Runs, r)
	}
	in.Bench.InputOhms = 1e6
	s := judge.Session(in)
	if len(s.Mechanisms) != 1 {
		t.Fatalf("%+v", s.Mechanisms)
	}
	m := s.Mechanisms[0]
	if m.Verdict != "electric" || len(m.Evidence) != 1 || m.Evidence[0].Kind != "termination" || m.Evidence[0].Speaks != "part" {
		t.Errorf("%+v", m)
	}
	kit.Near(t, "if all were electric", m.Evidence[0].IfDB.Float(), 53.9, 0.3)
	// V = ωC·Z·Vm: 1e-5 V at 20 Ω, 230 V, 50 Hz is 6.92 pF.
	for _, p := range m.Parts {
		if p.Termination.Ohms == 20 && !(lo(p.Farads) < 6.92e-12 && hi(p.Farads) > 6.92e-12) {
			t.Errorf("%+v", p)
		}
	}
	in.Bench.InputOhms = model.None
	if s := judge.Session(in); len(s.Mechanisms) != 0 {
		t.Error("a mechanism without a bench")
	}
}

// An earth loop is answered for by isolated far devices (battery, transformer) alone or
// against others; class II devices leak, and answer for nothing.
func TestLoopThroughTheFarDevice(t *testing.T) {
	for name, c := range map[string]struct {
		bonded      func(model.Run) string
		state, code string
	}{
		"isolated":             {func(model.Run) string { return model.No }, model.Answered, model.BondIsolated},
		"class II":             {func(model.Run) string { return model.ClassTwo }, model.NotTested, model.BondClassTwo},
		"class II and bonded":  {onRepeat(1, model.ClassTwo, model.Yes), model.NotTested, model.BondClassTwo},
		"isolated and not":     {onRepeat(1, model.No, model.Yes), model.Open, model.BondDiffers},
		"isolated, class II":   {onRepeat(1, model.No, model.ClassTwo), model.Open, model.BondDiffers},
		"isolated, not stated": {onRepeat(1, model.No, ""), model.NotTested, ""},
	} {
		d := simple()
		d.Repeats = 4
		s := judged(d, func(in *model.Session) {
			for i, r := range in.Runs {
				if r.Condition != model.Residual {
					in.Runs[i].Bonded = c.bonded(r)
				}
				if h := &r.Capture.Hum; r.Condition == model.Near && in.Runs[i].Bonded != model.No {
					h.Level = h.Level.Shift(6)
				}
			}
		})
		o := objection(t, s, model.ObjectLoop)
		if o.State != c.state || (c.code == "") != (len(o.Notes) == 0) || c.code != "" && o.Notes[0].Code != c.code {
			t.Errorf("%s: %+v", name, o)
		}
	}
}

// onRepeat is one answer on all repeats up to one, and another later.
func onRepeat(last int, first, then string) func(model.Run) string {
	return func(r model.Run) string {
		if r.Repeat <= last {
			return first
		}
		return then
	}
}
