package judge_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/sessions"
	"humdiff/report/model"
)

// Two placements worked by hand. Quiet −120 dB on both sides, no uncertainty;
// near −100 and −96 dB, replaced in between. Quiet's amplitude is 1e-6, near's
// 1e-5 and 1.584893e-5. Pickups lie between 9e-6 (−100.915 dB) and 1.1e-5
// (−99.172), and between 1.484893e-5 (−96.566) and 1.684893e-5 (−95.469). Lower
// ends: mean −98.741, s 3.0752; upper ends: mean −97.320, s 2.6188. With
// t(0.975; 1) = 12.7062 (NIST/SEMATECH e-Handbook: 12.706) and √2 the interval
// reaches from −98.741 − 27.63 to −97.320 + 23.53.
func TestByHand(t *testing.T) {
	d := simple()
	d.Cables, d.Repeats, d.Unplugged, d.DriftSD, d.NoiseSD = d.Cables[:1], 2, false, 0, 0
	levels := map[string][]float64{model.Near: {-100, -96}}
	s := judged(d, func(in *model.Session) {
		for i, r := range in.Runs {
			db := -120.0
			if l := levels[r.Condition]; len(l) > 0 {
				db, levels[r.Condition] = l[0], l[1:]
			}
			h := &in.Runs[i].Capture.Hum
			h.Level = sessions.Level(db, 0)
		}
	})
	c := s.Cells[0]
	if c.Placements != 2 || !c.Rose {
		t.Fatalf("%+v", c)
	}
	kit.Near(t, "delta", value(c.Delta), 22, 1e-9)
	kit.Near(t, "first pickup's lower end", lo(c.Repeats[0].Pickup), -100.9151, 1e-4)
	kit.Near(t, "first pickup's upper end", hi(c.Repeats[0].Pickup), -99.1721, 1e-4)
	kit.Near(t, "first pickup", value(c.Repeats[0].Pickup), (-100.9151-99.1721)/2, 1e-4)
	kit.Near(t, "second pickup's lower end", lo(c.Repeats[1].Pickup), -96.5661, 1e-4)
	kit.Near(t, "second pickup's upper end", hi(c.Repeats[1].Pickup), -95.4686, 1e-4)
	kit.Near(t, "lower end", lo(c.Pickup), -98.74055-12.7062*3.07521/math.Sqrt2, 2e-3)
	kit.Near(t, "upper end", hi(c.Pickup), -97.32035+12.7062*2.61878/math.Sqrt2, 2e-3)
}

// A lead that stayed where it was is one placement, however often it is
// recorded.
func TestOnePlacementIsOne(t *testing.T) {
	d := simple()
	d.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 5})}
	s := judged(d, func(in *model.Session) {
		for i := range in.Runs {
			in.Runs[i].Replaced = false
		}
	})
	for _, c := range s.Cells {
		if c.Placements != 1 || has(c.Pickup.Lower()) || has(c.Pickup.Upper()) || c.SD.Ok() {
			t.Errorf("%d repeats of %s: %d placements, %+v", len(c.Repeats), c.Cable, c.Placements, c.Pickup)
		}
	}
	if r := s.Rankings[0]; len(r.Places) != 0 || len(r.LeftOut) != 3 || r.LeftOut[0].Why != model.OnePlacement {
		t.Errorf("%+v", r)
	}
	p := s.Claims[0].Parts[0]
	if s.Claims[0].Verdict != model.Undecided || codes(p.Reasons)[0] != model.OnePlacement || codes(p.Decide)[0] != model.MorePlacements {
		t.Errorf("%s: %+v", s.Claims[0].Verdict, p)
	}
	if len(found(s, model.OnePlacement)) != 3 || objection(t, s, model.ObjectPlacement).State != model.NotTested {
		t.Error("it isn't said")
	}
	// Half of them replaced: as many placements.
	s = judged(d, func(in *model.Session) {
		for i, r := range in.Runs {
			in.Runs[i].Replaced = r.Repeat == 3
		}
	})
	if c := s.Cells[0]; c.Placements != 2 || c.Repeats[1].Placement != 1 || c.Repeats[2].Placement != 2 {
		t.Errorf("%+v", c)
	}
}

// Near below quiet is said, with its runs; the pickup's range is not zero.
func TestBelowQuiet(t *testing.T) {
	d := simple()
	d.Cables[0] = sessions.Cable{Name: "Heron", PickupDB: -90, SD: 0.1, QuietDB: -84, UnpluggedDB: none}
	d.Cables[1].QuietDB, d.Cables[2].QuietDB = -84, -84
	d.Phases = sessions.Worst
	s := judged(d, func(in *model.Session) {
		for i, r := range in.Runs {
			if r.Condition == model.Near && r.Cable == "Heron" { // pickup at half of quiet, against it
				h := &in.Runs[i].Capture.Hum
				h.Level = sessions.Level(-90, 0.05)
			}
		}
	})
	f := found(s, model.BelowQuiet)
	if len(f) != 1 || f[0].Cable != "Heron" || len(f[0].Runs) != 4 || !(f[0].Num("hi_db") < -5) {
		t.Fatalf("%+v", s.Findings)
	}
	if c := s.Cells[0]; c.Rose || c.Pickup.Measured() || !(lo(c.Repeats[0].Pickup) > -93) || !(hi(c.Repeats[0].Pickup) < -80) {
		t.Errorf("%+v", c)
	}
}

