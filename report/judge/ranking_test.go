package judge_test

import (
	"fmt"
	"slices"
	"testing"

	"humdiff/fixtures/kit"
	"time"

	"humdiff/fixtures/sessions"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// cables are n of one design, each a little stronger than the one before.
func cables(n int, stepDB, sd float64) sessions.Design {
	d := simple()
	d.Cables, d.Control, d.Unplugged, d.Idle, d.Repeats = nil, "", false, false, 3
	for i := range n {
		d.Cables = append(d.Cables, sessions.Cable{Name: fmt.Sprintf("C%03d", i), PickupDB: -80 + stepDB*float64(i), SD: sd, QuietDB: -120, UnpluggedDB: none})
	}
	return d
}

// apart says which cables of a ranking are told apart.
func apart(r model.Ranking) map[[2]string]bool {
	out := map[[2]string]bool{}
	for _, p := range r.Pairs {
		out[[2]string{p.A, p.B}], out[[2]string{p.B, p.A}] = p.Apart, p.Apart
	}
	return out
}

// largest are all largest sets of cables of which no two are told apart, by trying every
// set.
func largest(r model.Ranking) (sets [][]string) {
	told := apart(r)
	alike := func(set int) bool {
		for i, a := range r.Places {
			for j, b := range r.Places[:i] {
				if (set>>i)&(set>>j)&1 == 1 && told[[2]string{a.Cable, b.Cable}] {
					return false
				}
			}
		}
		return true
	}
	for set := 1; set < 1<<len(r.Places); set++ {
		whole := alike(set)
		for i := range r.Places {
			whole = whole && (set>>i&1 == 1 || !alike(set|1<<i))
		}
		if whole {
			var names []string
			for i, p := range r.Places {
				if set>>i&1 == 1 {
					names = append(names, p.Cable)
				}
			}
			sets = append(sets, names)
		}
	}
	slices.SortFunc(sets, func(x, y []string) int { return slices.Compare(places(r, x), places(r, y)) })
	return sets
}

func places(r model.Ranking, names []string) (at []int) {
	for _, n := range names {
		at = append(at, slices.IndexFunc(r.Places, func(p model.Place) bool { return p.Cable == n }))
	}
	return at
}

// consecutive says that every group of a ranking is a run of consecutive places.
func consecutive(r model.Ranking, groups [][]string) bool {
	for _, g := range groups {
		at := places(r, g)
		if at[len(at)-1]-at[0] != len(at)-1 {
			return false
		}
	}
	return true
}

// Of drawn sessions, groups are all largest sets of cables that aren't told apart wherever
// these are runs of consecutive places; elsewhere each is one of them, and every two
// cables that aren't told apart share one.
func TestGroups(t *testing.T) {
	all, runs := 0, 0
	for seed := range uint64(60) {
		d := cables(7, 2, 1)
		for i := range d.Cables { // unlike scatters break the rule
			d.Cables[i].SD = 0.2 + float64(i*int(seed)%4)
		}
		r := judge.Session(sessions.Draw(d, seed)).Rankings[0]
		want := largest(r)
		all++
		if consecutive(r, want) {
			runs++
			if !slices.EqualFunc(r.Groups, want, slices.Equal) {
				t.Errorf("%v, want %v", r.Groups, want)
			}
			continue
		}
		for _, g := range r.Groups {
			if !slices.ContainsFunc(want, func(w []string) bool { return slices.Equal(w, g) }) {
				t.Errorf("%v isn't one of %v", g, want)
			}
		}
		for _, p := range r.Pairs {
			if !p.Apart && !slices.ContainsFunc(r.Groups, func(g []string) bool { return slices.Contains(g, p.A) && slices.Contains(g, p.B) }) {
				t.Errorf("%s and %s share no group", p.A, p.B)
			}
		}
	}
	if runs < 10 || runs == all {
		t.Errorf("of %d rankings %d have groups of consecutive places: both kinds are to be tried", all, runs)
	}
}

// Two hundred cables, alike or a little apart, take a second, and a busy machine five.
func TestManyCables(t *testing.T) {
	for name, d := range map[string]sessions.Design{"alike": cables(200, 0, 1), "apart": cables(200, 0.5, 0.5)} {
		in := sessions.Draw(d, 1)
		begin := time.Now()
		s := judge.Session(in)
		took := time.Since(begin)
		t.Logf("%s: %v, %d groups", name, took.Round(time.Millisecond), len(s.Rankings[0].Groups))
		if took > 5*time.Second {
			t.Errorf("%s: %v", name, took)
		}
		kit.Same(t, len(s.Rankings[0].Places), 200, "ranked")
	}
}
