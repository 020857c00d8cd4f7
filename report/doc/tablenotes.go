package doc

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"humdiff/report/model"
)

// limits is the range of the upper limits of lines that were not found, in a unit.
type limits struct {
	Unit
	lo, hi model.Num
}

func noLimits(u Unit) limits { return limits{u, model.Num(math.Inf(1)), model.Num(math.Inf(-1))} }

func (r limits) with(l model.Line, s model.Scale) limits {
	v, ok := r.of(l.Level, s).Upper()
	if !ok || l.Level.Measured() {
		return r
	}
	return limits{r.Unit, min(r.lo, model.Num(v)), max(r.hi, model.Num(v))}
}

// said are the limits in one phrase.
func (r limits) said() string {
	switch {
	case !r.hi.Ok():
		return ""
	case r.Unit == InVolts:
		return siRange(r.lo, r.hi, "V") + " rms"
	}
	return between(Fixed(up(r.lo), 1), Fixed(up(r.hi), 1)) + " " + string(r.Unit)
}

// notFound says of how many lines of a table nothing is printed, and their limits.
func notFound(t Table, where string, rest limits) []string {
	left := count(t.Rows, func(r Row) bool { return !r.Shown })
	return tell("table.not_found", map[string]any{"left": left, "all": len(t.Rows), "where": where, "limits": rest.said()})
}

// more says of how many rows the short form has nothing.
func more(n int, noun string) string {
	if n <= 0 {
		return ""
	}
	if noun == "" {
		return fmt.Sprintf("and %d more: --full", n)
	}
	return fmt.Sprintf("and %d more %s: --full", n, strings.TrimPrefix(Count(n, noun), fmt.Sprint(n)+" "))
}

// views are how many lines a page shows at once; a choice of one is none.
func views(key, found, all int) (said [3]string) {
	if found > key {
		said[0] = fmt.Sprintf("the %s that matter most", Count(key, "line"))
	}
	if found > key || all > found {
		said[1] = fmt.Sprintf("%s found", Count(found, "line"))
	}
	if all > found {
		said[2] = fmt.Sprintf("all %d", all)
	}
	return said
}

// LeftOut says which columns a table has no room for.
func LeftOut(what []string) string { return tellOne("table.left_out", what) }

// WithoutIntervals names what a table loses first of its levels.
const WithoutIntervals = "the levels' intervals"

// tableNotes says what the numbers of tables mean. In own stands what is special
// to them.
func tableNotes(set model.Settings, own []string, marked bool) []string {
	return tell("table.notes", map[string]any{"set": set, "own": own, "marked": marked, "volts": voltsNotes(set)})
}

// voltsNotes say what 0 dBFS is in volts, where that is known.
func voltsNotes(set model.Settings) []string {
	return each(Scales(set), func(k string) string { return "Volts: " + k + "." })
}

// anyMarked says whether a table shows a mark that needs explaining.
func anyMarked(t Table) bool {
	for _, r := range t.Rows {
		if r.Shown && slices.ContainsFunc(r.Cells, func(c Cell) bool { return c.Mark != "" }) {
			return true
		}
	}
	return false
}

// pairNoise gives the noise without hum of both captures.
func pairNoise(p model.Pair, set model.Settings, u Unit) []string {
	quiet, _ := set.ScaleOf(model.ForQuiet)
	near, _ := set.ScaleOf(model.ForNear)
	say := func(q, n model.Num) string {
		if !q.Ok() && !n.Ok() {
			return ""
		}
		return u.plain(q, quiet) + " in quiet, " + u.plain(n, near) + " in near"
	}
	n := p.Noise
	return noise(n.BandHz, say(n.QuietDBFS, n.NearDBFS), say(n.QuietADBFS, n.NearADBFS))
}

func captureNoise(n model.Noise, u Unit, s model.Scale) []string {
	say := func(v model.Num) string {
		if !v.Ok() {
			return ""
		}
		return u.plain(v, s)
	}
	return noise(n.BandHz, say(n.DBFS), say(n.ADBFS))
}

// weighted is the section of what the meter of ITU-R BS.468-4 reads of captures; empty
// where nobody asked.
func weighted(set model.Settings, u Unit, all []side) Section {
	var items []string
	for _, c := range all {
		of := model.ForNear
		if strings.HasPrefix(c.name, "Quiet") {
			of = model.ForQuiet
		}
		scale, _ := set.ScaleOf(of)
		switch q := c.QuasiPeak; {
		case q == nil:
		case !q.HighestDBFS.Ok():
			items = append(items, c.name+": no reading, as the meter takes two seconds to settle.")
		default:
			items = append(items, fmt.Sprintf("%s: %s at its highest, %s in the median.", c.name, u.plain(q.HighestDBFS, scale), u.plain(q.MedianDBFS, scale)))
		}
	}
	if len(items) == 0 {
		return Section{}
	}
	items = append(items, "The meter reads the whole signal, hum and tones included. A sine at 1 kHz reads its own level.")
	return Section{ID: "weighted", Title: "Quasi-peak reading by ITU-R BS.468-4", Short: shortLines, Blocks: []Block{List{Items: items}}}
}

// noise is a sentence of what is said of each weighting.
func noise(band [2]float64, flat, a string) []string {
	return tell("table.noise", map[string]any{"lo": band[0], "hi": band[1], "flat": flat, "a": a})
}

// mostTones is how many tones are printed; JSON has them all.
const mostTones = 5

// tonesSaid lists the strongest tones; where says in which capture, e.g. " in near".
func tonesSaid(where string, all []model.Tone, u Unit, s model.Scale) []string {
	strongest := slices.Clone(all)
	slices.SortStableFunc(strongest, func(a, b model.Tone) int { return cmp.Compare(b.DBFS, a.DBFS) })
	said := each(strongest[:min(mostTones, len(all))], func(t model.Tone) toneSaid { return toneSaid{t, u.plain(t.DBFS, s)} })
	return tell("table.tones", map[string]any{"where": where, "tones": said, "weaker": max(0, len(all)-mostTones)})
}

// toneSaid is a tone with its level as it is printed.
type toneSaid struct {
	model.Tone
	At string
}

func binsSaid(t model.Trace) []string {
	if b := bins(t); b != "" {
		return []string{"Spectrum: " + b + "; pale band from the lowest to the highest bin."}
	}
	return nil
}

// linesSection is tables of lines with what their numbers mean; the short form has
// the lines that matter most, of a single table.
func linesSection(tables []Table, set model.Settings, u Unit, own ...string) Section {
	s := Section{ID: "lines", Title: "Line by line"}
	if len(tables) == 1 {
		s.Short = shortLines
	}
	for _, t := range tables {
		s.Blocks = append(s.Blocks, t)
	}
	if len(tables) > 0 {
		notes := tableNotes(set, own, slices.ContainsFunc(tables, anyMarked))
		s.Blocks = append(s.Blocks, List{Kind: Notes, Items: notes, Brief: []string{}})
	}
	return s
}

func warningSection(all []model.Warning) Section {
	s := Section{ID: "warnings", Title: "Warnings"}
	if len(all) == 0 {
		s.Blocks = []Block{List{Items: []string{"No warnings."}}}
		return s
	}
	s.Short = shortWarnings
	s.Blocks = []Block{WarningList(all)}
	return s
}
