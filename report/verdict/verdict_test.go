package verdict_test

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"
	"time"

	"humdiff/fixtures/sitting"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/verdict"
	"humdiff/report/words"
)

var none = math.Inf(-1)

// simple is a quiet bench with a cable that picks up little, one that picks up
// much, and the witness.
func simple() sitting.Design {
	return sitting.Design{
		Cables:  []sitting.Cable{{Name: "Heron", PickupDB: -90, SD: 1, QuietDB: -120, DeadDB: none}, {Name: "Plover", PickupDB: -60, SD: 1, QuietDB: -120, DeadDB: none}, {Name: "Wire", PickupDB: -50, SD: 1, QuietDB: -120, DeadDB: none}},
		Repeats: 4, Witness: "Wire", ResidualDB: -122, DriftSD: 0.05, NoiseSD: 0.02, LimitDB: -140, Dead: true, Idle: true,
	}
}

func claim(c session.Claim) session.Claim {
	c.Termination, c.Written = math.NaN(), sitting.Written
	return c
}

func judged(d sitting.Design, change func(*verdict.Input)) result.Session {
	in := sitting.Draw(d, 7)
	if change != nil {
		change(&in)
	}
	return verdict.Judge(in)
}

func found(s result.Session, code string) (out []result.Finding) {
	for _, f := range s.Findings {
		if f.Code == code {
			out = append(out, f)
		}
	}
	return out
}

func objection(t *testing.T, s result.Session, code string) result.Objection {
	t.Helper()
	i := slices.IndexFunc(s.Objections, func(o result.Objection) bool { return o.Code == code })
	if i < 0 {
		t.Fatalf("no objection %q", code)
	}
	return s.Objections[i]
}

func codes(notes []result.Note) (out []string) {
	for _, n := range notes {
		out = append(out, n.Code)
	}
	return out
}

func near(t *testing.T, what string, got result.Num, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= tolerance) {
		t.Errorf("%s = %g, want %g", what, float64(got), want)
	}
}

// Two placements worked by hand. Quiet −120 dB on both sides, no uncertainty;
// near −100 and −96 dB, replaced in between. Quiet's amplitude is 1e-6, near's
// 1e-5 and 1.584893e-5. Pickups lie between 9e-6 (−100.915 dB) and 1.1e-5
// (−99.172), and between 1.484893e-5 (−96.566) and 1.684893e-5 (−95.469). Lower
// ends: mean −98.741, s 3.0752; upper ends: mean −97.320, s 2.6188. With
// t(0.975; 1) = 12.7062 (NIST/SEMATECH e-Handbook: 12.706) and √2 the interval
// reaches from −98.741 − 27.63 to −97.320 + 23.53.
func TestByHand(t *testing.T) {
	d := simple()
	d.Cables, d.Repeats, d.Dead, d.DriftSD, d.NoiseSD = d.Cables[:1], 2, false, 0, 0
	levels := map[session.Condition][]float64{session.Near: {-100, -96}}
	s := judged(d, func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			db := -120.0
			if l := levels[r.Condition]; len(l) > 0 {
				db, levels[r.Condition] = l[0], l[1:]
			}
			h := &in.Runs[i].Capture.Hum
			h.DBFS, h.LoDBFS, h.HiDBFS = result.Num(db), result.Num(db), result.Num(db)
		}
	})
	c := s.Cells[0]
	if c.Placements != 2 || !c.Rose {
		t.Fatalf("%+v", c)
	}
	near(t, "delta", c.Delta.Value, 22, 1e-9)
	near(t, "first pickup's lower end", c.Repeats[0].Pickup.Lo, -100.9151, 1e-4)
	near(t, "first pickup's upper end", c.Repeats[0].Pickup.Hi, -99.1721, 1e-4)
	near(t, "first pickup", c.Repeats[0].Pickup.Value, (-100.9151-99.1721)/2, 1e-4)
	near(t, "second pickup's lower end", c.Repeats[1].Pickup.Lo, -96.5660, 1e-4)
	near(t, "second pickup's upper end", c.Repeats[1].Pickup.Hi, -95.4686, 1e-4)
	near(t, "lower end", c.Pickup.Lo, -98.74055-12.7062*3.07521/math.Sqrt2, 2e-3)
	near(t, "upper end", c.Pickup.Hi, -97.32035+12.7062*2.61878/math.Sqrt2, 2e-3)
	near(t, "volts", c.Volts.Value, math.Pow(10, float64(c.Pickup.Value)/20), 1e-15)
}

