package judge

import (
	"slices"

	"humdiff/report/model"
)

// groups are sets of cables of which no two are told apart, in ranking order: so many
// that any two that aren't told apart share one, and each as large as can be.
//
// As a rule what is told apart goes with the ranking: where two cables aren't told
// apart, none of those between them are. Then a group is a run of consecutive places,
// and these are all the largest sets there are. A cable that scatters much can break
// the rule: it isn't told apart from one far off while its steadier neighbours are.
// Then a largest set of which every two share another group already may be missing;
// all largest sets could be too many to list (3^(n/3); Moon and Moser, Israel Journal
// of Mathematics 3, 1965, 23). There are never more groups than pairs.
func groups(ranked []*cell, pairs []model.Contrast) [][]string {
	n := len(ranked)
	alike := make([][]bool, n)
	for i := range alike {
		alike[i] = make([]bool, n)
	}
	for at, i := 0, 0; i < n; i++ {
		for j := i + 1; j < n; j++ {
			alike[i][j] = !pairs[at].Apart
			alike[j][i], at = alike[i][j], at+1
		}
	}
	sets := cover(alike)
	out := make([][]string, len(sets))
	for k, set := range sets {
		for _, i := range set {
			out[k] = append(out[k], ranked[i].cable)
		}
	}
	return out
}

// cover lists sets of places that are alike with each other, none of which could be
// larger: of every two alike some set holds both, and who is like none is alone.
func cover(alike [][]bool) (sets [][]int) {
	held := make([][]bool, len(alike))
	for i := range held {
		held[i] = make([]bool, len(alike))
	}
	for i := range alike {
		if !slices.Contains(alike[i], true) {
			sets = append(sets, []int{i})
		}
		for j := i + 1; j < len(alike); j++ {
			if alike[i][j] && !held[i][j] {
				set := grown(alike, i, j)
				for _, x := range set {
					for _, y := range set {
						held[x][y] = true
					}
				}
				sets = append(sets, set)
			}
		}
	}
	slices.SortFunc(sets, slices.Compare[[]int])
	return sets
}

// grown is a set of two, and of every further place in order that is like all in it;
// sorted.
func grown(alike [][]bool, i, j int) []int {
	set := []int{i, j}
	for k := range alike {
		if !slices.ContainsFunc(set, func(x int) bool { return x == k || !alike[x][k] }) {
			set = append(set, k)
		}
	}
	slices.Sort(set)
	return set
}
