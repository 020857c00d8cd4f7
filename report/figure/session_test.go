package figure

import (
	"fmt"
	"strings"

	"humdiff/report/result"
)

func measured(v, half float64) Estimate {
	return Estimate{result.Measured, result.Num(v), result.Num(v - half), result.Num(v + half*1.2)}
}

func atMost(v float64) Estimate {
	return Estimate{result.AtMost, result.None, result.None, result.Num(v)}
}

func atLeast(v float64) Estimate {
	return Estimate{result.AtLeast, result.None, result.Num(v), result.None}
}

// someRanking is a session's ranking of invented cables.
func someRanking() Ranking {
	return Ranking{
		Title: "How far hum rose near the lead", Desc: "A ranking of cables.", Axis: "rise of hum, dB",
		Conditions: []string{"laid beside over 1 m, 20 Ω, mean of placements", "95 % intervals from repeats", "sitting of 4 runs a cable, mains 50.01 Hz"},
		Ranked: []Ranked{
			{"Plover, double screen", atMost(1.2), "4 runs"},
			{"Dunlin", measured(2.4, 1.1), "4 runs"},
			{"Heron, the long sample with the grey jacket (lot 7)", measured(3.0, 1.6), "3 runs"},
			{"Siskin.v2 1.5 m", measured(8.8, 1.9), "4 runs"},
			{"Wigeon, no screen at all", atLeast(21.5), "2 runs"},
			{"Knot", Estimate{State: result.NotMeasurable, Value: result.None, Lo: result.None, Hi: result.None}, "not usable"},
		},
		Alike: [][2]int{{0, 2}, {1, 3}},
	}
}

func someMatrix() Matrix {
	return Matrix{
		Title: "Cables under each exposure", Desc: "Cables by exposures.", Axis: "rise of hum, dB",
		Conditions: []string{"95 % intervals from repeats", "20 Ω"},
		Columns:    []string{"laid beside", "wrapped round", "loaded with 1.8 kW", "transformer beside"},
		Rows: []MatrixRow{
			{"Plover, double screen", []Estimate{atMost(1.2), measured(0.3, 0.9), atMost(2.5), {}}},
			{"Heron, the long sample with the grey jacket (lot 7)", []Estimate{measured(3, 1.6), measured(6.1, 1), measured(9.9, 1.4), measured(14.2, 2)}},
			{"Wigeon", []Estimate{atLeast(21.5), atLeast(30.1), measured(33.3, 0.5), measured(-2, 1)}},
		},
	}
}

func largeSession() (Ranking, Matrix) {
	r, m := someRanking(), someMatrix()
	r.Ranked, r.Alike, m.Rows, m.Columns = nil, nil, nil, nil
	for i := range 24 {
		name := fmt.Sprintf("%s cable %d", strings.Repeat("quite long ", i%4), i)
		r.Ranked = append(r.Ranked, Ranked{name, measured(float64(i)-3, 1.4), "6 runs"})
		if i > 0 {
			r.Alike = append(r.Alike, [2]int{i - 1, i})
		}
		m.Rows = append(m.Rows, MatrixRow{Name: name})
		for j := range 9 {
			m.Rows[i].Cells = append(m.Rows[i].Cells, measured(float64(i*j)/9, 0.7))
		}
	}
	for j := range 9 {
		m.Columns = append(m.Columns, fmt.Sprintf("exposure number %d", j))
	}
	return r, m
}

func sessionFigures() map[string]Figure {
	r, m := largeSession()
	return map[string]Figure{"ranking/some": someRanking().Figure(), "matrix/some": someMatrix().Figure(),
		"ranking/large": r.Figure(), "matrix/large": m.Figure(), "ranking/none": Ranking{Title: "Nothing", Axis: "rise, dB"}.Figure(), "matrix/none": Matrix{Title: "Nothing", Axis: "rise, dB"}.Figure()}
}
