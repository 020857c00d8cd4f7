package figure

import (
	"fmt"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/report/doc"
	"humdiff/report/model"
)

func about(v, half float64) model.Estimate { return estimate.Of(v, v-half, v+half*1.2) }

// someRanking is a session's ranking of invented cables.
func someRanking() Ranking {
	return Ranking{
		Text: doc.FigureText{Title: "How far hum rose near the lead", Desc: "A ranking of cables.", X: "rise of hum, dB",
			Caption: []string{"laid beside over 1 m, 20 Ω, mean of placements", "95 % intervals from repeats", "sitting of 4 runs a cable, mains 50.01 Hz"}},
		Ranked: []Ranked{
			{"Plover, double screen", estimate.Below(1.2), "at most 1.2, 4 runs"},
			{"Dunlin", about(2.4, 1.1), "2.4 (1.3 to 3.7), 4 runs"},
			{"Heron, the long sample with the grey jacket (lot 7)", estimate.Between(1.4, 4.9), "1.4 to 4.9, 3 runs"},
			{"Siskin.v2 1.5 m", about(8.8, 1.9), "8.8 (6.9 to 11.1), 4 runs"},
			{"Wigeon, no screen at all", estimate.Above(21.5), "at least 21.5, 2 runs"},
			{"Knot", estimate.None(""), "not usable"},
		},
		Alike: [][2]int{{0, 2}, {1, 3}},
	}
}

// someArticle is a session's figure for an article: each kind of estimate, two places.
func someArticle() Article {
	r := someRanking()
	a := Article{Text: r.Text, Places: []string{"20 Ω", "1 kΩ"}, Volts: true}
	for i, k := range r.Ranked {
		a.Rows = append(a.Rows, ArticleRow{k.Name, []model.Estimate{k.Value.Shift(-120), about(-90-float64(i), 1)}})
	}
	return a
}

func largeSession() Ranking {
	r := someRanking()
	r.Ranked, r.Alike = nil, nil
	for i := range 24 {
		name := fmt.Sprintf("%s cable %d", strings.Repeat("quite long ", i%4), i)
		r.Ranked = append(r.Ranked, Ranked{name, about(float64(i)-3, 1.4), "6 runs"})
		if i > 0 {
			r.Alike = append(r.Alike, [2]int{i - 1, i})
		}
	}
	return r
}

func sessionFigures() map[string]Figure {
	r := largeSession()
	nothing := doc.FigureText{Title: "Nothing", Desc: "Nothing.", X: "rise, dB", Y: "rise, dB"}
	return map[string]Figure{"article/some": someArticle().Figure(), "article/none": Article{Text: nothing}.Figure(), "ranking/some": someRanking().Figure(),
		"ranking/large": r.Figure(), "ranking/none": Ranking{Text: nothing}.Figure()}
}
