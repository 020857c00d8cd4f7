package words

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/result"
)

// Mechanism says how the hum gets into one cable: first the verdict, then the
// evidence, what follows for the capacitance, and what would decide.
func Mechanism(m result.SessionMechanism) []string {
	out := []string{fmt.Sprintf("%s, %s: %s", Printable(m.Cable), Exposure(m.Exposure), mechanismVerdict(m.Verdict))}
	for _, e := range m.Evidence {
		out = append(out, sessionEvidence(e))
	}
	if len(m.Evidence) == 0 {
		out = append(out, "No two sets of runs differ in one thing alone, so nothing tells mechanisms apart.")
	}
	var needs []string
	for _, p := range m.Parts {
		if p.Farads.Hi.Ok() {
			out = append(out, fmt.Sprintf("%s: if all of it came by the electric field, through %s.", upperFirst(Place(p.Where)), faradsRange(p.Farads)))
		}
		for _, n := range p.Needs {
			if !slices.Contains(needs, n) {
				needs = append(needs, n)
			}
		}
	}
	for _, n := range needs {
		if said := needed(n); said != "" {
			out = append(out, said)
		}
	}
	return out
}

func mechanismVerdict(v string) string {
	said := map[string]string{
		"electric": "by the electric field of the lead's voltage", "magnetic": "by the magnetic field of the lead's current",
		"loop": "by current in a loop of earths", "mixed": "in more than one way",
	}[v]
	if said == "" {
		return "not decided"
	}
	return said
}

func sessionEvidence(e result.SessionEvidence) string {
	what := map[string]string{"termination": "electric", "load": "magnetic", "bond": "loop"}[e.Kind]
	expected := ""
	if e.If.Ok() && e.Else.Ok() {
		expected = fmt.Sprintf(" (%s if all of it were %s, %s if none)", DB(e.If), what, DB(e.Else))
	}
	speaks := map[string]string{
		"part": "all of it as " + what + " pickup would", "rest": "as if none of it were " + what, "between": "as if some of it were " + what,
		"outside": "by more or less than either allows: parts in opposition, or a changed bench", "both": "too uncertain to tell",
	}[e.Speaks]
	return fmt.Sprintf("From %s to %s pickup changed by %s%s: %s (%s).", Place(e.A), Place(e.B), DBInterval(e.DB), expected, speaks, Runs(e.Runs))
}

func faradsRange(i result.Interval) string {
	p := Prefix{"p", 1e-12}
	if !i.Lo.Ok() || i.Lo <= 0 {
		return "at most " + p.Digits(i.Hi) + " " + p.Name + "F"
	}
	return strings.Join([]string{p.Digits(i.Lo), "to", p.Digits(i.Hi), p.Name + "F"}, " ")
}

// needed is what to record, for a mechanism that isn't decided.
func needed(code string) string {
	return map[string]string{
		"termination": "Record the same with two finite terminations far below the input's impedance, such as 20 Ω and 10 kΩ.",
		"load":        "Record the same with the lead loaded and unloaded, at a known current.",
		"bond":        "Record the same with the far device bonded and isolated.",
		"closer":      "Repeat what there is until its intervals are narrower.",
		"repeat":      "Record again: the runs contradict each other, so something else changed.",
	}[code]
}
