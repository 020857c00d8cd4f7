package plan

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

func sitting(repeats int, cables ...string) Sitting {
	return Sitting{Cables: cables, Terminations: []model.Termination{{Ohms: 20}, {Ohms: 2000}}, Exposures: []string{"beside", "wrapped"},
		Repeats: repeats, Control: "old", Seed: 11}
}

// Quiet stands before and after each near of the same block; unplugged comes between
// near and quiet, as the lead must not move.
func TestQuietAroundEachNear(t *testing.T) {
	steps := Order(sitting(4, "a", "b", "c"))
	live := slices.DeleteFunc(slices.Clone(steps), func(s model.PlanRun) bool { return s.Condition == model.Unplugged })
	near := 0
	for i, s := range live {
		if s.Condition != model.Near {
			continue
		}
		near++
		for _, q := range []model.PlanRun{live[i-1], live[i+1]} {
			if q.Condition != model.Quiet || q.Block != s.Block || q.Cable != s.Cable || q.Termination != s.Termination {
				t.Errorf("beside %+v stands %+v", s, q)
			}
		}
	}
	if want := 2 * 2 * (3*4 + 2); near != want { // terminations, exposures, cables and the control twice
		t.Errorf("%d near, want %d", near, want)
	}
	for i, s := range steps {
		if s.Condition == model.Unplugged && (steps[i-1].Condition != model.Near || steps[i-1].Plug != s.Plug || steps[i-1].Exposure != s.Exposure) {
			t.Errorf("unplugged is not right after its near: %+v", s)
		}
	}
}

// For whole squares each cable is in each place as often; else to within one.
func TestEachCableAsOftenFirst(t *testing.T) {
	for _, repeats := range []int{3, 4, 6, 7, 12} {
		for n := 2; n <= 5; n++ {
			names := []string{"a", "b", "c", "d", "e"}[:n]
			at, follows := map[string]int{}, map[string]int{}
			place, before := 0, model.PlanRun{}
			for _, s := range Order(sitting(repeats, names...)) {
				if s.Condition != model.Quiet || s.Cable == "old" || s.Block == before.Block {
					continue
				}
				if place%n > 0 {
					follows[fmt.Sprint(s.Termination, before.Cable, s.Cable)]++
				}
				at[fmt.Sprint(s.Termination, s.Cable, place%n)]++
				place, before = place+1, s
			}
			even(t, fmt.Sprintf("%d cables, %d repeats: places", n, repeats), at, 2*n*n, repeats%n == 0)
			if n%2 == 0 && repeats%n == 0 || repeats%(2*n) == 0 {
				even(t, fmt.Sprintf("%d cables, %d repeats: successors", n, repeats), follows, 2*n*(n-1), true)
			}
		}
	}
}

// even says that counts are alike, or differ by one at most.
func even(t *testing.T, what string, counts map[string]int, want int, exactly bool) {
	t.Helper()
	least, most := math.MaxInt, 0
	for _, c := range counts {
		least, most = min(least, c), max(most, c)
	}
	if len(counts) < want {
		least = 0
	}
	if most-least > 1 || exactly && most != least {
		t.Errorf("%s: from %d to %d times", what, least, most)
	}
}

// Each orientation of the plug as often in each cell, and in one repeat the same
// for all cables.
func TestEachOrientationAsOften(t *testing.T) {
	turned, in := map[string]int{}, map[int]int{}
	for _, s := range Order(sitting(6, "a", "b", "c")) {
		if s.Condition != model.Near {
			continue
		}
		turned[fmt.Sprint(s.Cable, s.Termination, s.Exposure, s.Plug)]++
		if plug, ok := in[s.Repeat]; ok && plug != s.Plug {
			t.Errorf("repeat %d has both orientations", s.Repeat)
		}
		in[s.Repeat] = s.Plug
	}
	for cell, n := range turned {
		if want := map[bool]int{true: 1, false: 3}[cell[0] == 'o']; n != want { // the control twice, once each way
			t.Errorf("%s: %d times, want %d", cell, n, want)
		}
	}
	kit.Same(t, len(turned), 4*2*2*2, "cells")
}

// Controls stand at both ends; the seed alone decides the order.
func TestOrderEndsAndSeed(t *testing.T) {
	s := sitting(6, "a", "b", "c", "d")
	steps := Order(s)
	for _, ends := range [][2]model.PlanRun{{steps[0], steps[len(steps)-1]}, {steps[1], steps[len(steps)-2]}, {steps[2], steps[len(steps)-3]}} {
		if ends[0].Condition != ends[1].Condition || ends[0].Cable != ends[1].Cable {
			t.Errorf("at the ends stand %+v and %+v", ends[0], ends[1])
		}
	}
	same := func(a, b []model.PlanRun) bool { return reflect.DeepEqual(fmt.Sprint(a), fmt.Sprint(b)) }
	if !same(steps, Order(s)) {
		t.Error("the same seed gave another order")
	}
	s.Seed++
	if same(steps, Order(s)) {
		t.Error("another seed gave the same order")
	}
}

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
