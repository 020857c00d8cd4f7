package words

import (
	"fmt"
	"math"
	"strings"

	"humdiff/report/result"
)

// Plan says in sentences how long and how often to record.
func Plan(r result.Plan) []string {
	s := Statement{Found: planLength(r.Length)}
	repeats := r.Order != nil || r.Repeats.Why != result.RepeatsUnknown
	if repeats {
		s.Found = append(s.Found, PlanRepeats(r.Repeats)...)
	}
	if o := r.Order; o != nil {
		s.Found = append(s.Found, PlanSitting(*o))
		s.StandsOn = []string{PlanSeed(*o)}
	}
	if r.Length != nil {
		s.StandsOn = append(s.StandsOn, planFloor(*r.Length))
		s.NotShown = append(s.NotShown, "The times hold for hum that keeps its phase to the mains, the shorter ones where a stronger line shows the mains' frequency, and for a floor that stays as it is. Saying --mains doesn't shorten them: the frequency isn't known to a hundredth of a hertz.")
	}
	if repeats && r.Repeats.Why == result.RepeatsUnknown {
		s.Would = append(s.Would, "Once you know by how much repeats of one cable spread, give --difference and --spread: the number that it takes follows from them.")
	}
	return sentences([]Statement{s})
}

func planLength(l *result.PlanLength) (said []string) {
	if l == nil {
		return nil
	}
	if len(l.Times) == 0 {
		for _, t := range l.Reach {
			said = append(said, fmt.Sprintf("A recording of %s finds a line of %s in %s of cases.", Duration(t.Seconds), PlanLevel(t.Line, ""), Percent(t.Share)))
		}
		return said
	}
	for _, t := range l.Times {
		long := "six hours don't do"
		if t.Seconds.Ok() {
			long = "record " + Duration(t.Seconds)
		}
		said = append(said, fmt.Sprintf("To find a line of %s in %s of recordings, %s.", PlanLevel(t.Line, ""), Percent(t.Share), long))
	}
	for _, t := range l.Alone[max(0, len(l.Alone)-1):] {
		long := "six hours may not do"
		if t.Seconds.Ok() {
			long = "it takes up to " + Duration(t.Seconds)
		}
		said = append(said, fmt.Sprintf("Where no stronger line shows the mains' frequency %s (%s of recordings, the line one of the first three harmonics).", long, Percent(t.Share)))
	}
	last := l.Times[len(l.Times)-1]
	if last.Seconds.Ok() {
		said = append(said, "One of the longest of these that doesn't find it puts its detection limit there or lower.")
	}
	return said
}

func planFloor(l result.PlanLength) string {
	from := "as stated"
	if l.FloorOf != "" {
		from = fmt.Sprintf("measured beside harmonic %d in %s, channel %d", l.FloorHarmonic, File(l.FloorOf), l.FloorChannel)
	}
	return fmt.Sprintf("This stands on a floor of %s, %s, and %s looked for together with false alarms in %s of captures.",
		PlanLevel(l.Floor, "/Hz"), from, Count(l.Lines, "line"), Percent(l.FalseAlarmShare))
}

// PlanLevel writes a level as it is known; per is "/Hz" for densities.
func PlanLevel(l result.PlanLevel, per string) string {
	var parts []string
	if l.DBFS.Ok() {
		parts = append(parts, DBFS(l.DBFS)+per)
	}
	if l.Volts.Ok() {
		v := Volts(l.Volts)
		if per != "" {
			v += "/√Hz"
		}
		parts = append(parts, v)
	}
	if len(parts) == 2 {
		return parts[0] + " (" + parts[1] + ")"
	}
	return strings.Join(parts, "")
}

// Duration writes a time as people say it: 40 s, 12 min, 2 h 30 min, rounded up.
func Duration(v result.Num) string {
	s := math.Ceil(float64(v) - 1e-9)
	switch {
	case !v.Ok():
		return "over 6 h"
	case s < 300:
		return fmt.Sprintf("%.0f s", s)
	case s < 3600:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60))
	}
	h, m := math.Modf(math.Ceil(s/60) / 60)
	if m = math.Round(m * 60); m == 0 {
		return fmt.Sprintf("%.0f h", h)
	}
	return fmt.Sprintf("%.0f h %.0f min", h, m)
}

