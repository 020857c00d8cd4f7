package session

import (
	"fmt"

	"humdiff/report/model"
	"humdiff/report/unit"
)

// part takes the rows in which a known source was on out of the sitting's runs, which are
// numbered anew.
func (f *File) part(d *document) {
	runs, entries := []model.Run{}, []entry{}
	for i, r := range f.Sitting.Runs {
		to, list := &runs, &entries
		if r.Condition == model.Driven || r.Drive != "" {
			to, list = &f.Sitting.Driven, &d.driven
		}
		r.Number = len(*to) + 1
		*to, *list = append(*to, r), append(*list, d.runs[i])
	}
	f.Sitting.Runs, d.runs = runs, entries
}

// driven looks at the rows of a known source.
func (c checker) driven() {
	c.quantity(c.d.drive, "full_scale", c.s.Drive.FullScale, unit.Volts)
	first := map[string]int{}
	for i, r := range c.s.Driven {
		e := c.d.driven[i]
		need := func(there bool, key, hint string) { c.need(e, "the driven run", there, key, hint) }
		need(r.Drive != "", "drive", "write wire, coil or shield: what the source drives")
		need(r.Cable != "" || r.Condition == model.Residual, "cable", "name the cable that was connected; only a residual has none")
		need(r.Termination.Ohms.Ok(), "termination_ohms", "say what the cable's far end was closed with; open tells nothing here")
		need(r.Reference > 0, "reference", "name the channel that records the drive, as ch=2")
		need(r.Address != "", "file", "name the run's capture")
		if r.Condition != model.Driven && r.Condition != model.Residual && !e.wrong("condition") {
			c.problems.add(e.place("condition"), "write driven, or residual for the input closed with the drive on", "%q says nothing of a known source", r.Condition)
		}
		at, err := c.f.Capture(r)
		if r.Address != "" && err == nil && r.LeftOut == "" {
			c.file(e.place("file"), c.f.Named(r), at.Path)
		}
		what := fmt.Sprint(r.Cable, "\x00", r.Termination, r.Drive, r.Condition, r.Repeat)
		if j, ok := first[what]; ok && r.LeftOut == "" {
			c.problems.add(e.at, "number them with repeat", "the same run is listed twice: %s, first at line %d", Name(r), c.d.driven[j].at.line)
		}
		first[what] = i
	}
}
