package report

import (
	"fmt"
	"slices"

	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/model"
)

// sessionFigures are the figure for an article, and each ranking.
func sessionFigures(s *model.Session) []NamedFigure {
	var all []NamedFigure
	if a := articleOf(*s); len(a.Rows) > 0 {
		all = append(all, NamedFigure{"article", a.Figure(), doc.Figure{Name: "article"}})
	}
	for i, r := range s.Rankings {
		if len(r.Places) > 0 {
			all = append(all, NamedFigure{fmt.Sprintf("ranking-%d", i+1), rankingOf(*s, r).Figure(), doc.Figure{Name: "ranking", Index: i}})
		}
	}
	return all
}

// articleOf has the places at which any cable's hum rose, and every cable that is
// ranked at one of them, in the order of the first.
func articleOf(s model.Session) figure.Places {
	shown := s.Rankings[:min(len(s.Rankings), figure.MostPlaces)]
	a := figure.Places{Name: "article", Volts: s.Settings.FullScaleVolts.Ok()}
	var at []model.Where
	for k, r := range shown {
		at = append(at, r.Where)
		for _, p := range r.Places {
			i := slices.IndexFunc(a.Rows, func(x figure.PlaceRow) bool { return x.Name == p.Cable })
			if i < 0 {
				i = len(a.Rows)
				a.Rows = append(a.Rows, figure.PlaceRow{Name: p.Cable, Values: make([]model.Estimate, len(shown))})
			}
			a.Rows[i].Values[k] = doc.OnPickupAxis(s.Settings, p.Pickup)
		}
	}
	var shared string
	a.At, shared = doc.PlaceLabels(at)
	a.Text = doc.ArticleText(s, shown, shared)
	return a
}

func rankingOf(s model.Session, r model.Ranking) figure.Places {
	f := figure.Places{Name: "ranking", Text: doc.RankingText(s, r), Volts: s.Settings.FullScaleVolts.Ok()}
	for _, p := range r.Places {
		f.Rows = append(f.Rows, figure.PlaceRow{Name: p.Cable, Values: []model.Estimate{doc.OnPickupAxis(s.Settings, p.Pickup)}, Said: doc.PlaceSaid(s.Settings, p)})
	}
	for _, g := range r.Groups {
		f.Alike = append(f.Alike, besideEachOther(r, g)...)
	}
	return f
}

// besideEachOther are a group's places in a ranking, where they are next to each
// other, as first and last.
func besideEachOther(r model.Ranking, group []string) [][2]int {
	var out [][2]int
	first := -1
	for i := 0; i <= len(r.Places); i++ {
		in := i < len(r.Places) && slices.Contains(group, r.Places[i].Cable)
		switch {
		case in && first < 0:
			first = i
		case !in && first >= 0:
			if i-1 > first {
				out = append(out, [2]int{first, i - 1})
			}
			first = -1
		}
	}
	return out
}
