package session

import (
	"fmt"
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// BlankDrive is a known source of which nothing is stated.
func BlankDrive() model.DriveBench {
	return model.DriveBench{ShuntOhms: model.None, ShuntWithin: model.None, CableFarads: model.None, CableWithin: model.None}
}

// part takes the rows in which a known source was on out of the sitting's runs, which are
// numbered anew, and gives where they stand.
func (f *File) part(d *document) (driven []entry) {
	var runs []model.Run
	var entries []entry
	for i, r := range f.Sitting.Runs {
		to, list := &runs, &entries
		if r.Condition == model.Driven || r.Drive != "" {
			to, list = &f.Driven, &driven
		}
		r.Number = len(*to) + 1
		*to, *list = append(*to, r), append(*list, d.runs[i])
	}
	if f.Driven != nil {
		f.Sitting.Runs, d.runs = append([]model.Run{}, runs...), entries
		f.Warnings = append(f.Warnings, model.Warning{Note: note.New("driven_apart", "runs", len(f.Driven))})
	}
	return driven
}

// checkDriven looks at the rows of a known source.
func (f File) checkDriven(entries []entry, problems *Problems) {
	if len(f.Driven) == 0 {
		return
	}
	if f.Drive.FullScale != "" {
		if _, err := unit.Volts.Parse(f.Drive.FullScale); err != nil {
			problems.add(place{file: f.Path}, "", "drive.full_scale: %s", err)
		}
	}
	first := map[string]int{}
	for i, r := range f.Driven {
		e := entries[i]
		need := func(there bool, key, hint string) {
			if !there && !e.has(key) {
				problems.add(e.at, hint, "the driven run has no %s", key)
			}
		}
		need(r.Drive != "", "drive", "write wire, coil or shield: what the source drives")
		need(r.Cable != "" || r.Condition == model.Residual, "cable", "name the cable that was connected; only a residual has none")
		need(r.Termination.Ohms.Ok(), "termination_ohms", "say what the cable's far end was closed with; open tells nothing here")
		need(r.Reference > 0, "reference", "name the channel that records the drive, as ch=2")
		need(r.Address != "", "file", "name the run's capture")
		if r.Condition != model.Driven && r.Condition != model.Residual && !e.wrong("condition") {
			problems.add(e.place("condition"), "write driven, or residual for the input closed with the drive on", "%q says nothing of a known source", r.Condition)
		}
		at, err := f.Capture(r)
		if r.Address != "" && err == nil && r.LeftOut == "" {
			(checker{f: f, problems: problems}).file(e.place("file"), f.Named(r), at.Path)
		}
		what := fmt.Sprint(r.Cable, "\x00", r.Termination, r.Drive, r.Condition, r.Repeat)
		if j, ok := first[what]; ok && r.LeftOut == "" {
			problems.add(e.at, "number them with repeat", "the same run is listed twice: %s, first at line %d", Name(r), entries[j].at.line)
		}
		first[what] = i
	}
}

// partClaims takes the claims of the kind coupling out of the sitting's, and gives where
// they stand.
func (f *File) partClaims(d *document) (limits []entry) {
	var entries []entry
	var claims []model.Claim
	for i, c := range f.Sitting.Claims {
		if c.Kind == model.ClaimCoupling {
			f.Limits, limits = append(f.Limits, c), append(limits, d.claims[i])
			continue
		}
		claims, entries = append(claims, c), append(entries, d.claims[i])
	}
	if f.Limits != nil {
		f.Sitting.Claims, d.claims = append([]model.Claim{}, claims...), entries
	}
	return limits
}

// checkLimits checks that claims of the kind coupling say what they need to, of a cable that
// was driven.
func (f File) checkLimits(entries []entry, problems *Problems) {
	for i, c := range f.Limits {
		e := entries[i]
		for _, key := range []string{"name", "written", "cable", "farads"} {
			if !e.has(key) {
				problems.add(e.at, "", "the claim has no %s", key)
			}
		}
		if c.Cable != "" && !slices.ContainsFunc(f.Driven, func(r model.Run) bool { return r.Cable == c.Cable }) {
			problems.add(e.place("cable"), "such a claim needs a known source: see humdiff coupling", "the cable %q is in no driven run", c.Cable)
		}
	}
}
