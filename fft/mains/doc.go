// Package mains finds the mains frequency in a capture, follows it, and
// measures hum lines at its multiples against the noise floor: levels with
// intervals where a line is seen, upper limits where none is. It takes samples and
// gives a Measurement, a plain value; it reads no file by itself, rounds nothing and
// says no sentence.
//
// It assumes that noise is Gaussian and steady over the capture, and that a
// line holds its phase to the mains within spans of ten seconds wherever its
// upper limit is quoted from spans.
//
// # Cutting up (layout.go, observe.go)
//
// A capture is read once; one longer than 90 s, or too large for its rate, a second
// time for the lines, in segments of at most 90 s, so that memory doesn't grow with
// length. It is cut twice. The whole band, in blocks that half overlap, is for spectrum,
// noise and tones. The low band, decimated to where the highest line stays clean, in
// blocks at three quarters' overlap, is for all line work. Blocks are the shortest power
// of two with bins of at most 0.75 Hz; shorter where a capture holds fewer than two of
// them (three in the low band). The shortest capture is 1.5 s.
//
// A line's phasor at any frequency comes from the bins of its main lobe by least
// squares, a = Σ W(j−f)·X[j]/(N·a₀·ΣW²(j−f)), W the window's transform (phasor.go). That
// amounts to the window squared as taper: at 75 % overlap it costs 0.01 dB of
// sensitivity, and leaks −223 dB at 68 bins where the window leaks −143.
//
// # Mains (search.go, candidates.go, contest.go, evidence.go)
//
// 50 and 60 Hz ±2 % (public grids stay within 1 %: common practice, no source), or
// 42.5–57.5 and 51–69 Hz on request (IEC 61000-4-30). Each half bin gets a surprise,
// −ln P(noise alone reads as much), capped at 15, so that one loud tone isn't taken for
// mains. For each f0 surprises are summed over five sets of harmonics, each sum turned
// into −ln P of a gamma variable; the largest is the score. It must exceed
// ln(range in Hz·110·0.75/0.005): 110 independent looks a hertz, by simulation. It counts
// only with a line of h ≤ 3, or a second line, that stands out by itself.
//
// Between two combs the power that each alone accounts for decides. A comb's lines keep
// the ratio of their frequencies and one clock's phase from block to block; what fails
// that, lies where no grid goes, is one lone line off nominal, or one higher tone with its
// overtones, is doubtful and says why.
// False alarms: 0.5 % a capture for the search, 0.5 % for the lines (0.01 % where no mains
// of its own was found), and 0.5 % for tones.
// No mains found is a result, not an error.
//
// # Track (track.go, walk.go, elsewhere.go, wow.go)
//
// Real mains wanders by about 0.02 Hz over minutes, its 20th harmonic twenty times that.
// Lines at least 10 times their noise in a block are followed, at most 12, those with the
// most h²·SNR. Their phases are smoothed as a frequency that walks at random, whose
// strength is averaged over by the phases' likelihood. f0 is the phase's advance over the
// time it took; the slope of a fit would be off by millihertz.
//
// Where a tone leads the track away, most lines run off it at one rate: then it is followed
// anew from there. In a gap that a burst leaves, samples may be lost: by how much the phase
// steps there is no advance of the mains. Phases that swing within blocks, in two lines
// alike, are read off their envelopes. A frequency that walks by less than any grid's is a
// crystal's: that is a doubt.
//
// A line is never turned back by a track that it alone has made of noise: noise tracked on
// itself always looks detected. Where nothing can be followed, lines are sought (seek.go).
//
// # When hum is there (envelope.go, presence.go, there.go, apart.go)
//
// The bins within 16 of the strongest line, transformed back and added up over blocks,
// are its envelope, 11 Hz wide. Hum is on where its power exceeds a tenth of the usual one
// and off where next to nothing is left; all lines are taken to come and go with it. f0 is
// then that of the times when it is there. Steps of the phase that stay, and
// that no other line contradicts, are lost samples: the track goes on beyond them, and the
// blocks that hold one are left out. Said they are where another line steps as well; a step of
// one line alone widens f0's interval. Of hum that
// swings within blocks the envelope's mean power over that of the blocks is what all lines
// are raised by. Two lines that beat vary in phase as much as in amplitude: then a tone is
// fitted beside the line over the segment, and taken off the line's phasors. One too restless for that makes its line's level move while its neighbours'
// stand still, and widens it (alone.go).
//
// # Hum above the last line (above.go)
//
// Peaks on multiples of f0 above UpTo are added up by their main lobes, beside the total;
// those on multiples of 1 kHz stay tones.
//
// # Lines (meter.go, level.go, loss.go, seek.go)
//
// On a track each line is turned back by h times its phase and read two ways: as phasors
// averaged over spans of 10 s, then powers over the spans; and as the mean power of
// blocks. Blocks are taken where a line is 5 times its noise in a block, where the
// track's own noise would cost it 0.05 dB in spans (4.34·h²·σφ²), and where it strays. (In
// a real recording of ten minutes a 2nd harmonic, averaged coherently throughout, read 8 dB low.)
//
// The mean of m powers over its noise is noncentral chi-square with 2m degrees of freedom
// (fft/chisq). Detected: noise reads as much with less than 0.5 %/number of lines. Level:
// mean power less noise; its 95 % interval inverts the distribution. Upper limit: the
// interval's upper end, one-sided 97.5 %, never below what a capture of noise alone
// would give with median luck (power-constrained limit: Cowan, Cranmer, Gross, Vitells
// 2011). Without a track: the largest mean block power within h·f0 ±0.08 % (own f0, too
// weak to follow), ±0.4 % (the pair's other capture's) or ±0.5 % (nominal), and the distribution
// of that maximum.
//
// In 60 s at −150 dBFS/Hz, 100 lines looked for and f0 wandering by 20 mHz, half the
// lines at −155.8 dBFS are found and nine in ten at −153.7 (1200 simulated at each level).
//
// # Floor (floor.go, evenness.go, coarse.go)
//
// From the bins within ±25 Hz of a line, outside every main lobe, found tone and bin into
// which sidelobes or skirts leak more than 3 % of the floor: a curve in log–log times
// the median of the ratios to it, corrected to the mean. Beside a line whose phase walks
// stands a skirt of P·h²·q/(2πΔ)⁴ at Δ Hz. Where noise isn't steady, averages count for
// fewer. Where noise doesn't dither the converter, nothing below one code is claimed.
//
// # Totals, tones, health
//
// The hum total is over one fixed set of lines, detected or not; never the sum of what
// happened to be found. Lines that a tone hides are left out (hum.go, clocked.go). Tones:
// tones.go; hum above the highest line: above.go. Bursts below 150 Hz are left out
// (bursts.go); when hum that comes and goes is there: presence.go, there.go; phase jumps,
// buzz, levels against time: jumps.go, buzz.go, timeline.go; hum against time: steps.go.
//
// # Several channels (together.go)
//
// For ratios between channels (fft/transfer) a capture is read again: every channel's
// phasors are turned back by one channel's track, and averaged over the same spans. What
// noise channels share is read a quarter of a harmonic beside each line.
//
// # Accuracy
//
// fixtures/proof holds all this against simulated captures whose truth is known. Raise
// Method with every change of method that changes numbers.
package mains