// A lead that stayed where it was is one placement, however often it is
// recorded.
func TestOnePlacementIsOne(t *testing.T) {
	d := simple()
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 5})}
	s := judged(d, func(in *verdict.Input) {
		for i := range in.Session.Runs {
			in.Session.Runs[i].Replaced = false
		}
	})
	for _, c := range s.Cells {
		if c.Placements != 1 || c.Pickup.Lo.Ok() || c.Pickup.Hi.Ok() || c.SD.Ok() {
			t.Errorf("%d repeats of %s: %d placements, %+v", len(c.Repeats), c.Cable, c.Placements, c.Pickup)
		}
	}
	if r := s.Rankings[0]; len(r.Places) != 0 || len(r.LeftOut) != 3 || r.LeftOut[0].Why != result.OnePlacement {
		t.Errorf("%+v", r)
	}
	p := s.Claims[0].Parts[0]
	if s.Claims[0].Verdict != result.Undecided || codes(p.Reasons)[0] != result.OnePlacement || codes(p.Decide)[0] != result.MorePlacements {
		t.Errorf("%s: %+v", s.Claims[0].Verdict, p)
	}
	if len(found(s, result.OnePlacement)) != 3 || objection(t, s, result.ObjectPlacement).State != result.NotTested {
		t.Error("it isn't said")
	}
	// Half of them replaced: as many placements.
	s = judged(d, func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			in.Session.Runs[i].Replaced = r.Repeat == 3
		}
	})
	if c := s.Cells[0]; c.Placements != 2 || c.Repeats[1].Placement != 1 || c.Repeats[2].Placement != 2 {
		t.Errorf("%+v", c)
	}
}

// The three verdicts, the ranking, and what is left to say of a sound session.
func TestSoundSession(t *testing.T) {
	d := simple()
	d.Claims = []session.Claim{
		claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1e-6}),
		claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 30}),
	}
	s := judged(d, nil)
	want := []string{result.Supported, result.Refuted, result.Undecided}
	for i, c := range s.Claims {
		if c.Verdict != want[i] || c.Late != result.LateNo || c.Together != (want[i] != result.Undecided) || c.P.Ok() != c.Together {
			t.Errorf("claim %d: %+v", i, c)
		}
	}
	r := s.Rankings[0]
	if len(r.Places) != 3 || r.Places[0].Cable != "Heron" || !r.Settled || len(r.Groups) != 3 {
		t.Errorf("%+v", r)
	}
	near(t, "against the witness", r.Places[0].AgainstWitness.Value, -40, 2)
	if len(s.Findings) != 0 {
		t.Errorf("findings: %+v", s.Findings)
	}
	for _, o := range s.Objections {
		want := map[string]string{result.ObjectLoop: result.NotTested, result.ObjectPlug: result.NotTested, result.ObjectCalibration: result.Open}[o.Code]
		if want == "" {
			want = result.Answered
		}
		if o.State != want {
			t.Errorf("%s is %s, want %s: %v", o.Code, o.State, want, codes(o.Notes))
		}
	}
}

// What the unplugged lead does as well is not the mains': a claim that rests on
// it is undecided, and it is said.
func TestDeadAsHigh(t *testing.T) {
	d := simple()
	d.Cables[1].DeadDB = -58
	d.Claims = []session.Claim{
		claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(session.Claim{Kind: session.Below, Cable: "Plover", Volts: 1e-5}),
		claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1e-3}),
	}
	s := judged(d, nil)
	f := found(s, result.DeadAsHigh)
	if len(f) != 1 || f[0].Cable != "Plover" || len(f[0].Runs) == 0 {
		t.Fatalf("%+v", s.Findings)
	}
	for i, want := range []string{result.Undecided, result.Undecided, result.Supported} {
		if s.Claims[i].Verdict != want {
			t.Errorf("claim %d is %s, want %s: %+v", i, s.Claims[i].Verdict, want, s.Claims[i].Parts)
		}
	}
	if o := objection(t, s, result.ObjectVoltage); o.State != result.Upheld {
		t.Errorf("%+v", o)
	}
	for _, p := range s.Rankings[0].Places {
		if got := slices.Contains(p.Doubts, result.DeadAsHigh); got != (p.Cable == "Plover") {
			t.Errorf("%s: %v", p.Cable, p.Doubts)
		}
	}
	// Well below near it is said, and nothing else changes.
	d.Cables[1].DeadDB = -70
	if s = judged(d, nil); len(found(s, result.DeadRises)) != 1 || s.Claims[0].Verdict != result.Supported {
		t.Errorf("%+v", s.Findings)
	}
}

