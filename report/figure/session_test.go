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
func someRanking() Places {
	return Places{Name: "ranking",
		Text: doc.FigureText{Title: "How far hum rose near the lead", Desc: "A ranking of cables.", X: "rise of hum, dB",
			Caption: []string{"laid beside over 1 m, 20 Ω, mean of placements", "95 % intervals from repeats", "sitting of 4 runs a cable, mains 50.01 Hz"}},
		Rows: []PlaceRow{
			{"Plover, double screen", []model.Estimate{estimate.Below(1.2)}, "at most 1.2, 4 runs"},
			{"Dunlin", []model.Estimate{about(2.4, 1.1)}, "2.4 (1.3 to 3.7), 4 runs"},
			{"Heron, the long sample with the grey jacket (lot 7)", []model.Estimate{estimate.Between(1.4, 4.9)}, "1.4 to 4.9, 3 runs"},
			{"Siskin.v2 1.5 m", []model.Estimate{about(8.8, 1.9)}, "8.8 (6.9 to 11.1), 4 runs"},
			{"Wigeon, no screen at all", []model.Estimate{estimate.Above(21.5)}, "at least 21.5, 2 runs"},
			{"Knot", []model.Estimate{estimate.None("")}, "not usable"},
		},
		Alike: [][2]int{{0, 2}, {1, 3}},
	}
}

// someArticle is a session's figure for an article: each kind of estimate, two places.
func someArticle() Places {
	r := someRanking()
	a := Places{Name: "article", Text: r.Text, At: []string{"20 Ω", "1 kΩ"}, Volts: true}
	for i, k := range r.Rows {
		a.Rows = append(a.Rows, PlaceRow{k.Name, []model.Estimate{k.Values[0].Shift(-120), about(-90-float64(i), 1)}, ""})
	}
	return a
}

func largeSession() Places {
	r := someRanking()
	r.Rows, r.Alike = nil, nil
	for i := range 24 {
		name := fmt.Sprintf("%s cable %d", strings.Repeat("quite long ", i%4), i)
		r.Rows = append(r.Rows, PlaceRow{name, []model.Estimate{about(float64(i)-3, 1.4)}, "6 runs"})
		if i > 0 {
			r.Alike = append(r.Alike, [2]int{i - 1, i})
		}
	}
	return r
}

func sessionFigures() map[string]Figure {
	r := largeSession()
	nothing := doc.FigureText{Title: "Nothing", Desc: "Nothing.", X: "rise, dB", Y: "rise, dB"}
	return map[string]Figure{"article/some": someArticle().Figure(), "article/none": Places{Name: "article", Text: nothing}.Figure(), "ranking/some": someRanking().Figure(),
		"ranking/large": r.Figure(), "ranking/none": Places{Name: "ranking", Text: nothing}.Figure()}
}
