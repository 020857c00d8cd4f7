package session

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// checker looks at how the parts of a session fit together. What follows only
// from something that couldn't be understood is no problem of its own.
type checker struct {
	f        File
	s        model.Sitting
	d        document
	captures []capture.Address // of runs, located; no path where there is none
	problems *Problems
}

func newChecker(f File, d document, problems *Problems) checker {
	c := checker{f, f.Sitting, d, make([]capture.Address, len(f.Sitting.Runs)), problems}
	for i, r := range c.s.Runs {
		if r.Address == "" {
			continue
		}
		at, err := f.Capture(r)
		if err != nil {
			what := strings.TrimPrefix(err.Error(), f.Locate(f.Named(r))+": ") // where it lies is known
			problems.add(d.runs[i].place("file"), fault.Hint(err), "file: %s: %s", r.Address, what)
		}
		c.captures[i] = at
	}
	return c
}

func (c checker) all() {
	c.bench()
	c.playback()
	if len(c.s.Runs) == 0 && len(*c.problems) > 0 {
		return // that says why
	}
	if len(c.s.Runs) == 0 && len(c.s.Driven) == 0 {
		c.problems.add(place{file: c.f.Path}, `list them as [[run]], or in a CSV file: runs = "runs.csv"`, "it lists no runs")
		return
	}
	for i := range c.s.Runs {
		c.run(i)
	}
	c.sameRun()
	c.sameCapture()
	c.lonely()
	c.driven()
	c.known(c.d.roles.place("witness"), "witness", c.s.Control, "cable", Cables(c.s.Runs))
	for i := range c.s.Claims {
		c.claim(i)
	}
}

func (c checker) bench() {
	b, e := c.s.Bench, c.d.bench
	c.quantity(e, "full_scale", b.FullScale, unit.Volts)
	c.quantity(e, "gain", b.Gain, unit.Gain)
	if b.Gain != "" && b.FullScale == "" && !e.wrong("full_scale") {
		c.problems.add(e.place("gain"), `say what full scale is too, e.g. full_scale = "2.0V"`, "a gain of %s alone gives no volts", b.Gain)
	}
	for _, tone := range b.Calibration {
		if _, err := unit.ParseTone(tone); err != nil {
			c.problems.add(e.place("calibration"), fault.Hint(err), "calibration: %s", err)
		}
	}
	for _, photo := range b.Photos {
		c.file(e.place("photos"), photo.File, c.f.Locate(photo.File))
	}
}

// quantity says what is wrong with one that is kept as it was written.
func (c checker) quantity(e entry, key, said string, in unit.Unit) {
	if said == "" {
		return
	}
	if _, err := in.Parse(said); err != nil {
		c.problems.add(e.place(key), fault.Hint(err), "%s: %s", key, err)
	}
}

// need says that an entry lacks a key.
func (c checker) need(e entry, what string, there bool, key, hint string) {
	if !there && !e.has(key) {
		c.problems.add(e.at, hint, "%s has no %s", what, key)
	}
}

// file says that a file isn't there.
func (c checker) file(at place, name, path string) {
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.problems.add(at, "names count from the session file's folder", "there is no file %s", name)
		(*c.problems)[len(*c.problems)-1].Gone = true
	case err != nil:
		c.problems.add(at, "", "%s cannot be read", name)
	case st.IsDir():
		c.problems.add(at, "name a file in it", "%s is a folder", name)
	}
}

// run checks one run by itself.
func (c checker) run(i int) {
	r, e := c.s.Runs[i], c.d.runs[i]
	need := func(there bool, key, hint string) { c.need(e, "the run", there, key, hint) }
	need(r.Condition != "", "condition", "write quiet, near, dead or residual")
	need(r.Address != "" || r.Measured != "", "file", "name the run's capture, or its measurement under measured")
	if r.Condition != model.Residual && !e.wrong("condition") {
		need(r.Cable != "", "cable", "name the cable that was connected; only a residual has none")
	}
	if r.WithLead() {
		need(r.Exposure != "", "exposure", "say in your words how the lead was brought to bear, such as beside")
	}
	switch {
	case r.LeftOut != "": // it may be gone
	case r.Measured != "":
		c.file(e.place("measured"), r.Measured, c.f.Locate(r.Measured))
	case c.captures[i].Path != "":
		c.file(e.place("file"), c.f.Named(r), c.captures[i].Path)
	}
}

// used says that a run is complete enough, and not left out.
func used(r model.Run) bool { return r.LeftOut == "" && r.Condition != "" }

// sameRun finds runs that are listed twice.
func (c checker) sameRun() {
	first := map[string]int{}
	for i, r := range c.s.Runs {
		e := c.d.runs[i]
		if !used(r) || e.wrong("cable", "termination_ohms", "exposure", "condition", "repeat", "plug", "loaded", "bonded", "load_amps") {
			continue
		}
		what := fmt.Sprint(r.Cable, "\x00", r.Termination, "\x00", r.Exposure, "\x00", r.Condition, r.Repeat, r.Plug, r.Loaded, r.Bonded, r.LoadAmps)
		if j, ok := first[what]; ok {
			c.problems.add(e.at, "number them with repeat, or say under left_out why one isn't used",
				"the same run is listed twice: %s, first at line %d", Name(r), c.d.runs[j].at.line)
			continue
		}
		first[what] = i
	}
}

