package judge

import (
	"math"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// What stands in the way of a headline about a pair's hum total, with arguments;
// side is quiet or near.
const (
	GateOtherComb = "gate_other_comb" // side, mains_hz, other_hz, other_dbfs, total_dbfs: another comb is stronger
	GateTone      = "gate_tone"       // side, tone_hz, tone_dbfs, total_dbfs: a tone within 1 % of 50 or 60 Hz is stronger
	GateHarmonic  = "gate_harmonic"   // the same of a tone on a harmonic of the mains
	GateLeftOut   = "gate_left_out"   // side, harmonic, line_dbfs, total_dbfs: a line that is in no total is stronger
	GateOneLine   = "gate_one_line"   // side, harmonic, line_hz, share: one line is nearly all of it. No doubt, but to be said
	GateSum       = "gate_sum"        // side, lines_dbfs, total_dbfs: the lines don't make up the total
	GateLine      = "gate_line"       // harmonic, db, total_db: the strongest line and the total went different ways
)

const (
	nearMains = 0.01 // share by which a tone may lie off 50 or 60 Hz and still be taken for hum
	oneLine   = 0.9  // share of a total's power that makes a line nearly all of it
	sumDB     = 0.5  // by which lines and total may differ
	mostDB    = 3    // a line within this of the total makes most of it
	beyondHz  = 0.1  // by which a tone may lie off a harmonic, if the mains doesn't wander more
)

// Gate is what speaks against a headline about a pair's hum total, from the result
// alone: every headline passes it. A total that is stronger than all else where hum
// could be, and that its lines make up, has nothing against it.
func Gate(p model.Pair) []note.Note {
	g := gate{}
	g.side(model.Quiet, p.Quiet, p.Hum.Quiet, p.Hum)
	g.side(model.Near, p.Near, p.Hum.Near, p.Hum)
	g.line(p)
	return append([]note.Note{}, g.against...)
}

// gate gathers what speaks against a headline.
type gate struct{ against []note.Note }

func (g *gate) says(code string, args ...any) {
	g.against = append(g.against, note.New(code, there(args)...))
}

// side holds the total of one side against all that was found there.
func (g *gate) side(side string, c model.Capture, total model.Estimate, in model.Change) {
	spoken, ok := top(total)
	if !ok {
		return
	}
	for _, other := range c.Mains.AlsoFound {
		if v, ok := other.Total.Value(); ok && v > spoken {
			g.says(GateOtherComb, "side", side, "mains_hz", c.Mains.Hz.Float(), "other_hz", other.Hz.Float(), "other_dbfs", v, "total_dbfs", spoken)
		}
	}
	for _, t := range c.Tones {
		if code := couldBeHum(t.Hz, c.Mains); code != "" && float64(t.DBFS) > spoken && t.Hz <= in.UpToHz {
			g.says(code, "side", side, "tone_hz", t.Hz, "tone_dbfs", t.DBFS.Float(), "total_dbfs", spoken)
		}
	}
	for _, l := range c.Lines {
		if v, ok := l.Level.Value(); ok && l.Hidden && v > spoken {
			g.says(GateLeftOut, "side", side, "harmonic", l.Harmonic, "line_dbfs", v, "total_dbfs", spoken)
		}
	}
	if v, ok := total.Value(); ok {
		g.lines(side, c, v, total, in)
	}
}

// top is a level's value, or what it lies below.
func top(level model.Estimate) (float64, bool) {
	if v, ok := level.Value(); ok {
		return v, true
	}
	return level.Upper()
}

// couldBeHum says what a frequency could be taken for: a mains, by lying within 1 % of
// one, or a harmonic of the one that was found; empty: neither.
func couldBeHum(hz float64, m model.Mains) string {
	for _, nominal := range []float64{50, 60} {
		if math.Abs(hz/nominal-1) <= nearMains {
			return GateTone
		}
	}
	if !m.Hz.Ok() || m.Hz <= 0 {
		return ""
	}
	order := math.Round(hz / float64(m.Hz))
	off := math.Abs(hz - order*float64(m.Hz))
	within := beyondHz
	if m.MaxHz.Ok() && m.MinHz.Ok() {
		within = max(within, order*float64(m.MaxHz-m.MinHz)/2)
	}
	if order >= 1 && off <= within {
		return GateHarmonic
	}
	return ""
}

// lines holds a total that was found against the lines in it: no less than the least
// that those which were found may be, no more than the most that all may be.
func (g *gate) lines(side string, c model.Capture, v float64, total model.Estimate, in model.Change) {
	var least, read, most float64
	strongest := ends{mid: math.Inf(-1)}
	var at model.Line
	for _, l := range linesIn(c, in) {
		e := endsOf(l.Level)
		most += power(e.hi)
		if l.Level.Measured() {
			least, read = least+power(e.lo), read+power(e.mid)
			if e.mid > strongest.mid {
				strongest, at = e, l
			}
		}
	}
	if share := power(strongest.mid - v); share >= oneLine {
		g.says(GateOneLine, "side", side, "harmonic", at.Harmonic, "line_hz", at.Hz.Float(), "share", min(1, share))
	}
	if e := endsOf(total); 10*math.Log10(least) > e.hi+sumDB || 10*math.Log10(most) < e.lo-sumDB {
		g.says(GateSum, "side", side, "lines_dbfs", 10*math.Log10(read), "total_dbfs", v)
	}
}

// linesIn are a capture's lines that are in a pair's total.
func linesIn(c model.Capture, in model.Change) (out []model.Line) {
	left := map[int]bool{}
	for _, h := range in.LeftOut {
		left[h] = true
	}
	for _, l := range c.Lines {
		if l.Harmonic <= in.Lines+len(in.LeftOut) && !l.Hidden && !left[l.Harmonic] {
			out = append(out, l)
		}
	}
	return out
}

// line asks whether a line that makes most of near's total went with it.
func (g *gate) line(p model.Pair) {
	near, ok := p.Hum.Near.Value()
	d, measured := p.Hum.Delta.Value()
	if !ok || !measured {
		return
	}
	for _, l := range linesIn(p.Near, p.Hum) {
		x, found := l.Level.Value()
		if !found || x < near-mostDB || l.Harmonic > len(p.Lines) {
			continue
		}
		line := p.Lines[l.Harmonic-1].Delta
		lo, rose := line.Lower()
		hi, fell := line.Upper()
		e := endsOf(p.Hum.Delta)
		if v, ok := line.Value(); ok && (rose && lo > 0 && e.hi < 0 || fell && hi < 0 && e.lo > 0) {
			g.says(GateLine, "harmonic", l.Harmonic, "db", v, "total_db", d)
		}
	}
}
