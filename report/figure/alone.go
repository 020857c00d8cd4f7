package figure

import (
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// Alone draws the spectrum of one capture that is held against no other: its trace
// as a line, the lines that were found with their harmonics, the limits of the
// others as open marks.
func Alone(set result.Settings, c result.Capture) Figure {
	return Figure{"spectrum", func(o Options) content {
		p := aloneAsNear(c)
		f := spectrumContent(set, p, o)
		f.title, f.desc = "Spectrum", aloneDesc(set, c)
		f.key = aloneKey(p)
		f.caption = []string{side(c.Side, c.Health) + ", " + words.Mains(c.Mains.Detected, c.Mains.Hz, c.Mains.U95Hz)}
		if b := c.Trace; b.BinHz.Ok() && b.ENBWHz.Ok() {
			f.caption = append(f.caption, table.Bins(b))
		}
		f.caption = append(f.caption, spectrumNotes(set, p)...)
		if lines := words.UnsteadyAlone(c); lines != "" {
			f.caption = append(f.caption, "levels marked "+words.UnsteadyMark+" changed during the capture: "+lines)
		}
		return f
	}}
}

// aloneAsNear is a capture as a pair of which only near was recorded: what isn't
// there has no level and no limit.
func aloneAsNear(c result.Capture) result.Pair {
	p := result.Pair{Near: c.Side}
	p.Mains.NearDetected, p.Mains.NearHz, p.Mains.NearU95Hz = c.Mains.Detected, c.Mains.Hz, c.Mains.U95Hz
	p.Mains.QuietHz = result.None
	p.Health.Near = c.Health
	p.Trace.Near, p.Tones.Near = c.Trace, c.Tones
	nothing := result.Line{State: result.Undetected, DBFS: result.None, LimitDBFS: result.None}
	for _, l := range c.Lines {
		p.Lines = append(p.Lines, result.PairLine{Harmonic: l.Harmonic, Hz: l.Hz, Quiet: nothing, Near: l.Line})
	}
	return p
}

func aloneDesc(set result.Settings, c result.Capture) string {
	s := words.Captures(result.Measure{Settings: set, Captures: []result.Capture{c}})[0]
	return strings.Join(append([]string{"Averaged spectrum of one capture."}, s.Found...), " ")
}

func aloneKey(p result.Pair) []entry {
	n := words.CountLines(p)
	var key []entry
	if n.NearOnly > 0 {
		key = append(key, entry{"line, with its harmonic", func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, true) }})
	}
	if n.Neither > 0 {
		key = append(key, entry{"limit of one not found", func(c draw.Canvas, at vg.Point, st style) { nearMark(c, at, st, false) }})
	}
	return key
}
