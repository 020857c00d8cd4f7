package mains

import (
	"math"
	"math/cmplx"
	"slices"

	"humdiff/fft/note"
)

// Digital buses leave tones at multiples of 1 kHz (USB frames come 1000 or 8000
// times a second: common practice, no source), and every 20th harmonic of
// 50.000 Hz lies on one. Such a tone keeps to the bus's clock while the hum
// follows the mains, so ten seconds in which the two drift apart by more than a
// cycle tell them apart.

const (
	clockHz = 1000.0
	// clockReach is how near to a multiple of clockHz a line has to lie for its
	// main lobe to hold the tone.
	clockReach = 6.0 // Hz
	// clockSlack, a kilohertz, and clockStep are the offsets tried, for recorder
	// and bus clocks that differ by up to 150 parts per million.
	clockSlack, clockStep = 0.15, 0.03 // Hz
	// busKeeps is the least share of what stands on a line that a bus's tone is.
	busKeeps = 0.3
)

// clocked gathers, for a line near a multiple of clockHz, how it looks to one
// who follows the clock instead of the mains.
type clocked struct {
	hz    float64
	power sums // of the spans' mean phasors, turned back by the clock
	share sums // of a clocked tone's power that spans on the mains' track keep
}

// clockedNear lists the frequencies to try for a line at hz; none if it lies far
// from every multiple of clockHz.
func clockedNear(hz float64) []clocked {
	k := math.Round(hz / clockHz)
	if k < 1 || math.Abs(hz-k*clockHz) > clockReach {
		return nil
	}
	var tries []clocked
	for i := -math.Round(k * clockSlack / clockStep); i <= math.Round(k*clockSlack/clockStep); i++ {
		tries = append(tries, clocked{hz: k*clockHz + i*clockStep})
	}
	return tries
}

// add takes in one span: off is the harmonic's phase by the mains at its blocks, turned
// back, the first of which is number `first` of the segment that begins at block `segment`.
func (c *clocked) add(m *meter, blocks []block, off []complex128, first, segment int) {
	tone, kept, n := complex(0, 0), complex(0, 0), 0.0
	k := m.kernel.tune(c.hz)
	turn := func(blocks int) complex128 {
		return cmplx.Rect(1, 2*math.Pi*fraction(c.hz*m.l.hopSeconds()*float64(blocks)))
	}
	turned, step := turn(first), turn(1)
	for b, bins := range blocks {
		if !m.leaves(segment + first + b) {
			tone += k.phasor(bins) * cmplx.Conj(turned)
			kept += turned * off[b]
			n++
		}
		turned *= step
	}
	if n == 0 {
		return
	}
	c.power.add(power(tone / complex(n, 0)))
	a := cmplx.Abs(kept) / n
	c.share.add(a * a)
}

// strongest is the frequency at which a line looks strongest to the clock.
func strongest(tries []clocked) *clocked {
	var best *clocked
	for i := range tries {
		if best == nil || tries[i].power.mean > best.power.mean {
			best = &tries[i]
		}
	}
	return best
}

// onLine is a tone that lies on a line's place but doesn't follow the mains.
type onLine struct {
	hz    float64
	power float64
	leak  float64 // what spans on the track keep of it
}

// toneOnLine finds a tone on harmonic h: at a bus's clock, far stronger to one
// who follows the clock than to one who follows the mains; or at any frequency,
// where a line far above its noise keeps next to nothing of its phase.
func (m *meter) toneOnLine(h int, spans, blocks reading, floor floorEstimate) (t onLine, ok bool) {
	if m.tracked < m.segments {
		return onLine{}, false
	}
	mains := m.mains()
	// A tone lies farther off than the line's own place is known.
	if c := strongest(m.lines[h-1].clocked); c != nil && m.toldApart(*c) && math.Abs(c.hz-float64(h)*mains.Hz) > float64(h)*mains.U95 {
		from := floor.intoBlockAt(m.l, c.hz-float64(h)*mains.Hz)
		if p := c.power.mean; p > 2*spans.mean && p > 20*spans.noise && p > 4*from && p > busKeeps*blocks.excess() {
			return onLine{c.hz, p - spans.noise, p * c.share.mean}, true
		}
	}
	if m.wow.swings > 0 || blocks.excess() < astrayStands*blocks.noise || !m.astray(h) {
		return onLine{}, false
	}
	hz, _ := interpolatedPeak(&m.scan, peakNear(&m.scan, float64(h)*mains.Hz, 4))
	// A tenth is what a span keeps at most of what turns once in it, or more.
	return onLine{hz, blocks.excess(), 0.1 * blocks.excess()}, true
}

// toldApart reports whether spans on the track lose a tone on the clock.
func (m *meter) toldApart(c clocked) bool { return c.share.mean < 0.1 }

// clockWarnings says which lines can't be told from a bus's tone, and returns the tones
// that lie on lines.
func (m *meter) clockWarnings(lines []Line, floor func(h int) floorEstimate) (w []note.Note, tones []Tone) {
	for _, line := range lines {
		if _, apart := m.beside[line.Harmonic]; apart {
			continue
		}
		f := floor(line.Harmonic)
		spans, blocks := m.readings(line.Harmonic, f)
		if t, ok := m.toneOnLine(line.Harmonic, spans, blocks, f); ok {
			tones = append(tones, Tone{Hz: t.hz, Power: t.power})
		} else if best := strongest(m.lines[line.Harmonic-1].clocked); best != nil && line.Detected && (m.likelyBus(line.Harmonic) || !m.toldApart(*best)) {
			w = append(w, busOrMains(line))
			if m.likelyBus(line.Harmonic) {
				tones = append(tones, Tone{Hz: best.hz, Power: line.Power})
			}
		}
	}
	return w, tones
}

func busOrMains(line Line) note.Note {
	return note.New("bus_or_mains", "harmonic", line.Harmonic, "line_hz", line.Hz, "bus_hz", clockHz*math.Round(line.Hz/clockHz))
}

// likelyBus says whether harmonic h looks like a tone that can't be told from it.
func (m *meter) likelyBus(h int) bool { return slices.Contains(m.bus, h) }

const (
	// busStands is how far above its neighbours on either side, so many lines, a line on a
	// multiple of clockHz stands that is likelier a generator's or a bus's tone; busWeighs
	// is from what share of all other lines on that matters.
	busStands, busNeighbours, busWeighs = 10.0, 5, 0.002
)

// busLines are the harmonics of a comb on which a tone by a bus's or a generator's clock
// seems to lie, by the averaged power.
func busLines(s *scan, noise func(hz float64) float64, f0 float64, harmonics int) (likely []int) {
	power, all := make([]float64, harmonics+1), 0.0
	for h := 1; h <= harmonics; h++ {
		hz := float64(h) * f0
		power[h] = max(0, s.mean[peakNear(s, hz, 2)]-noise(hz))
		all += power[h]
	}
	for h := 1; h <= harmonics; h++ {
		hz := float64(h) * f0
		if clockedNear(hz) == nil || power[h] < busWeighs*(all-power[h]) || power[h] < busStands*noise(hz) {
			continue
		}
		beside := 0.0
		for d := 1; d <= busNeighbours; d++ {
			for _, other := range []int{h - d, h + d} {
				if other >= 1 && other <= harmonics {
					beside = max(beside, power[other])
				}
			}
		}
		if power[h] > busStands*beside {
			likely = append(likely, h)
		}
	}
	return likely
}
