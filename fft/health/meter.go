package health

// Meters gather the facts of a capture's channels.
type Meters struct {
	rate     float64
	channels []*meter
	twins    twins
}

// NewMeters makes meters for so many channels at a sample rate, in hertz.
func NewMeters(channels int, rate float64) *Meters {
	m := &Meters{rate: rate, twins: newTwins(channels)}
	for range channels {
		m.channels = append(m.channels, &meter{rate: rate})
	}
	return m
}

// Add takes in the next frames: frames[c] are channel c's samples, equally many
// of each.
func (m *Meters) Add(frames [][]float64) {
	if len(frames) == 0 || len(frames[0]) == 0 {
		return
	}
	m.twins.add(frames)
	for c, x := range frames {
		m.channels[c].add(x)
	}
}

// Facts are what the frames so far say, by channel.
func (m *Meters) Facts() []Facts {
	facts := make([]Facts, len(m.channels))
	for c, ch := range m.channels {
		facts[c] = ch.facts(m.rate)
	}
	m.twins.mark(facts)
	return facts
}

// Release gives back the memory that earlier samples are kept in, for other
// captures. Nothing may be added any more.
func (m *Meters) Release() {
	for _, c := range m.channels {
		c.repeats.release()
	}
}

// meter gathers the facts of one channel.
type meter struct {
	rate    float64
	n       int64
	before  [2]float64 // the last two samples
	level   level
	clip    clip
	top     flat
	bottom  flat
	held    holds
	repeats repeats
	clicks  clicks
	hush    hush
	codes   codes
}

func (m *meter) add(x []float64) {
	if m.n == 0 {
		// As if the first two samples' line came from before: no break there.
		rise := x[min(1, len(x)-1)] - x[0]
		m.before = [2]float64{x[0] - 2*rise, x[0] - rise}
	}
	g := look(x, m.before)
	m.level.add(x, g, m.n)
	m.codes.add(x, g.digits)
	step := m.codes.step()
	m.clip.add(x, g, m.n)
	if span := m.level.most - m.level.lowest; span >= flatSpan*step {
		width := max(flatWidth*span, 1.001*step)
		m.top.add(x, g.most, 1, width, m.n)
		m.bottom.add(x, -g.lowest, -1, width, m.n)
	}
	m.held.add(x, m.n, m.level.lowest, m.level.most)
	m.repeats.add(x)
	m.clicks.add(x, m.before, g, step, m.n)
	m.hush.add(x, m.rate, m.n)
	m.n += int64(len(x))
	if len(x) > 1 {
		m.before = [2]float64{x[len(x)-2], x[len(x)-1]}
	} else {
		m.before = [2]float64{m.before[1], x[0]}
	}
}

func (m *meter) facts(rate float64) Facts {
	f := Facts{Rate: rate, Samples: m.n}
	m.level.facts(&f, m.n)
	m.clip.facts(&f)
	m.codes.facts(&f)
	if f.Silent || m.n == 0 {
		return f
	}
	span := (m.level.most - m.level.lowest) / f.Step
	flatFacts(&f, m.top, m.bottom, span)
	m.held.facts(&f, m.n, span)
	m.repeats.facts(&f, m.n)
	m.clicks.facts(&f, m.n)
	m.hush.facts(&f)
	return f
}
