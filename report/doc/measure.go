package doc

import (
	"fmt"
	"slices"

	"humdiff/report/model"
)

// Measure tells captures measured one by one, with levels in dBFS.
func Measure(r model.Measure) Document { return MeasureIn(r, InDBFS) }

// MeasureIn is Measure with levels in a unit.
func MeasureIn(r model.Measure, u Unit) Document {
	d := Document{Title: MeasureHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	if len(r.Captures) == 1 {
		d.Lead = captureTitle(r.Captures[0].Side)
	}
	all := make([]told, len(r.Captures))
	for i, c := range r.Captures {
		all[i] = tellCapture(c, r.Settings, r.Warnings)
		if len(r.Captures) > 1 {
			all[i].of = captureTitle(c.Side)
		}
	}
	lines := linesSection(slices.Collect(MeasureTables(r, u)), r.Settings, u, "Floor: noise density at the line, in a band of 1 Hz.", "Phase coherence: the share of a line's power that keeps its phase to the mains.")
	var overview Section
	if len(r.Captures) > 1 {
		overview = Section{ID: "captures", Title: "Each capture", Short: shortLines, Blocks: []Block{capturesTable(r, u)}}
	}
	d.Sections = filled(
		Section{ID: "figures", Title: "Spectra", Blocks: captureFigures(r)},
		publishSection(r.Head, MeasureCaption(r)),
		sureOf(all),
		overview,
		foundSection(all),
		openSection(all),
		lines,
		warningSection(r.Warnings),
		Section{ID: "conditions", Title: "Conditions", Blocks: captureConditions(r)},
		captureMethod(r),
		Section{ID: "hashes", Title: "Files", Folded: true, Blocks: captureHashes(r)},
	)
	return d
}

// sureOf is sureSection of one capture; of several each level has its interval in
// the table.
func sureOf(all []told) Section {
	if len(all) > 1 {
		return Section{}
	}
	return sureSection(all)
}

// MeasureHeadline is the answer of a measurement.
func MeasureHeadline(r model.Measure) string {
	switch len(r.Captures) {
	case 0:
		return "Nothing was measured."
	case 1:
		return CaptureHeadline(r.Captures[0], r.Settings)
	}
	hum, unusable := 0, 0
	loudest := r.Captures[0]
	for _, c := range r.Captures {
		v, ok := c.Hum.Level.Value()
		top, any := loudest.Hum.Level.Value()
		switch {
		case c.Health.Clipped > 0 || c.Health.Silent:
			unusable++
		case ok:
			hum++
			if !any || v > top {
				loudest = c
			}
		}
	}
	said := fmt.Sprintf("Hum was found in %d of %s", hum, Count(len(r.Captures), "capture"))
	if hum > 0 && loudest.Hum.Level.Measured() {
		said += fmt.Sprintf(", strongest in %s: %s", Shorten(captureTitle(loudest.Side), longName), LevelOn(r.Settings, model.ForAll, loudest.Hum.Level))
	}
	said += "."
	if unusable > 0 {
		said += fmt.Sprintf(" Not usable: %d.", unusable)
	}
	return said
}

func captureFigures(r model.Measure) []Block {
	var blocks []Block
	for i := range r.Captures[:min(len(r.Captures), mostDrawn)] {
		blocks = append(blocks, Figure{Name: "spectrum", Index: i})
	}
	return blocks
}

func captureConditions(r model.Measure) []Block {
	var blocks []Block
	for i, c := range r.Captures {
		blocks = append(blocks, sidesTable(fmt.Sprintf("conditions%d", i+1), []side{{"capture", c}}))
	}
	return append(blocks, settingsFacts(r.Settings))
}

func captureMethod(r model.Measure) Section {
	s := Section{ID: "method", Title: "How it was measured", Folded: true}
	if len(r.Captures) > 0 {
		s.Blocks = []Block{List{Items: methodOfOne(r.Captures[0])}}
	}
	return s
}

func captureHashes(r model.Measure) []Block {
	var all []side
	for _, c := range r.Captures {
		all = append(all, side{"", c})
	}
	if len(all) == 0 {
		return nil
	}
	return hashes(all)
}