func TestIdleRises(t *testing.T) {
	d := simple()
	d.LimitDB = -150
	s := judged(d, func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			if r.Condition == session.Near && r.Cable == "Plover" {
				h := &in.Runs[i].Idle.Hum
				h.DBFS, h.LoDBFS, h.HiDBFS = h.DBFS+20, h.LoDBFS+20, h.HiDBFS+20
			}
		}
	})
	f := found(s, result.IdleRises)
	if len(f) != 1 || f[0].Cable != "Plover" || len(f[0].Runs) != 4 {
		t.Fatalf("%+v", s.Findings)
	}
	if o := objection(t, s, result.ObjectInput); o.State != result.Open {
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
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1}), claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1, Exposure: "beside"})}
	s := judged(d, nil)
	if len(s.Rankings) != 0 || len(s.Exposures) != 1 || len(s.Exposures[0].Others) != 3 || s.Exposures[0].Witness != result.No {
		t.Errorf("%+v %+v", s.Rankings, s.Exposures)
	}
	if len(found(s, result.NoDifference)) != 1 || len(s.Cells) == 0 {
		t.Error("it isn't said")
	}
	if c := s.Claims[0]; c.Verdict != result.Undecided || codes(c.Reasons)[0] != result.NotDelivered {
		t.Errorf("%+v", c)
	}
	if c := s.Claims[1]; c.Verdict != result.Undecided || !slices.Contains(codes(c.Parts[0].Reasons), result.WitnessDidNot) {
		t.Errorf("%+v", c)
	}
}

// Near below quiet is said, with its runs; the pickup's range is not zero.
func TestBelowQuiet(t *testing.T) {
	d := simple()
	d.Cables[0] = sitting.Cable{Name: "Heron", PickupDB: -90, SD: 0.1, QuietDB: -84, DeadDB: none}
	d.Cables[1].QuietDB, d.Cables[2].QuietDB = -84, -84
	d.Phases = sitting.Worst
	s := judged(d, func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			if r.Condition == session.Near && r.Cable == "Heron" { // pickup at half of quiet, against it
				h := &in.Runs[i].Capture.Hum
				h.DBFS, h.LoDBFS, h.HiDBFS = -90, -90.05, -89.95
			}
		}
	})
	f := found(s, result.BelowQuiet)
	if len(f) != 1 || f[0].Cable != "Heron" || len(f[0].Runs) != 4 || !(f[0].DB.Hi < -5) {
		t.Fatalf("%+v", s.Findings)
	}
	if c := s.Cells[0]; c.Rose || c.Pickup.Value.Ok() || !(c.Repeats[0].Pickup.Lo > -93) || !(c.Repeats[0].Pickup.Hi < -80) {
		t.Errorf("%+v", c)
	}
}

// Absolute claims ask for a witness that rose, a rise for a bench as quiet as its
// residual, volts for a scale; a refutation asks for none of these but the scale.
func TestControlsThatClaimsNeed(t *testing.T) {
	little := claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1e-3})
	rise := claim(session.Claim{Kind: session.Rise, Cable: "Heron", DB: 3})
	steady := func(d *sitting.Design) { d.Cables[0].PickupDB = -140 }
	for name, c := range map[string]struct {
		change func(*sitting.Design)
		input  func(*verdict.Input)
		claim  session.Claim
		want   string
		reason string
	}{
		"below":               {nil, nil, little, result.Supported, ""},
		"rise":                {steady, nil, rise, result.Supported, ""},
		"rise refuted":        {nil, nil, rise, result.Refuted, ""},
		"below, no witness":   {func(d *sitting.Design) { d.Witness = "" }, nil, little, result.Undecided, result.NoWitness},
		"refuted, no witness": {func(d *sitting.Design) { d.Witness = "" }, nil, claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1e-6}), result.Refuted, ""},
		"rise refuted, noisy": {func(d *sitting.Design) { d.ResidualDB = -130 }, nil, rise, result.Refuted, result.NoisyRefutes},
		"rise refuted, none":  {nil, func(in *verdict.Input) { in.Runs[0].Capture = nil }, rise, result.Refuted, result.NoisyRefutes},
		"rise, noisy bench":   {func(d *sitting.Design) { steady(d); d.ResidualDB = -130 }, nil, rise, result.Undecided, result.NoisyBench},
		"rise, no residual":   {steady, func(in *verdict.Input) { in.Runs[0].Capture = nil }, rise, result.Undecided, result.NoResidual},
		"below, no scale":     {nil, func(in *verdict.Input) { in.Settings.FullScaleVolts = result.None }, little, result.Undecided, result.ScaleUnknown},
		"other cable":         {nil, nil, claim(session.Claim{Kind: session.Below, Cable: "Nobody", Volts: 1}), result.Undecided, result.NoRuns},
	} {
		t.Run(name, func(t *testing.T) {
			d := simple()
			if c.change != nil {
				c.change(&d)
			}
			d.Claims = []session.Claim{c.claim}
			got := judged(d, c.input).Claims[0]
			reasons := codes(got.Reasons)
			for _, p := range got.Parts {
				reasons = append(reasons, codes(p.Reasons)...)
			}
			if got.Verdict != c.want || (c.reason != "" && !slices.Contains(reasons, c.reason)) || (c.reason == "" && len(reasons) > 0) {
				t.Errorf("%s, %v; want %s, %q", got.Verdict, reasons, c.want, c.reason)
			}
		})
	}
}

