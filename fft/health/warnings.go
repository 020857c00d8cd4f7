package health

import (
	"math"

	"humdiff/fft/note"
)

const (
	nearFullScale = 0.97 // a peak above it comes near full scale
	fullScale     = 1
	dcWorthSaying = 0.01 // of full scale
)

// Warnings notes what is wrong with the samples. A healthy capture has none.
func (f Facts) Warnings() (w []note.Note) {
	add := func(code string, args ...any) { w = append(w, note.New(code, args...)) }
	if f.Silent {
		add("silent")
		return w
	}
	if f.Clipped > 0 {
		add("clipped", "samples", f.Clipped, "runs", f.ClippedRuns.Count, "first_s", f.ClippedRuns.First)
	} else if f.Peak > fullScale {
		add("over_full_scale", "over_db", 20*math.Log10(f.Peak))
	} else if f.Peak > nearFullScale {
		add("near_full_scale", "below_db", -20*math.Log10(f.Peak))
	}
	if r := f.FlatTops; r.Count > 0 {
		add("flat_tops", "samples", r.Samples, "level_dbfs", 20*math.Log10(math.Abs(f.FlatLevel)), "runs", r.Count, "first_s", r.First)
	}
	if r := f.Zeros; r.Count > 0 {
		add("digital_zero", "longest_s", r.Longest, "stretches", r.Count, "first_s", r.First)
	}
	if r := f.Stuck; r.Count > 0 {
		add("stuck", "longest_s", r.Longest, "stretches", r.Count, "first_s", r.First)
	}
	if r := f.Repeats; r.Count > 0 {
		add("repeated_block", "longest_s", r.Longest, "stretches", r.Count, "first_s", r.First)
	}
	if r := f.Clicks; r.Count > 0 {
		add("clicks", "clicks", r.Count, "first_s", r.First)
	}
	if math.Abs(f.DC) > dcWorthSaying {
		add("dc_offset", "dc_share", f.DC)
	}
	if f.Comb > 1 {
		add("code_gaps", "one_in", f.Comb)
	}
	if f.SameAs > 0 {
		add("channels_identical", "channel", f.SameAs)
	}
	return w
}
