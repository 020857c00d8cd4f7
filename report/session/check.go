package session

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	scale "humdiff/report/volts"
)

// checker looks at how the parts of a session fit together.
type checker struct {
	s        Session
	d        document
	runs     []entry // where s.Runs stand
	problems *Problems
}

func (c checker) all() {
	c.bench()
	if len(c.s.Runs) == 0 && len(*c.problems) > 0 {
		return // that says why
	}
	if len(c.s.Runs) == 0 {
		c.problems.add(place{file: c.s.Path}, `list them as [[run]], or in a CSV file: runs = "runs.csv"`, "it lists no runs")
		return
	}
	for i := range c.s.Runs {
		c.run(i)
	}
	c.doubled()
	c.lonely()
	c.witness()
	c.playback()
	for i := range c.s.Claims {
		c.claim(i)
	}
}

func (c checker) bench() {
	b := c.s.Bench
	at := c.d.bench.place("full_scale")
	if b.FullScale == "" {
		at = c.d.bench.place("gain")
	}
	if _, err := scale.StatedFull(b.FullScale, b.Gain); err != nil {
		c.problems.add(at, fault.Hint(err), "%s", err)
	}
	for _, photo := range b.Photos {
		c.file(c.d.bench.place("photos"), photo)
	}
}

// file says that a file isn't there.
func (c checker) file(at place, name string) {
	st, err := os.Stat(c.s.Locate(name))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.problems.add(at, "names count from the session file's folder", "there is no file %s", name)
	case err != nil:
		c.problems.add(at, "", "%s cannot be read", name)
	case st.IsDir():
		c.problems.add(at, "name a file in it", "%s is a folder", name)
	}
}

// run checks one run by itself.
func (c checker) run(i int) {
	r, e := c.s.Runs[i], c.runs[i]
	need := func(there bool, key, hint string) {
		if !there && !e.has(key) {
			c.problems.add(e.at, hint, "the run has no %s", key)
		}
	}
	need(r.Condition != "", "condition", "write quiet, near, dead or residual")
	need(r.Address.Path != "" || r.Measured != "", "file", "name the run's capture, or its measurement under measured")
	if r.Condition != Residual {
		need(r.Cable != "", "cable", "name the cable that was connected; only a residual has none")
	}
	if r.Condition == Near || r.Condition == Dead {
		need(r.Exposure != "", "exposure", "say in your words how the lead was brought to bear, such as beside")
	}
	switch {
	case r.LeftOut != "": // it may be gone
	case r.Measured != "":
		c.file(e.place("measured"), r.Measured)
	case r.Address.Path != "":
		c.file(e.place("file"), r.Address.Path)
	}
}

// used says that a run is complete enough, and not left out.
func (r Run) used() bool { return r.LeftOut == "" && r.Condition != "" }

// doubled finds runs and captures that are listed twice.
func (c checker) doubled() {
	same, files := map[string]int{}, map[string][]int{}
	for i, r := range c.s.Runs {
		if !r.used() {
			continue
		}
		what := r.setting()
		if first, ok := same[what]; ok {
			c.problems.add(c.runs[i].at, "number them with repeat, or say under left_out why one isn't used",
				"the same run is listed twice: %s, first at line %d", r.Name(), c.runs[first].at.line)
		} else {
			same[what] = i
		}
		if r.Address.Path == "" {
			continue
		}
		for _, j := range files[r.Address.Path] {
			if overlap(c.s.Runs[j].Address, r.Address) {
				c.problems.add(c.runs[i].place("file"), "a capture belongs to one run; of one file, runs have spans or channels of their own",
					"the same capture is listed twice: %s, first at line %d", r.Address, c.runs[j].at.line)
				break
			}
		}
		files[r.Address.Path] = append(files[r.Address.Path], i)
	}
}

// setting is what tells a run from others.
func (r Run) setting() string {
	return fmt.Sprint(r.Cable, "\x00", r.Termination, "\x00", r.Exposure, "\x00", r.Condition, r.Repeat, r.Plug, r.Loaded, r.Bonded, r.LoadAmps)
}

// overlap says that two addresses of one file share samples.
func overlap(a, b capture.Address) bool {
	end := func(a capture.Address) float64 {
		if a.End == 0 {
			return math.Inf(1)
		}
		return a.End
	}
	channels := a.Channel == b.Channel || a.Channel == 0 || b.Channel == 0
	return channels && a.Start < end(b) && b.Start < end(a)
}