// A claim that one placement breaks by itself isn't supported by the mean of all.
func TestOnePlacementBeyond(t *testing.T) {
	d := simple()
	d.Cables[0].SD, d.Repeats = 0.3, 8
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 3e-4})}
	raise := func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			if r.Condition == session.Near && r.Cable == "Heron" && r.Repeat == 3 {
				h := &in.Runs[i].Capture.Hum
				h.DBFS, h.LoDBFS, h.HiDBFS = -69, -69.1, -68.9 // 0.35 mV
			}
		}
	}
	if s := judged(d, nil); s.Claims[0].Verdict != result.Supported {
		t.Fatalf("%+v", s.Claims[0])
	}
	p := judged(d, raise).Claims[0].Parts[0]
	if p.Verdict != result.Undecided || !slices.Contains(codes(p.Reasons), result.PlacementBeyond) {
		t.Errorf("%+v", p)
	}
}

// What would decide an undecided claim does decide it, when it is done.
func TestWhatWouldDecide(t *testing.T) {
	d := simple()
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 28})}
	d.Repeats = 3
	decided, asked := 0, 0
	for seed := range uint64(60) {
		p := verdict.Judge(sitting.Draw(d, seed)).Claims[0].Parts[0]
		if p.Verdict != result.Undecided || p.Decide[0].Code != result.MorePlacements || p.Decide[0].Count == 0 {
			continue
		}
		asked++
		more := d
		more.Repeats = p.Decide[0].Count
		if verdict.Judge(sitting.Draw(more, 1000+seed)).Claims[0].Verdict == result.Supported {
			decided++
		}
	}
	// As likely as not, since the next placements scatter too.
	if asked < 20 || 3*decided < asked {
		t.Errorf("of %d undecided claims %d were decided by as many placements as were asked for", asked, decided)
	}
	// Where the room's hum makes the range wide, no number of placements helps.
	d.Cables[0].QuietDB = -93
	d.Claims[0].DB = 30
	p := judged(d, nil).Claims[0].Parts[0]
	if p.Verdict != result.Undecided || p.Decide[0].Code != result.LowerQuiet || !(p.Decide[0].DB > 3) {
		t.Errorf("%+v", p)
	}
	// Where nothing was found, a lower floor does.
	d = simple()
	d.LimitDB = -80
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 2e-5})} // −94 dB
	p = judged(d, nil).Claims[0].Parts[0]
	if p.Verdict != result.Undecided || p.Decide[0].Code != result.LowerFloor || !(p.Decide[0].DB > 14) || !(p.Decide[0].DB < 21) {
		t.Errorf("%+v", p)
	}
}

// Where no hum is found in quiet a rise has no upper end: neither placements nor a
// steadier bench would give it one.
func TestRiseWithoutUpperEnd(t *testing.T) {
	d := simple()
	d.LimitDB = -115 // above quiet
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Rise, Cable: "Heron", DB: 60})}
	p := judged(d, nil).Claims[0].Parts[0]
	if p.Verdict != result.Undecided || p.Value.Hi.Ok() || len(p.Decide) != 1 || p.Decide[0].Code != result.FindQuiet {
		t.Errorf("%+v", p)
	}
}

