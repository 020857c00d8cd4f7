package plan

import (
	"strings"
	"testing"

	"humdiff/report/model"
)

// A line and a floor have to be known in one unit: both in dBFS, or both in
// volts. The length is that of Seconds either way.
func TestLength(t *testing.T) {
	dbfs := func(x float64) model.PlanLevel { return model.PlanLevel{DBFS: model.Num(x), Volts: model.None} }
	volts := func(x float64) model.PlanLevel { return model.PlanLevel{DBFS: model.None, Volts: model.Num(x)} }
	want := Seconds(Sought{LineDB: -150, FloorDB: -140, Lines: 100, Share: 0.975, Alarms: falseAlarms})
	for _, x := range [][2]model.PlanLevel{{dbfs(-150), dbfs(-140)}, {volts(1e-6), volts(3.1622776601683795e-6)}} {
		l, err := Length(x[0], x[1], 100)
		if err != nil || len(l.Times) != 2 || len(l.Reach) != 3 {
			t.Fatalf("%+v, %v", l, err)
		}
		if got := float64(l.Times[1].Seconds); got < want/1.002 || got > want*1.002 {
			t.Errorf("%g s, want %g", got, want)
		}
		if s, ok := Recommended(&l); !ok || s < want || s > want+10 {
			t.Errorf("recommended %g s", s)
		}
	}
	if _, err := Length(dbfs(-150), volts(1e-6), 100); err == nil {
		t.Error("two units were taken for one")
	}
	if l, err := Length(NoLevel, volts(1e-6), 100); err != nil || len(l.Times) != 0 || !(l.Reach[2].Line.Volts < 1e-6) {
		t.Errorf("a floor alone: %+v, %v", l, err)
	}
}

// Nothing known: six; a difference: enough for a power of 80 %, an even number;
// given ones are taken, and their power is said.
func TestCount(t *testing.T) {
	for _, c := range []struct {
		difference, spread model.Num
		given, want        int
		why                string
	}{{model.None, model.None, 0, 6, model.RepeatsUnknown}, {2, 2, 0, 18, model.RepeatsPower}, {2, 2, 4, 4, model.RepeatsGiven}} {
		p, err := Count(2, Shown{Difference: c.difference, Within: model.None, Spread: c.spread}, c.given)
		if err != nil || p.Chosen != c.want || p.Why != c.why || p.Power.Ok() != c.difference.Ok() {
			t.Errorf("%+v: %+v, %v", c, p, err)
		}
	}
	for _, given := range []int{1, MostRepeats + 1} {
		if _, err := Count(2, Shown{Difference: model.None, Within: model.None, Spread: model.None}, given); err == nil {
			t.Errorf("%d repeats were taken", given)
		}
	}
	if _, err := Count(2, Shown{Difference: 0.1, Within: model.None, Spread: 2}, 0); err == nil || !strings.Contains(err.Error(), "more than 100") {
		t.Errorf("%v", err)
	}
}
