package judge_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
	"time"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/sessions"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// The three verdicts, the ranking, and what is left to say of a sound session.
func TestSoundSession(t *testing.T) {
	d := simple()
	d.Claims = []model.Claim{
		claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1e-6}),
		claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 30}),
	}
	s := judged(d, nil)
	want := []string{model.Supported, model.Refuted, model.Undecided}
	for i, c := range s.Claims {
		if c.Verdict != want[i] || c.Late != model.LateNo || c.Together != (want[i] != model.Undecided) || c.P.Ok() != c.Together {
			t.Errorf("claim %d: %+v", i, c)
		}
	}
	r := s.Rankings[0]
	if len(r.Places) != 3 || r.Places[0].Cable != "Heron" || !r.Settled || len(r.Groups) != 3 {
		t.Errorf("%+v", r)
	}
	kit.Near(t, "against the witness", value(r.Places[0].AgainstWitness), -40, 2)
	kit.Same(t, len(s.Findings), 0, "findings: %+v", s.Findings)
	for _, o := range s.Objections {
		want := map[string]string{model.ObjectLoop: model.NotTested, model.ObjectPlug: model.NotTested, model.ObjectCalibration: model.Open}[o.Code]
		if want == "" {
			want = model.Answered
		}
		kit.Same(t, o.State, want, "%s, %v", o.Code, codes(o.Notes))
	}
}

// Absolute claims ask for a witness that rose, a rise for a bench as quiet as its
// residual, volts for a scale; a refutation asks for none of these but the scale.
func TestControlsThatClaimsNeed(t *testing.T) {
	little := claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1e-3})
	rise := claim(model.Claim{Kind: model.ClaimRise, Cable: "Heron", DB: 3})
	steady := func(d *sessions.Design) { d.Cables[0].PickupDB = -140 }
	for name, c := range map[string]struct {
		change func(*sessions.Design)
		input  func(*model.Session)
		claim  model.Claim
		want   string
		reason string
	}{
		"below":               {nil, nil, little, model.Supported, ""},
		"rise":                {steady, nil, rise, model.Supported, ""},
		"rise refuted":        {nil, nil, rise, model.Refuted, ""},
		"below, no witness":   {func(d *sessions.Design) { d.Control = "" }, nil, little, model.Undecided, model.NoWitness},
		"refuted, no witness": {func(d *sessions.Design) { d.Control = "" }, nil, claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1e-6}), model.Refuted, ""},
		"rise refuted, noisy": {func(d *sessions.Design) { d.ResidualDB = -130 }, nil, rise, model.Refuted, model.NoisyRefutes},
		"rise refuted, none":  {nil, func(in *model.Session) { in.Runs[0].Capture = nil }, rise, model.Refuted, model.NoisyRefutes},
		"rise, noisy bench":   {func(d *sessions.Design) { steady(d); d.ResidualDB = -130 }, nil, rise, model.Undecided, model.NoisyBench},
		"rise, no residual":   {steady, func(in *model.Session) { in.Runs[0].Capture = nil }, rise, model.Undecided, model.NoResidual},
		"below, no scale":     {nil, func(in *model.Session) { in.Settings.FullScaleVolts = model.None }, little, model.Undecided, model.ScaleUnknown},
		"other cable":         {nil, nil, claim(model.Claim{Kind: model.ClaimBelow, Cable: "Nobody", Volts: 1}), model.Undecided, model.NoRuns},
	} {
		t.Run(name, func(t *testing.T) {
			d := simple()
			if c.change != nil {
				c.change(&d)
			}
			d.Claims = []model.Claim{c.claim}
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
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 3e-4})}
	raise := func(in *model.Session) {
		for i, r := range in.Runs {
			if r.Condition == model.Near && r.Cable == "Heron" && r.Repeat == 3 {
				h := &in.Runs[i].Capture.Hum
				h.Level = sessions.Level(-69, 0.1) // 0.35 mV
			}
		}
	}
	if s := judged(d, nil); s.Claims[0].Verdict != model.Supported {
		t.Fatalf("%+v", s.Claims[0])
	}
	p := judged(d, raise).Claims[0].Parts[0]
	if p.Verdict != model.Undecided || !slices.Contains(codes(p.Reasons), model.PlacementBeyond) {
		t.Errorf("%+v", p)
	}
}