// PlanRepeats says how many repeats to make, and why so many.
func PlanRepeats(p result.PlanRepeats) (said []string) {
	if p.DifferenceDB.Ok() {
		for _, w := range p.Powers {
			n := "more repeats than anybody makes"
			if w.Repeats > 0 {
				n = fmt.Sprintf("%d repeats of each", w.Repeats)
			}
			said = append(said, fmt.Sprintf("To tell two cables apart by %s with a probability of %s takes %s.", DB(p.DifferenceDB), Percent(w.Power), n))
		}
		said = append(said, fmt.Sprintf("That is where single repeats, the lead taken away and put back, spread by %s (standard deviation), by Student's two-sided test at %s for each of %s.",
			DB(p.SpreadDB), Fixed(result.Num(100*p.Alpha), 2)+" %", Count(p.Pairs, "pair")))
	}
	switch p.Why {
	case result.RepeatsUnknown:
		said = append(said, fmt.Sprintf("Record %d repeats of each cable: a mean of six is known to about one standard deviation of a single one, a mean of three only to 2.5.", p.Chosen))
	case result.RepeatsPower:
		said = append(said, fmt.Sprintf("Record %d repeats of each cable, an even number, so that the plug is each way round as often.", p.Chosen))
	default:
		s := fmt.Sprintf("Record %d repeats of each cable, as asked for", p.Chosen)
		if p.Power.Ok() {
			s += fmt.Sprintf(": they tell the difference with a probability of %s", Fixed(100*p.Power, 0)+" %")
		}
		said = append(said, s+".")
	}
	return said
}

// PlanSitting says how much there is to record.
func PlanSitting(o result.PlanOrder) string {
	return fmt.Sprintf("There are %s of %s each, %s of recording without what lies between.", Count(len(o.Runs), "capture"),
		Duration(result.Num(o.Seconds)), Duration(result.Num(o.Seconds*float64(len(o.Runs)))))
}

// PlanSeed says how the order was made.
func PlanSeed(o result.PlanOrder) string {
	s := fmt.Sprintf("The order was shuffled with the seed %d: the same seed gives it again.", o.Seed)
	if o.Blind {
		s += " Cables are letters; which is which is in key.toml, whose SHA-256 is " + o.KeySHA256 + "."
	}
	return s
}

// PlanEnd writes a far end.
func PlanEnd(r result.PlanRun) string {
	switch {
	case r.Open:
		return "open"
	case !r.Termination.Ok():
		return ""
	}
	p := PrefixFor(r.Termination)
	return trimZeros(p.Digits(r.Termination)) + " " + p.Name + "Ω"
}

// PlanSteps says what to do at the bench, for the recording card.
func PlanSteps(o result.PlanOrder) []string {
	return []string{
		fmt.Sprintf("Record %s each time, at one gain throughout, in this order. File names have the run's number and what it is: run003-quiet.wav.", Duration(result.Num(o.Seconds))),
		"quiet: all as for near, the lead out of the room. near: the lead live in its place; its place names the exposure. dead: the lead unplugged at the wall, without moving it.",
		"residual: the input shorted at its connector. calibration: a tone of known voltage; write both captures with its voltage into session.toml.",
		"Plug 1 and plug 2 are the two ways round; mark the plug. For each near take the lead away and put it back anew. Between captures of one cable touch nothing but the lead.",
		"Write start, and anything out of the ordinary, into runs.csv. A capture that failed: record it again under the same name, and note it.",
	}
}

// Cautions go with any advice for the bench.
var Cautions = []string{
	"Work near mains can kill. Use only intact, certified leads with their insulation whole, the free end touch-proof.",
	"Open nothing that is plugged in.",
	"Never connect a measuring input to the mains.",
	"Never remove a protective earth. To break a loop use battery or double-insulated devices, or a signal transformer.",
	"Use a residual-current device.",
	"For a mains phase reference use only a certified isolated low-voltage AC adapter.",
	"Mute loudspeakers before unplugging a signal cable.",
	"Work under your local electrical codes, and leave mains wiring to licensed people.",
}
