package doc

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Run writes a run's number as it is cited everywhere.
func Run(n int) string { return fmt.Sprintf("run %d", n) }

// Runs cites runs, successive ones as a range, e.g. "runs 3, 5 to 9".
func Runs(list []int) string { return runs(list, len(list)) }

// mostCited is how many runs, or ranges of them, a sentence cites; a list of its own
// has them all.
const mostCited = 4

func runs(list []int, most int) string {
	sorted := slices.Compact(slices.Sorted(slices.Values(list)))
	switch len(sorted) {
	case 0:
		return "no run"
	case 1:
		return Run(sorted[0])
	}
	var spans []string
	said := 0
	for i := 0; i < len(sorted) && len(spans) < most; {
		j := i
		for j+1 < len(sorted) && sorted[j+1] == sorted[j]+1 {
			j++
		}
		switch j - i {
		case 0:
			spans = append(spans, fmt.Sprint(sorted[i]))
		case 1:
			spans = append(spans, fmt.Sprint(sorted[i]), fmt.Sprint(sorted[j]))
		default:
			spans = append(spans, fmt.Sprintf("%d to %d", sorted[i], sorted[j]))
		}
		i, said = j+1, j+1
	}
	if left := len(sorted) - said; left > 0 {
		return "runs " + strings.Join(spans, ", ") + fmt.Sprintf(" and %d more", left)
	}
	return "runs " + strings.Join(spans, ", ")
}

// cited is the runs that a note's arguments name, behind a space.
func cited(args arguments) string {
	list, ok := args["runs"].([]float64)
	if !ok || len(list) == 0 {
		return ""
	}
	numbers := make([]int, len(list))
	for i, x := range list {
		numbers[i] = int(x)
	}
	return " " + runs(numbers, mostCited)
}

func cite(args arguments) string {
	if s := cited(args); s != "" {
		return " (" + s[1:] + ")"
	}
	return ""
}

// listed says that an order is the list's, where nobody knows start times.
func listed(args arguments) string {
	if args["as_listed"] == 1.0 {
		return ", as listed"
	}
	return ""
}

// RunIs says which run of a session one is, e.g. "Run 5, unplugged lead: Grebe, laid
// beside, 20 Ω, repeat 1; compared with quiet, runs 2, 6."
func RunIs(r model.Run) string {
	said := upperFirst(Run(r.Number)) + ", " + condition(r.Condition)
	var of []string
	if r.Cable != "" {
		of = append(of, Printable(r.Cable))
	}
	if r.Exposure != "" {
		of = append(of, Printable(r.Exposure))
	}
	if r.Cable != "" {
		of = append(of, Termination(r.Termination), fmt.Sprintf("repeat %d", r.Repeat))
	}
	if len(of) > 0 {
		said += ": " + strings.Join(of, ", ")
	}
	switch {
	case !r.Used:
		said += "; not used: " + WhyNotUsed(r)
	case len(r.Against) > 0:
		said += "; compared with quiet, " + Runs(r.Against)
	}
	return strings.TrimSuffix(said, ".") + "."
}

// condition is a run's, in words.
func condition(c string) string {
	if c == model.Unplugged {
		return "unplugged lead"
	}
	return Printable(c)
}

// WhyNotUsed is why a run is not used; empty where it is.
func WhyNotUsed(r model.Run) string {
	switch {
	case r.Used:
		return ""
	case r.LeftOut != "":
		return Printable(r.LeftOut)
	}
	return map[string]string{
		"clipped": "samples are clipped", "silent": "nothing was recorded", "not_measured": notMeasured(r.Unused),
	}[r.Unused.Code]
}

func notMeasured(n model.Note) string {
	if why := n.Text("error"); why != "" {
		return Printable(why)
	}
	return "it was not measured"
}

// Termination writes how a far end is terminated, e.g. "20 Ω", "open".
func Termination(t model.Termination) string {
	switch {
	case t.Open:
		return "open"
	case !t.Ohms.Ok():
		return "termination not stated"
	}
	p := PrefixFor(t.Ohms)
	return trimZeros(p.Digits(t.Ohms)) + " " + p.Name + "Ω"
}

// Where writes an exposure at a termination, e.g. "beside, 20 Ω, lead loaded".
func Where(w model.Where) string {
	out := []string{exposure(w.Exposure), Termination(w.Termination)}
	out = add(out, map[string]string{model.Yes: "lead loaded", model.No: "lead unloaded"}[w.Loaded],
		map[string]string{model.Yes: "far device bonded", model.No: "far device isolated"}[w.Bonded])
	return strings.Join(out, ", ")
}

func exposure(name string) string {
	if name == "" {
		return "exposure not named"
	}
	return Printable(name)
}

func upperFirst(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// names joins names from outside, e.g. "Heron, Plover and Rail".
func names(all []string) string {
	out := make([]string, len(all))
	for i, n := range all {
		out[i] = Printable(n)
	}
	return and(out)
}
