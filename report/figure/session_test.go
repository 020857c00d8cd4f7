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

func cell(e model.Estimate) MatrixCell {
	if !e.Known() {
		return MatrixCell{e, "no run", "–"}
	}
	return MatrixCell{e, doc.DeltaShort(e), doc.DeltaShort(e)}
}

func someMatrix() Matrix {
	none := model.Estimate{}
	m := Matrix{
		Text:    doc.FigureText{Title: "Cables under each exposure", Desc: "Cables by exposures.", Y: "rise of hum, dB", Caption: []string{"95 % intervals from repeats", "20 Ω"}},
		Columns: []string{"laid beside", "wrapped round", "loaded with 1.8 kW", "transformer beside"},
	}
	m.Rows = append(m.Rows, MatrixRow{"Plover, double screen", cellsOf([]model.Estimate{estimate.Below(1.2), about(0.3, 0.9), estimate.Below(2.5), none})})
	m.Rows = append(m.Rows,
		MatrixRow{"Heron, the long sample with the grey jacket (lot 7)", cellsOf([]model.Estimate{about(3, 1.6), about(6.1, 1), about(9.9, 1.4), estimate.Between(11, 14.2)})},
		MatrixRow{"Wigeon", cellsOf([]model.Estimate{estimate.Above(21.5), estimate.Above(30.1), about(33.3, 0.5), about(-2, 1)})})
	return m
}

func cellsOf(all []model.Estimate) (cells []MatrixCell) {
	for _, e := range all {
		cells = append(cells, cell(e))
	}
	return cells
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

func largeSession() (Ranking, Matrix) {
	r, m := someRanking(), someMatrix()
	r.Ranked, r.Alike, m.Rows, m.Columns = nil, nil, nil, nil
	for i := range 24 {
		name := fmt.Sprintf("%s cable %d", strings.Repeat("quite long ", i%4), i)
		r.Ranked = append(r.Ranked, Ranked{name, about(float64(i)-3, 1.4), "6 runs"})
		if i > 0 {
			r.Alike = append(r.Alike, [2]int{i - 1, i})
		}
		m.Rows = append(m.Rows, MatrixRow{Name: name})
		for j := range 5 {
			m.Rows[i].Cells = append(m.Rows[i].Cells, cell(about(float64(i*j)/9, 0.7)))
		}
	}
	for j := range 5 {
		m.Columns = append(m.Columns, fmt.Sprintf("exposure number %d", j))
	}
	return r, m
}

func sessionFigures() map[string]Figure {
	r, m := largeSession()
	nothing := doc.FigureText{Title: "Nothing", Desc: "Nothing.", X: "rise, dB", Y: "rise, dB"}
	return map[string]Figure{"article/some": someArticle().Figure(), "article/none": Article{Text: nothing}.Figure(), "ranking/some": someRanking().Figure(), "matrix/some": someMatrix().Figure(),
		"ranking/large": r.Figure(), "matrix/large": m.Figure(), "ranking/none": Ranking{Text: nothing}.Figure(), "matrix/none": Matrix{Text: nothing}.Figure()}
}