// What would decide an undecided claim does decide it, when it is done.
func TestWhatWouldDecide(t *testing.T) {
	d := simple()
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 28})}
	d.Repeats = 3
	decided, asked := 0, 0
	for seed := range uint64(60) {
		p := judge.Session(sessions.Draw(d, seed)).Claims[0].Parts[0]
		if p.Verdict != model.Undecided || p.Decide[0].Code != model.MorePlacements || int(p.Decide[0].Num("count")) == 0 {
			continue
		}
		asked++
		more := d
		more.Repeats = int(p.Decide[0].Num("count"))
		if judge.Session(sessions.Draw(more, 1000+seed)).Claims[0].Verdict == model.Supported {
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
	if p.Verdict != model.Undecided || p.Decide[0].Code != model.LowerQuiet || !(p.Decide[0].Num("db") > 3) {
		t.Errorf("%+v", p)
	}
	// Where nothing was found, a lower floor does.
	d = simple()
	d.LimitDB = -80
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 2e-5})} // −94 dB
	p = judged(d, nil).Claims[0].Parts[0]
	if p.Verdict != model.Undecided || p.Decide[0].Code != model.LowerFloor || !(p.Decide[0].Num("db") > 14) || !(p.Decide[0].Num("db") < 21) {
		t.Errorf("%+v", p)
	}
}

// Where no hum is found in quiet a rise has no upper end: neither placements nor a
// steadier bench would give it one.
func TestRiseWithoutUpperEnd(t *testing.T) {
	d := simple()
	d.LimitDB = -115 // above quiet
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimRise, Cable: "Heron", DB: 60})}
	p := judged(d, nil).Claims[0].Parts[0]
	if p.Verdict != model.Undecided || has(p.Value.Upper()) || len(p.Decide) != 1 || p.Decide[0].Code != model.FindQuiet {
		t.Errorf("%+v", p)
	}
}

// A claim dated after the runs is marked; so is one that may be.
func TestDates(t *testing.T) {
	d := simple()
	first := sessions.Draw(d, 1).Runs[0].Start
	day := first.Truncate(24 * time.Hour)
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{first.Add(-time.Hour), model.LateNo}, {first.Add(time.Hour), model.LateYes}, {time.Time{}, model.LateUnknown},
		{day, model.LateUnknown}, {day.AddDate(0, 0, -1), model.LateNo}, {day.AddDate(0, 0, 1), model.LateYes},
	} {
		x := claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 20})
		x.Written = c.at
		d.Claims = []model.Claim{x}
		kit.Same(t, judged(d, nil).Claims[0].Late, c.want, "written %v", c.at)
	}
}

// A claim over several exposures is supported where each part is, refuted where
// one is; an exposure that raised nothing has no part in it.
func TestClaimOverSeveral(t *testing.T) {
	d := simple()
	d.Exposures = []string{"beside", "round", "far away"}
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 3e-4})}
	set := func(exposure, cable string, db float64) func(*model.Session) {
		return func(in *model.Session) {
			for i, r := range in.Runs {
				h := &in.Runs[i].Capture.Hum
				switch {
				case r.Exposure == "far away":
					*h = in.Runs[i-1].Capture.Hum // the quiet run before
				case r.Exposure == exposure && r.Cable == cable && r.Condition == model.Near:
					h.Level = h.Level.Shift(db)
				}
			}
		}
	}
	for _, c := range []struct {
		db   float64
		want string
	}{{0, model.Supported}, {40, model.Refuted}, {19, model.Undecided}} {
		got := judged(d, set("round", "Heron", c.db)).Claims[0]
		if got.Verdict != c.want || len(got.Parts) != 2 || got.Parts[0].Verdict != model.Supported {
			t.Errorf("raised by %g dB under one of two exposures: %s, want %s; %d parts", c.db, got.Verdict, c.want, len(got.Parts))
		}
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

// Sameness is shown by a 90 % interval within the margin; two placements that can't be told
// apart don't show it, and cables that differ by more than the margin refute it.
func TestSame(t *testing.T) {
	for name, c := range map[string]struct {
		plover  float64 // its pickup over Heron's, dB
		repeats int
		margin  model.Num
		want    string
	}{
		"alike":                 {0, 6, 2, model.Supported},
		"alike, but one":        {0, 1, 2, model.Undecided},
		"alike, but two":        {0, 2, 0.5, model.Undecided},
		"apart":                 {10, 6, 2, model.Refuted},
		"the other way":         {-10, 6, 2, model.Refuted},
		"within a large margin": {10, 6, 14, model.Supported},
	} {
		d := simple()
		d.Repeats, d.Cables[1].PickupDB = c.repeats, d.Cables[0].PickupDB+c.plover
		d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimSame, Cable: "Heron", Than: "Plover", DB: c.margin})}
		got := judged(d, nil).Claims[0]
		kit.Same(t, got.Verdict, c.want, "%s: %s: %+v", name, got.Verdict, got.Parts)
		if p := got.Parts[0]; c.want == model.Supported && (lo(p.Value) < -float64(c.margin) || hi(p.Value) > float64(c.margin)) {
			t.Errorf("%s: the interval %v reaches beyond the margin", name, p.Value)
		}
	}
}
