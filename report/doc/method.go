package doc

import "humdiff/report/model"

// methodOfOne says in brief how a capture's numbers came about, methodOfPair those
// of a comparison.
func methodOfOne(c model.Capture) []string {
	return append(method[:len(method):len(method)], binsSaid(c.Trace)...)
}

func methodOfPair(c model.Capture) []string {
	return append(append(method[:len(method):len(method)], differences...), binsSaid(c.Trace)...)
}

var method = []string{
	"Levels are rms; 0 dBFS is the rms of a full-scale sine (AES17).",
	"Frequencies are by the recorder's clock, which can be off by tens of parts in a million.",
	"The mains frequency is found in each capture from all its lines together and followed from block to block.",
	"Each line is then averaged at its multiple of that frequency: it is found well below what a single spectrum shows.",
	"The noise beside a line is taken off its level. Its interval is that of a steady line in this noise (noncentral chi-square).",
	"A line that is not found gets no number, but an upper limit: the level it lies below with 97.5 % confidence.",
	"The hum total is the power sum over one fixed set of lines.",
}

var differences = []string{
	"The delta is near minus quiet in dB. Where one side was not found, it is only bounded: at least, or at most.",
	"Where neither was found there is no delta, only the two upper limits.",
	"Hum adds as waves do, and two separate captures do not tell the phase between old and new hum.",
	"So the pickup, what bringing the lead near added, is a range: from the difference of the two voltages to their sum.",
}