// Cables that hardly took turns are not said to have taken turns. By hand: places 0
// to 7 spread by a sum of squares of 42 about 3.5. In AAABABBB A has 0, 1, 2, 4 and B
// 3, 5, 6, 7: means 1.75 and 5.25, so 24.5 lie between cables, 58 %. In AAABBBBA the
// means are 2.5 and 4.5: 8 of 42.
func TestTurns(t *testing.T) {
	at := func(order string) result.Objection {
		d := simple()
		d.Cables, d.Dead = d.Cables[:2], false
		return objection(t, judged(d, func(in *verdict.Input) {
			count, next := map[rune]int{}, 0
			place := map[[2]int]int{}
			for _, c := range order {
				count[c]++
				place[[2]int{int(c - 'A'), count[c]}] = next
				next++
			}
			for i, r := range in.Session.Runs {
				if r.Condition == session.Near {
					cable := map[string]int{"Heron": 0, "Plover": 1}[r.Cable]
					in.Session.Runs[i].Start = sitting.Written.Add(time.Duration(100+place[[2]int{cable, r.Repeat}]) * time.Hour)
				}
			}
		}), result.ObjectOrder)
	}
	for order, want := range map[string]string{
		"ABABABAB": result.OrderMixed, "ABBABAAB": result.OrderMixed, "AAABBBBA": result.OrderMixed, "AAAABBBB": result.OrderInBlocks,
		"AAABABBB": result.OrderInParts,
	} {
		if o := at(order); o.Notes[0].Code != want || want == result.OrderInParts && (o.State != result.Open || o.Notes[0].Count != 58) {
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
	if n := objection(t, s, result.ObjectPlacement).Notes[0]; n.Code != result.Placements || n.DB.Ok() || strings.Contains(words.Answer(n), "dB") {
		t.Errorf("%q: %+v", words.Answer(n), n)
	}
	if o := objection(t, s, result.ObjectBench); o.Notes[0].Code != result.QuietSilent || o.State != result.Answered {
		t.Errorf("%+v", o)
	}
	if s = judged(simple(), nil); !objection(t, s, result.ObjectPlacement).Notes[0].DB.Ok() {
		t.Error("a spread that is known isn't stated")
	}
}

// A claim dated after the runs is marked; so is one that may be.
func TestDates(t *testing.T) {
	d := simple()
	first := sitting.Draw(d, 1).Session.Runs[0].Start
	day := first.Truncate(24 * time.Hour)
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{first.Add(-time.Hour), result.LateNo}, {first.Add(time.Hour), result.LateYes}, {time.Time{}, result.LateUnknown},
		{day, result.LateUnknown}, {day.AddDate(0, 0, -1), result.LateNo}, {day.AddDate(0, 0, 1), result.LateYes},
	} {
		x := claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20})
		x.Written = c.at
		d.Claims = []session.Claim{x}
		if got := judged(d, nil).Claims[0].Late; got != c.want {
			t.Errorf("written %v: %s, want %s", c.at, got, c.want)
		}
	}
}

// Runs that are left out are judged as well: it is said whether they would have
// changed anything.
func TestSelection(t *testing.T) {
	d := simple()
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20})}
	leave := func(db float64) func(*verdict.Input) {
		return func(in *verdict.Input) {
			for i, r := range in.Session.Runs {
				if r.Condition == session.Near && r.Cable == "Heron" && r.Repeat == 2 {
					in.Session.Runs[i].LeftOut = "a door slammed"
					h := &in.Runs[i].Capture.Hum
					h.DBFS, h.LoDBFS, h.HiDBFS = result.Num(db), result.Num(db-0.1), result.Num(db+0.1)
				}
			}
		}
	}
	for db, want := range map[float64]string{-90: result.SameWithThem, -50: result.OtherWithThem} {
		s := judged(d, leave(db))
		o := objection(t, s, result.ObjectSelection)
		if !slices.Contains(codes(o.Notes), want) {
			t.Errorf("left out at %g dB: %v, want %s", db, codes(o.Notes), want)
		}
		if n := len(s.Cells[0].Repeats); n != 3 {
			t.Errorf("%d repeats used", n)
		}
	}
	s := judged(d, func(in *verdict.Input) { in.Runs[2].Capture, in.Runs[2].Why = nil, "no such file" })
	if r := s.Runs[2]; !r.Failed || r.Used || r.LeftOut != "no such file" {
		t.Errorf("%+v", r)
	}
	if o := objection(t, s, result.ObjectSelection); o.State != result.Open || !slices.Contains(codes(o.Notes), result.UnknownWith) {
		t.Errorf("%+v", o)
	}
}

// Cables recorded one after the other are told, and so is a bench that moved.
func TestOrder(t *testing.T) {
	d := simple()
	d.Blocks = true
	s := judged(d, nil)
	if len(found(s, result.InBlocks)) != 1 || objection(t, s, result.ObjectOrder).State != result.Open {
		t.Errorf("%+v", s.Findings)
	}
	d = simple()
	for i := range d.Cables {
		d.Cables[i].SD = 0.2
	}
	s = judged(d, func(in *verdict.Input) {
		for i := range in.Runs {
			h := &in.Runs[i].Capture.Hum
			by := result.Num(3 * float64(i) / float64(len(in.Runs)))
			h.DBFS, h.LoDBFS, h.HiDBFS = h.DBFS+by, h.LoDBFS+by, h.HiDBFS+by
		}
	})
	if len(found(s, result.QuietMoved)) == 0 || len(found(s, result.PickupMoves)) != 1 || objection(t, s, result.ObjectBench).State != result.Open {
		t.Errorf("%+v", s.Findings)
	}
	// Without start times the order of the list is taken, and said.
	s = judged(simple(), func(in *verdict.Input) {
		for i := range in.Session.Runs {
			in.Session.Runs[i].Start = time.Time{}
		}
	})
	order := objection(t, s, result.ObjectOrder)
	if s.ByTime || s.OrderUnknown || order.State != result.Open || !slices.Contains(codes(order.Notes), result.OrderAsListed) {
		t.Error("it isn't said that times are unknown")
	}
	if n := order.Notes[0]; n.Code != result.OrderMixed || !n.AsListed || !strings.Contains(words.Answer(n), "took turns, as listed") {
		t.Errorf("%+v", n)
	}
}

