package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// RankingText is the text of a ranking's figure.
func RankingText(s model.Session, r model.Ranking) FigureText {
	said := rankingSaid(s.Settings, r)
	return FigureText{Title: said, Kind: "Pickup of each cable, " + Where(r.Where), X: pickupAxis(s.Settings),
		Desc: "Cables, least pickup first. " + said}.captioned("figure.session", map[string]any{"session": s, "shared": "", "left": 0,
		"brackets": slices.ContainsFunc(r.Groups, func(g []string) bool { return len(g) > 1 })})
}

func pickupAxis(set model.Settings) string {
	if set.FullScaleVolts.Ok() {
		return "pickup, rms, on a logarithmic axis"
	}
	return "pickup, dB re full scale"
}

// OnPickupAxis is a pickup on the axis of a ranking's figure.
func OnPickupAxis(set model.Settings, e model.Estimate) model.Estimate {
	if !set.FullScaleVolts.Ok() {
		return e
	}
	return e.Shift(20 * math.Log10(float64(set.FullScaleVolts)))
}

// PlaceSaid is what stands beside a cable in a ranking's figure.
func PlaceSaid(set model.Settings, p model.Place) string {
	said := PickupSaid(set, p.Pickup) + ", " + Count(p.Placements, "placement")
	if len(p.Doubts) > 0 {
		said += ", in doubt"
	}
	return said
}

// ArticleText is the text of the figure for an article, of some of a session's
// rankings; shared is what all their places have in common.
func ArticleText(s model.Session, shown []model.Ranking, shared string) FigureText {
	t := FigureText{Title: "No exposure raised the hum of any cable", Kind: "Pickup of each cable at each place", X: pickupAxis(s.Settings)}
	if len(shown) > 0 {
		t.Title = articleFinding(s.Settings, shown[0])
	}
	t.Desc = t.Kind + ". " + strings.TrimSuffix(t.Title, ".") + "."
	return t.captioned("figure.session", map[string]any{"session": s, "shared": upperFirst(shared), "left": len(s.Rankings) - len(shown), "brackets": false})
}

// articleFinding is what the first ranking finds, as a title has it.
func articleFinding(set model.Settings, r model.Ranking) string {
	if len(r.Places) < 2 || len(alikeWith(r, r.Places[0].Cable)) > 0 {
		return rankingSaid(set, r)
	}
	least, most := r.Places[0].Cable, r.Places[len(r.Places)-1].Cable
	return fmt.Sprintf("%s picks up least, %s %s more (%s)", Printable(least), Printable(most), apartBy(r, least, most), Where(r.Where))
}

// PlaceLabels names places by what not all of them share, and what they do.
func PlaceLabels(all []model.Where) (labels []string, shared string) {
	parts := make([][]string, len(all))
	for i, w := range all {
		parts[i] = strings.Split(Where(w), ", ")
	}
	common := func(part string) bool {
		return !slices.ContainsFunc(parts, func(p []string) bool { return !slices.Contains(p, part) })
	}
	var of []string
	for i, p := range parts {
		var own []string
		for _, part := range p {
			switch {
			case len(all) < 2 || !common(part):
				own = append(own, part)
			case i == 0:
				of = append(of, part)
			}
		}
		labels = append(labels, strings.Join(own, ", "))
	}
	return labels, strings.Join(of, ", ")
}