// lonely finds runs with the lead that no quiet run belongs to.
func (c checker) lonely() {
	for i, r := range c.s.Runs {
		if !r.used() || r.Condition != Near && r.Condition != Dead {
			continue
		}
		if !slices.ContainsFunc(c.s.Runs, func(q Run) bool { return q.used() && r.quietBy(q) }) {
			c.problems.add(c.runs[i].at, "list a quiet run of the same cable, termination and bonding",
				"%s without quiet: %s", r.Condition, r.Name())
		}
	}
}

// quietBy says that q is a quiet run that r can be held against: of the same
// cable, termination and far device, and for its exposure or for all.
func (r Run) quietBy(q Run) bool {
	return q.Condition == Quiet && q.Cable == r.Cable && sameOhms(q.Termination, r.Termination) &&
		(q.Bonded == r.Bonded || q.Bonded == Unstated || r.Bonded == Unstated) &&
		(q.Exposure == "" || q.Exposure == r.Exposure)
}

// sameOhms says that two terminations are one, unstated ones too.
func sameOhms(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func (c checker) witness() {
	w := c.s.Roles.Witness
	if w != "" && !slices.Contains(c.s.Cables(), w) {
		c.problems.add(c.d.roles.place("witness"), meant(w, c.s.Cables()), "the witness %q is in no run", w)
	}
}

// claim checks that a claim is about something that the session has.
func (c checker) claim(i int) {
	claim, e := c.s.Claims[i], c.d.claims[i]
	need := func(key string, there bool) {
		if !there && !e.has(key) {
			c.problems.add(e.at, "", "the claim has no %s", key)
		}
	}
	need("name", claim.Name != "")
	need("written", !claim.Written.IsZero())
	need("kind", claim.Kind != "")
	need("cable", claim.Cable != "")
	wants := map[ClaimKind][]string{Less: {"than", "db"}, Below: {"volts"}, Rise: {"db"}}
	for _, key := range []string{"than", "db", "volts"} {
		wanted := slices.Contains(wants[claim.Kind], key)
		if wanted {
			need(key, false)
		} else if claim.Kind != "" && e.has(key) {
			c.problems.add(e.place(key), "", "%s says nothing in a claim of kind %q", key, claim.Kind)
		}
	}
	c.known(e.place("cable"), "cable", claim.Cable, c.s.Cables())
	c.known(e.place("than"), "cable", claim.Than, c.s.Cables())
	c.known(e.place("exposure"), "exposure", claim.Exposure, c.s.Exposures())
	if claim.Than != "" && claim.Than == claim.Cable {
		c.problems.add(e.place("than"), "", "a cable is compared with itself")
	}
	if !math.IsNaN(claim.Termination) && !slices.ContainsFunc(c.s.Runs, func(r Run) bool { return r.Termination == claim.Termination }) {
		c.problems.add(e.place("termination_ohms"), "", "no run has this termination")
	}
	for j := range i {
		if c.s.Claims[j].Name == claim.Name && claim.Name != "" {
			c.problems.add(e.place("name"), "", "two claims are called %q", claim.Name)
		}
	}
}

// known says that a word is none that the runs have.
func (c checker) known(at place, what, word string, words []string) {
	if word != "" && !slices.Contains(words, word) {
		c.problems.add(at, meant(word, words), "the %s %q is in no run", what, word)
	}
}

// Cables are the cables of all runs, each once, in the order in which they come.
func (s Session) Cables() []string {
	return s.each(func(r Run) string { return r.Cable })
}

// Exposures are those of all runs, each once, in the order in which they come.
func (s Session) Exposures() []string {
	return s.each(func(r Run) string { return r.Exposure })
}

func (s Session) each(of func(Run) string) (all []string) {
	for _, r := range s.Runs {
		if v := of(r); v != "" && !slices.Contains(all, v) {
			all = append(all, v)
		}
	}
	return all
}

// Name tells a run from others, for messages: "Grebe, 20 ohms, beside, near, repeat 2".
func (r Run) Name() string {
	var parts []string
	add := func(s string) {
		if s != "" {
			parts = append(parts, s)
		}
	}
	add(r.Cable)
	switch {
	case math.IsInf(r.Termination, 1):
		add("open")
	case !math.IsNaN(r.Termination):
		add(decimal(r.Termination) + " ohms")
	}
	add(r.Exposure)
	add(string(r.Condition))
	add(fmt.Sprintf("repeat %d", r.Repeat))
	return strings.Join(parts, ", ")
}