// With quiet on one side only, the largest change of quiet seen anywhere widens
// the result.
func TestQuietOnOneSide(t *testing.T) {
	d := simple()
	d.DriftSD = 0.5
	s := judged(d, func(in *model.Session) {
		seen := false
		for i, r := range in.Runs {
			if r.Cable == "Heron" && r.Condition == model.Quiet && r.Repeat == 4 {
				if seen {
					in.Runs[i].LeftOut = "lost"
				}
				seen = true
			}
		}
	})
	last := s.Cells[0].Repeats[3]
	if last.Before == 0 || last.After != 0 || !(last.Spread > 0.5) || last.Drift.Ok() {
		t.Errorf("%+v", last)
	}
	if w := hi(last.Delta) - lo(last.Delta); w < 2*float64(last.Spread) {
		t.Errorf("the delta is %g dB wide, quiet changed by %g", w, float64(last.Spread))
	}
	if f := found(s, model.DriftUnknown); len(f) != 1 || f[0].Num("count") != 1 {
		t.Errorf("%+v", f)
	}
}

// Where a list was made from file names and nobody has confirmed it, no run is
// taken for the one before or after another: near is held against every quiet
// run of its cable, and nothing is said of order. Once it is confirmed, the
// list's order counts.
func TestOrderUnknown(t *testing.T) {
	blank := func(guessed ...string) func(in *model.Session) {
		return func(in *model.Session) {
			for i := range in.Runs {
				in.Runs[i].Start = time.Time{}
				in.Runs[i].Guessed = guessed
			}
		}
	}
	d := simple()
	d.Blocks = true
	s := judged(d, blank("start"))
	if s.ByTime || !s.OrderUnknown || len(found(s, model.NoOrder)) != 1 {
		t.Errorf("%+v", s.Findings)
	}
	for _, code := range []string{model.InBlocks, model.QuietMoved, model.PickupMoves, model.DriftUnknown} {
		if len(found(s, code)) > 0 {
			t.Errorf("%s is found where nothing is known of order", code)
		}
	}
	if o := objection(t, s, model.ObjectOrder); o.State != model.NotTested || codes(o.Notes)[0] != model.OrderUnknown {
		t.Errorf("%+v", o)
	}
	for _, c := range s.Cells {
		if c.Quantity != (model.Quantity{}) {
			continue
		}
		for _, r := range c.Repeats {
			if len(r.Against) != 2*d.Repeats+1 || r.Before != 0 || r.After != 0 || r.Drift.Ok() {
				t.Fatalf("%+v", r)
			}
			// Quiet is anywhere between the lowest and the highest of them.
			near := value(s.Runs[r.Run-1].Capture.Hum.Level)
			for _, q := range r.Against {
				if d := near - value(s.Runs[q-1].Capture.Hum.Level); !(lo(r.Delta) <= d && d <= hi(r.Delta)) {
					t.Errorf("%+v doesn't hold %g", r.Delta, d)
				}
			}
		}
	}
	if s = judged(d, blank()); s.OrderUnknown || len(found(s, model.InBlocks)) != 1 || found(s, model.InBlocks)[0].Num("as_listed") != 1 {
		t.Errorf("%+v", s.Findings)
	}
	// Guessed times order the runs, and are said to be guessed.
	s = judged(simple(), func(in *model.Session) {
		for i := range in.Runs {
			in.Runs[i].Guessed = []string{"start"}
		}
		in.Claims = []model.Claim{claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1})}
	})
	o := objection(t, s, model.ObjectOrder)
	if !s.ByTime || o.State != model.Open || !slices.Contains(codes(o.Notes), model.OrderGuessed) || s.Claims[0].Late != model.LateUnknown {
		t.Errorf("%+v", o)
	}
}

// A near run whose quiet runs are all left out is named.
func TestWithoutQuiet(t *testing.T) {
	s := judged(simple(), func(in *model.Session) {
		for i, r := range in.Runs {
			if r.Cable == "Heron" && r.Condition == model.Quiet {
				in.Runs[i].LeftOut = "lost"
			}
		}
	})
	if f := found(s, model.NoQuiet); len(f) != 1 || f[0].Cable != "Heron" || len(f[0].Runs) != 5 { // four near, one unplugged
		t.Errorf("%+v", s.Findings)
	}
}
