package health

import (
	"fmt"
	"math"

	"humdiff/fft/capture"
)

const (
	nearFullScale = 0.97 // a peak above it comes near full scale
	fullScale     = 1
	dcWorthSaying = 0.01 // of full scale
)

// Warnings says what is wrong with the samples, and what that means for hum
// measured in them. A healthy capture has none.
func (f Facts) Warnings() (w []capture.Warning) {
	add := func(code, format string, args ...any) {
		w = append(w, capture.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	if f.Silent {
		add("silent", "every sample has the same value: nothing was recorded on this channel")
		return w
	}
	if f.Clipped > 0 {
		add("clipped", "%d samples are clipped, in %s: lines and floor are not to be trusted; record again at a lower gain", f.Clipped, f.ClippedRuns)
	} else if f.Peak > fullScale {
		add("over_full_scale", "the peak lies %.2f dB above full scale, as only floating point holds it: nothing is cut off, but no converter gave it as it stands; it was scaled afterwards, so check that the scale is the one given", 20*math.Log10(f.Peak))
	} else if f.Peak > nearFullScale {
		add("near_full_scale", "the peak reaches %.2f dB below full scale: a converter may distort there", -20*math.Log10(f.Peak))
	}
	if r := f.FlatTops; r.Count > 0 {
		add("flat_tops", "%d samples are cut off flat at %.1f dBFS, in %s: something ahead of the file clipped (an input stage, a limiter, a file scaled afterwards), "+
			"so lines and floor are not to be trusted; record again at a lower gain", r.Samples, 20*math.Log10(math.Abs(f.FlatLevel)), r)
	}
	if f.Zeros.Count > 0 {
		add("digital_zero", "the signal drops to digital zero for %s: samples were lost or muted, and every level reads low by its share; record again", f.Zeros.lasting())
	}
	if f.Stuck.Count > 0 {
		add("stuck", "the signal sticks at one value for %s: samples were lost, levels read low and floors high; record again", f.Stuck.lasting())
	}
	if f.Repeats.Count > 0 {
		add("repeated_block", "blocks of samples come twice, for %s: the recorder fell behind, the mains' phase jumps there, and lines read low; record again", f.Repeats.lasting())
	}
	if r := f.Clicks; r.Count > 0 {
		add("clicks", "%s, the first at %.2f s: a break in the waveform (lost samples, a bad contact, static), which raises floors and limits; record again without it", count(r.Count, "click"), r.First)
	}
	if math.Abs(f.DC) > dcWorthSaying {
		add("dc_offset", "the mean is %.1f %% of full scale: a DC offset, which costs headroom but not accuracy", 100*f.DC)
	}
	if f.Comb > 1 {
		add("code_gaps", "only one code in %.0f is ever used: fewer bits were recorded and scaled afterwards, so the floor may be that of rounding; record without volume control or conversion", f.Comb)
	}
	if f.SameAs > 0 {
		add("channels_identical", "every sample equals that of channel %d: one signal recorded twice, which confirms nothing", f.SameAs)
	}
	return w
}

// String reads "3 runs, the first at 1.25 s".
func (r Runs) String() string {
	return fmt.Sprintf("%s, the first at %.2f s", count(r.Count, "run"), r.First)
}

// lasting reads "up to 12.5 ms at a time (3 stretches, the first at 1.25 s)".
func (r Runs) lasting() string {
	return fmt.Sprintf("up to %.3g ms at a time (%s, the first at %.2f s)", 1000*r.Longest, count(r.Count, "stretch"), r.First)
}

func count(n int, what string) string {
	switch {
	case n == 1:
		return "1 " + what
	case what == "stretch":
		what = "stretche"
	}
	return fmt.Sprintf("%d %ss", n, what)
}