// A rise above the claim's on a noisy bench would be larger on a quieter one, for
// every phase: what explainNoise rests on, tried.
func TestQuieterBenchShowsMore(t *testing.T) {
	for phase := 0.0; phase < 2*math.Pi; phase += 0.01 {
		last := 0.0
		for x := 0.01; x < 100; x *= 1.05 { // pickup over quiet, the bench ever quieter
			rise := cmplx.Abs(1 + cmplx.Rect(x, phase))
			if last > 1 && rise < last {
				t.Fatalf("at phase %.2f the rise falls from %g to %g", phase, last, rise)
			}
			last = rise
		}
	}
}

// Where a list was made from file names and nobody has confirmed it, no run is
// taken for the one before or after another: near is held against every quiet
// run of its cable, and nothing is said of order. Once it is confirmed, the
// list's order counts.
func TestOrderUnknown(t *testing.T) {
	blank := func(guessed ...string) func(in *verdict.Input) {
		return func(in *verdict.Input) {
			for i := range in.Session.Runs {
				in.Session.Runs[i].Start = time.Time{}
				in.Session.Runs[i].Guessed = guessed
			}
		}
	}
	d := simple()
	d.Blocks = true
	s := judged(d, blank("start"))
	if s.ByTime || !s.OrderUnknown || len(found(s, result.NoOrder)) != 1 {
		t.Errorf("%+v", s.Findings)
	}
	for _, code := range []string{result.InBlocks, result.QuietMoved, result.PickupMoves, result.DriftUnknown} {
		if len(found(s, code)) > 0 {
			t.Errorf("%s is found where nothing is known of order", code)
		}
	}
	if o := objection(t, s, result.ObjectOrder); o.State != result.NotTested || codes(o.Notes)[0] != result.OrderUnknown {
		t.Errorf("%+v", o)
	}
	for _, c := range s.Cells {
		if c.Quantity != (result.Quantity{}) {
			continue
		}
		for _, r := range c.Repeats {
			if len(r.Against) != 2*d.Repeats+1 || r.Before != 0 || r.After != 0 || r.Drift.Ok() {
				t.Fatalf("%+v", r)
			}
			// Quiet is anywhere between the lowest and the highest of them.
			near, lo, hi := s.Runs[r.Run-1].Capture.Hum.DBFS, math.Inf(1), math.Inf(-1)
			for _, q := range r.Against {
				h := s.Runs[q-1].Capture.Hum
				lo, hi = math.Min(lo, float64(near-h.DBFS)), math.Max(hi, float64(near-h.DBFS))
			}
			if !(float64(r.Delta.Lo) <= lo) || !(float64(r.Delta.Hi) >= hi) {
				t.Errorf("%+v doesn't hold %g to %g", r.Delta, lo, hi)
			}
		}
	}
	if s = judged(d, blank()); s.OrderUnknown || len(found(s, result.InBlocks)) != 1 || !found(s, result.InBlocks)[0].AsListed {
		t.Errorf("%+v", s.Findings)
	}
	// Guessed times order the runs, and are said to be guessed.
	s = judged(simple(), func(in *verdict.Input) {
		for i := range in.Session.Runs {
			in.Session.Runs[i].Guessed = []string{"start"}
		}
		in.Session.Claims = []session.Claim{claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1})}
	})
	o := objection(t, s, result.ObjectOrder)
	if !s.ByTime || o.State != result.Open || !slices.Contains(codes(o.Notes), result.OrderGuessed) || s.Claims[0].Late != result.LateUnknown {
		t.Errorf("%+v", o)
	}
}