// sameCapture finds captures that are listed twice.
func (c checker) sameCapture() {
	of := map[string][]int{}
	for i, r := range c.s.Runs {
		at := c.captures[i]
		if r.LeftOut != "" || at.Path == "" {
			continue
		}
		j := slices.IndexFunc(of[at.Path], func(j int) bool { return overlap(c.captures[j], at) })
		if j >= 0 {
			c.problems.add(c.d.runs[i].place("file"), "a capture belongs to one run; of one file, runs have spans or channels of their own",
				"the same capture is listed twice: %s, first at line %d", r.Address, c.d.runs[of[at.Path][j]].at.line)
		}
		of[at.Path] = append(of[at.Path], i)
	}
}

// overlap says that two addresses of one file share samples.
func overlap(a, b capture.Address) bool {
	channels := a.Channel == b.Channel || a.Channel == 0 || b.Channel == 0
	return channels && a.Start < b.End && b.Start < a.End
}

// lonely finds runs with the lead that no quiet run belongs to, nor one that may
// have been meant to be.
func (c checker) lonely() {
	telling := []string{"cable", "termination_ohms", "exposure", "condition", "bonded"}
	var quiet []model.Run
	doubtful := map[string]bool{} // cables, some of whose runs can't be told
	for i, r := range c.s.Runs {
		switch e := c.d.runs[i]; {
		case e.wrong("cable"):
			return
		case e.wrong(telling...):
			doubtful[r.Cable] = true
		case used(r) && r.Condition == model.Quiet:
			quiet = append(quiet, r)
		}
	}
	for i, r := range c.s.Runs {
		if !used(r) || !r.WithLead() || doubtful[r.Cable] {
			continue
		}
		if !slices.ContainsFunc(quiet, func(q model.Run) bool { return r.SameBench(&q) }) {
			c.problems.add(c.d.runs[i].at, "list a quiet run of the same cable, termination and bonding", "%s without quiet: %s", r.Condition, Name(r))
		}
	}
}

// needs are the keys that a claim of a kind has to have beside those of all, limits those
// of which a claim of the kind coupling has one, and with what each of these is said.
var (
	needs  = map[string][]string{model.ClaimLess: {"than", "db"}, model.ClaimBelow: {"volts"}, model.ClaimRise: {"db"}, model.ClaimSame: {"than", "db"}}
	limits = map[string][]string{"farads": nil, "henries": nil, "ohms": {"hz"}, "predicted": {"hz", "mains_volts", "input_ohms"}}
)

// claim checks that a claim is about something that the session has.
func (c checker) claim(i int) {
	claim, e := c.s.Claims[i], c.d.claims[i]
	use, cables := slices.Clone(needs[claim.Kind]), Cables(c.s.Runs)
	for _, key := range append([]string{"name", "written", "kind", "cable"}, use...) {
		c.need(e, "the claim", false, key, "")
	}
	if claim.Kind == model.ClaimCoupling {
		stated := slices.DeleteFunc(slices.Sorted(maps.Keys(limits)), func(key string) bool { return !e.has(key) })
		if len(stated) != 1 {
			c.problems.add(e.at, "write farads, henries, ohms, or predicted for the pickup that they predict", "the claim states %d limits, not one", len(stated))
		} else {
			use = append(limits[stated[0]], stated...)
		}
		if e.has("predicted") && !claim.Termination.Ohms.Ok() {
			c.need(e, "the claim", false, "termination_ohms", "say what the cable's far end is closed with")
		}
		cables = Cables(c.s.Driven)
	}
	for _, key := range []string{"than", "db", "volts", "farads", "henries", "ohms", "predicted", "hz", "mains_volts", "input_ohms"} {
		if claim.Kind != "" && e.has(key) && !slices.Contains(use, key) {
			c.problems.add(e.place(key), "", "%s says nothing in a claim of kind %q", key, claim.Kind)
		}
	}
	c.known(e.place("cable"), "cable", claim.Cable, "cable", cables)
	c.known(e.place("than"), "cable", claim.Than, "cable", Cables(c.s.Runs))
	c.known(e.place("exposure"), "exposure", claim.Exposure, "exposure", Exposures(c.s.Runs))
	if claim.Than != "" && claim.Than == claim.Cable {
		c.problems.add(e.place("than"), "", "a cable is compared with itself")
	}
	if claim.Termination.Stated() && claim.Kind != model.ClaimCoupling && !c.unsure("termination_ohms") && !slices.ContainsFunc(c.s.Runs, func(r model.Run) bool { return r.Termination.Same(claim.Termination) }) {
		c.problems.add(e.place("termination_ohms"), "", "no run has this termination")
	}
	if claim.Name != "" && slices.ContainsFunc(c.s.Claims[:i], func(other model.Claim) bool { return other.Name == claim.Name }) {
		c.problems.add(e.place("name"), "", "two claims are called %q", claim.Name)
	}
}

// unsure says that a key couldn't be understood in some run.
func (c checker) unsure(key string) bool {
	return slices.ContainsFunc(c.d.runs, func(e entry) bool { return e.wrong(key) })
}

// known says that a word is none that the runs have under a key.
func (c checker) known(at place, what, word, key string, words []string) {
	if word != "" && !slices.Contains(words, word) && !c.unsure(key) {
		c.problems.add(at, meant(word, words), "the %s %q is in no run", what, word)
	}
}
