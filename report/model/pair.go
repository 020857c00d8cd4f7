package model

// Pair is one channel, quiet and near, and what changed.
type Pair struct {
	Quiet, Near Capture
	Lines       []LineChange // of harmonics 1, 2, 3 …; none where the two mains have nothing to do with each other
	Hum         Change       // over the lines that both have and no tone hides in either
	HumA        Change       // the same, A-weighted
	Noise       PairNoise

	Residual   *Capture    // what the instrument adds by itself; nil: not recorded
	Audibility *Audibility // nil where no programme and no playback was given
}

// LineChange is what became of one line from quiet to near.
type LineChange struct {
	Harmonic int
	Hz       Num
	Delta    Estimate // near minus quiet, dB
	Pickup   Estimate // added by the lead, relative to full scale (1 is 0 dBFS)
}

// Change is what became of a sum of lines. Quiet and Near are over the same lines.
type Change struct {
	Quiet   Estimate `json:"quiet" est:"level" side:"quiet"`
	Near    Estimate `json:"near" est:"level" side:"near"`
	Delta   Estimate `json:"delta" est:"delta"`
	Pickup  Estimate `json:"pickup" est:"pickup" side:"near"`
	Lines   int      `json:"lines"` // how many harmonics are in the sum
	UpToHz  float64  `json:"up_to_hz"`
	LeftOut []int    `json:"left_out"` // harmonics hidden by tones, on either side: not in the sum
}

// PairNoise is the noise of both over one band, without hum lines and tones.
type PairNoise struct {
	BandHz     [2]float64 `json:"band_hz"`
	QuietDBFS  Num        `json:"quiet_dbfs"`
	NearDBFS   Num        `json:"near_dbfs"`
	QuietADBFS Num        `json:"quiet_a_dbfs"`
	NearADBFS  Num        `json:"near_a_dbfs"`
}

// NominalHz is the nominal frequency both sides share or one side knows; None
// where they differ or neither knows one.
func (p Pair) NominalHz() Num {
	q, n := p.Quiet.Mains.NominalHz, p.Near.Mains.NominalHz
	switch {
	case q == n, !n.Ok():
		return q
	case !q.Ok():
		return n
	}
	return None
}

// Unlike says that the lines of the two have nothing to do with each other:
// harmonic 3 of 50 Hz isn't harmonic 3 of 60 Hz.
func (p Pair) Unlike() bool {
	q, n := p.Quiet.Mains.NominalHz, p.Near.Mains.NominalHz
	return q.Ok() && n.Ok() && q != n
}

// Row is a line of a pair with what was found on either side; a side on which it
// wasn't measured has a level of which nothing is known.
type Row struct {
	Harmonic int      `json:"harmonic"`
	Hz       Num      `json:"hz"`
	Quiet    Line     `json:"quiet" side:"quiet"`
	Near     Line     `json:"near" side:"near"`
	Delta    Estimate `json:"delta" est:"delta"`
	Pickup   Estimate `json:"pickup" est:"pickup" side:"near"`
}

// Rows are all lines of a pair.
func (p Pair) Rows() []Row {
	rows := make([]Row, len(p.Lines))
	for i, l := range p.Lines {
		rows[i] = Row{l.Harmonic, l.Hz, p.Quiet.Line(l.Harmonic), p.Near.Line(l.Harmonic), l.Delta, l.Pickup}
	}
	return rows
}

// LineHz is a row's frequency where the mains' is known; else the mean of both
// captures' that the line has itself.
func (r Row) LineHz(mains Num) Num {
	if !mains.Ok() || mains <= 0 {
		return r.Hz
	}
	return mains * Num(r.Harmonic)
}