// Quiet that rises and falls back is no steady bench, though first and last agree:
// the objection goes by the largest change between any two, and names the largest
// step, which is what is allowed for, beside it.
func TestQuietWanders(t *testing.T) {
	d := simple()
	d.DriftSD, d.NoiseSD = 0, 0
	by := []float64{0, 1, 2, 3, 2, 1, 0, 0}
	s := judged(d, func(in *verdict.Input) {
		n := 0
		for i, r := range in.Session.Runs {
			if r.Condition == session.Quiet && r.Cable == "Plover" {
				h, up := &in.Runs[i].Capture.Hum, result.Num(by[n%len(by)])
				h.DBFS, h.LoDBFS, h.HiDBFS = h.DBFS+up, h.LoDBFS+up, h.HiDBFS+up
				n++
			}
		}
	})
	o := objection(t, s, result.ObjectBench)
	if o.State != result.Open || o.Notes[0].Code != result.QuietUnsteady || o.Notes[1].Code != result.QuietSteps || len(o.Notes[0].Runs) != 2 {
		t.Fatalf("%+v", o)
	}
	near(t, "largest change", o.Notes[0].DB, 3, 1e-9)
	near(t, "largest step", o.Notes[1].DB, 1, 1e-9)
}

// With quiet on one side only, the largest change of quiet seen anywhere widens
// the result.
func TestQuietOnOneSide(t *testing.T) {
	d := simple()
	d.DriftSD = 0.5
	s := judged(d, func(in *verdict.Input) {
		seen := false
		for i, r := range in.Session.Runs {
			if r.Cable == "Heron" && r.Condition == session.Quiet && r.Repeat == 4 {
				if seen {
					in.Session.Runs[i].LeftOut = "lost"
				}
				seen = true
			}
		}
	})
	last := s.Cells[0].Repeats[3]
	if last.Before == 0 || last.After != 0 || !(last.Spread > 0.5) || last.Drift.Ok() {
		t.Errorf("%+v", last)
	}
	if w := last.Delta.Hi - last.Delta.Lo; w < 2*last.Spread {
		t.Errorf("the delta is %g dB wide, quiet changed by %g", float64(w), float64(last.Spread))
	}
	if f := found(s, result.DriftUnknown); len(f) != 1 || f[0].Count != 1 {
		t.Errorf("%+v", f)
	}
}

// Each cable renamed, everything says the same under the new names.
func TestBlind(t *testing.T) {
	d := simple()
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20})}
	in := sitting.Draw(d, 3)
	open := verdict.Judge(in)
	key := map[string]string{"Heron": "A", "Plover": "B", "Wire": "C"}
	for i, r := range in.Session.Runs {
		in.Session.Runs[i].Cable = key[r.Cable]
	}
	in.Session.Claims[0].Cable, in.Session.Claims[0].Than, in.Session.Roles.Witness, in.Blind = "A", "B", "C", true
	blind := verdict.Judge(in)
	for i, c := range open.Cells[:3] {
		if b := blind.Cells[i]; b.Cable != key[c.Cable] || b.Pickup != c.Pickup {
			t.Errorf("%s: %v, blind %s: %v", c.Cable, c.Pickup, b.Cable, b.Pickup)
		}
	}
	if !blind.Blind || blind.Claims[0].Verdict != open.Claims[0].Verdict || blind.Rankings[0].Places[0].Cable != "A" {
		t.Error("the blind session is judged otherwise")
	}
}

// The JSON of a judged session holds all that it was judged by.
func TestAgain(t *testing.T) {
	d := simple()
	d.Cables[1].DeadDB, d.DriftSD, d.LimitDB = -58, 0.4, -118
	d.Claims = []session.Claim{
		claim(session.Claim{Name: "a", Says: "less", By: "the maker", Line: 7, Kind: session.Less, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 1e-4, Of: session.Quantity{Harmonic: 1}}),
		{Kind: session.Rise, Cable: "Heron", DB: 3, Termination: session.Open, Exposure: "beside", Of: session.Quantity{AWeighted: true}},
	}
	first := judged(d, func(in *verdict.Input) {
		in.Session.Runs[2].LeftOut, in.Session.Runs[5].Termination, in.Session.Runs[7].Guessed = "a door slammed", session.Open, []string{"cable"}
		in.Runs[9].Capture, in.Runs[9].Why = nil, "no such file"
		in.Runs[11].Capture.Health.Clipped = 3
		in.Session.Runs[12].Start = in.Session.Runs[12].Start.Add(123 * time.Microsecond)
		in.Warnings = []result.Warning{{Code: "clipped", Message: "3 samples are clipped."}}
		in.Photos = []result.Photo{{File: "bench.jpg", SHA256: "00"}}
		in.Session.Playback = session.BlankPlayback()
		in.Session.Playback.Programme, in.Session.Playback.Gain, in.Session.Playback.Speaker = 2, 0, 87
		in.Session.Playback.Distance, in.Session.Playback.Speakers, in.Session.Playback.Margin = 2.5, 2, 10
	})
	text, err := json.Marshal(first)
	if err != nil {
		t.Fatal(err)
	}
	var read result.Session
	if err := json.Unmarshal(text, &read); err != nil {
		t.Fatal(err)
	}
	in, err := verdict.Again(read)
	if err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(verdict.Judge(in))
	if err != nil {
		t.Fatal(err)
	}
	if string(again) != string(text) {
		i := 0
		for i < min(len(text), len(again)) && text[i] == again[i] {
			i++
		}
		t.Errorf("judged again it is another: …%s… was …%s…", again[max(0, i-200):min(len(again), i+100)], text[max(0, i-200):min(len(text), i+100)])
	}
}

