package plan

import (
	"fmt"
	"math"
	"reflect"
	"slices"
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
