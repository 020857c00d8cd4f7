package doc

import (
	"fmt"
	"math"
	"slices"

	"humdiff/report/model"
)

// RankingText is the text of a ranking's figure.
func RankingText(s model.Session, r model.Ranking) FigureText {
	return FigureText{
		Title: RankingSaid(s.Settings, r), Kind: "Pickup of each cable, " + Where(r.Where), X: "pickup, " + pickupUnit(s.Settings),
		Desc:    "Cables, least pickup first. " + RankingSaid(s.Settings, r),
		Caption: add(sessionCaption(s), bracketSaid(r)),
	}
}

// bracketSaid explains the brackets, where there are any.
func bracketSaid(r model.Ranking) string {
	if !slices.ContainsFunc(r.Groups, func(g []string) bool { return len(g) > 1 }) {
		return ""
	}
	return "brackets join cables that can't be told apart"
}

func sessionCaption(s model.Session) []string {
	return []string{fmt.Sprintf("hum over harmonics 1 to %d", s.Lines), Percent(s.Settings.Confidence) + " intervals over placements"}
}

func pickupUnit(set model.Settings) string {
	if set.FullScaleVolts.Ok() {
		return "dBV"
	}
	return "dB re full scale"
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

// MatrixText is the text of what each exposure did to each cable.
func MatrixText(s model.Session) FigureText {
	rose := 0
	for _, e := range s.Exposures {
		if len(e.Rose) > 0 {
			rose++
		}
	}
	return FigureText{
		Title:   fmt.Sprintf("%d of %s raised hum", rose, Count(len(s.Exposures), "exposure")),
		Kind:    "What each exposure did to each cable",
		Desc:    "Cables by exposures: near minus quiet.",
		Y:       "hum, near minus quiet, dB",
		Caption: append(sessionCaption(s)[:1:1], "means over placements"),
	}
}

// NoRun is what a matrix says of a cable that was not recorded under an exposure.
const NoRun = "no run"