// A near run whose quiet runs are all left out is named.
func TestWithoutQuiet(t *testing.T) {
	s := judged(simple(), func(in *verdict.Input) {
		for i, r := range in.Session.Runs {
			if r.Cable == "Heron" && r.Condition == session.Quiet {
				in.Session.Runs[i].LeftOut = "lost"
			}
		}
	})
	if f := found(s, result.NoQuiet); len(f) != 1 || f[0].Cable != "Heron" || len(f[0].Runs) != 5 { // four near, one dead
		t.Errorf("%+v", s.Findings)
	}
}

// A claim over several exposures is supported where each part is, refuted where
// one is; an exposure that raised nothing has no part in it.
func TestClaimOverSeveral(t *testing.T) {
	d := simple()
	d.Exposures = []string{"beside", "round", "far away"}
	d.Claims = []session.Claim{claim(session.Claim{Kind: session.Below, Cable: "Heron", Volts: 3e-4})}
	set := func(exposure, cable string, db float64) func(*verdict.Input) {
		return func(in *verdict.Input) {
			for i, r := range in.Session.Runs {
				h := &in.Runs[i].Capture.Hum
				switch {
				case r.Exposure == "far away":
					*h = in.Runs[i-1].Capture.Hum // the quiet run before
				case r.Exposure == exposure && r.Cable == cable && r.Condition == session.Near:
					h.DBFS, h.LoDBFS, h.HiDBFS = result.Num(db)+h.DBFS, result.Num(db)+h.LoDBFS, result.Num(db)+h.HiDBFS
				}
			}
		}
	}
	for _, c := range []struct {
		db   float64
		want string
	}{{0, result.Supported}, {40, result.Refuted}, {19, result.Undecided}} {
		got := judged(d, set("round", "Heron", c.db)).Claims[0]
		if got.Verdict != c.want || len(got.Parts) != 2 || got.Parts[0].Verdict != result.Supported {
			t.Errorf("raised by %g dB under one of two exposures: %s, want %s; %d parts", c.db, got.Verdict, c.want, len(got.Parts))
		}
	}
}

// Two terminations tell an electric field from the rest: 20 Ω and 10 kΩ at an
// input of 1 MΩ differ by 20·lg(9901/20) = 53.9 dB, the capacitances left aside.
// Without a stated bench nothing is said.
func TestMechanism(t *testing.T) {
	d := simple()
	d.Cables = []sitting.Cable{{Name: "Heron", PickupDB: -100, SD: 0.3, QuietDB: -160, DeadDB: none}}
	d.LimitDB, d.ResidualDB, d.Witness = -190, -165, ""
	in := sitting.Draw(d, 1)
	d.Cables[0].PickupDB += 53.9
	high := sitting.Draw(d, 2)
	for i, r := range high.Session.Runs {
		r.Termination, r.Start = 10e3, r.Start.Add(24*time.Hour)
		in.Session.Runs, in.Runs = append(in.Session.Runs, r), append(in.Runs, high.Runs[i])
	}
	in.Session.Bench.InputOhms = 1e6
	s := verdict.Judge(in)
	if len(s.Mechanisms) != 1 {
		t.Fatalf("%+v", s.Mechanisms)
	}
	m := s.Mechanisms[0]
	if m.Verdict != "electric" || len(m.Evidence) != 1 || m.Evidence[0].Kind != "termination" || m.Evidence[0].Speaks != "part" {
		t.Errorf("%+v", m)
	}
	near(t, "if all were electric", m.Evidence[0].If, 53.9, 0.3)
	// V = ωC·Z·Vm: 1e-5 V at 20 Ω, 230 V, 50 Hz is 6.92 pF.
	for _, p := range m.Parts {
		if p.Termination.Ohms == 20 && !(p.Farads.Lo < 6.92e-12 && p.Farads.Hi > 6.92e-12) {
			t.Errorf("%+v", p)
		}
	}
	in.Session.Bench.InputOhms = math.NaN()
	if s := verdict.Judge(in); len(s.Mechanisms) != 0 {
		t.Error("a mechanism without a bench")
	}
}
