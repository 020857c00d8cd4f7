package measure

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// Calibrate gives the scale that captures of tones of known rms voltage show.
// The tones have to have come through the same gain as the captures that the
// scale is for; several of them, before and after, give the drift. A capture
// that would mislead is refused. Errors name the file.
func Calibrate(ctx context.Context, opt Options, tones ...unit.Tone) (Scale, error) {
	var read []model.Calibration
	for _, tone := range tones {
		c, err := calibration(ctx, tone, opt.Options)
		if err != nil {
			return Scale{}, err
		}
		if err := mislead(c); err != nil {
			return Scale{}, err
		}
		read = append(read, c)
	}
	return calibrated(read), nil
}

// calibration measures a tone and hashes its file.
func calibration(ctx context.Context, tone unit.Tone, opt mains.Options) (model.Calibration, error) {
	v, lo, _ := tone.Volts.Numbers()
	within := voltsWithin(v, lo)
	if within > widest {
		return model.Calibration{}, fault.New("use a voltmeter that is known closer", "%q is no plausible tolerance of a calibration", tone.Said)
	}
	file, err := capture.Open(tone.Address)
	if err != nil {
		return model.Calibration{}, err
	}
	m, err := mains.MeasureTone(ctx, file, tone.Hz, opt)
	if err != nil {
		return model.Calibration{}, named(ctx, file, err)
	}
	hash, err := capture.Hash(ctx, tone.Path)
	if err != nil {
		return model.Calibration{}, err
	}
	tone.Path = cmp.Or(tone.Name, tone.Path)
	side := sideOf(file.Info(), 0, hash)
	side.File = tone.Path
	c := model.Calibration{
		Side: side, Address: tone.Address.String(),
		Said: tone.Said, Volts: seven(v), WithinDB: seven(within), GivenHz: model.None,
		Hz: seven(m.Hz), Level: level(m.Level), FullScaleVolts: seven(v / math.Sqrt(m.Power)),
		OthersDB: model.DB(1 + m.Others), SecondHz: model.None, SecondDB: model.None,
		Clipped: m.Clipped, ClippedDB: seven(m.Loss), ScatterDB: seven(m.Scatter), Blocks: m.Blocks,
		PartialDB: seven(m.Partial), HoldsFromS: seven(file.Info().StartS + m.From), HoldsToS: seven(file.Info().StartS + m.To),
	}
	if tone.Hz > 0 {
		c.GivenHz = seven(tone.Hz)
	}
	if m.Second.Power > 0 {
		c.SecondHz, c.SecondDB = seven(m.Second.Hz), model.DB(m.Second.Power/m.Power)
	}
	return c, nil
}

// calibrated is the scale that one or more captures of tones of known voltage
// give: the middle between the highest and the lowest. Before and after a
// session, the true scale of its captures lies anywhere between them.
func calibrated(tones []model.Calibration) Scale {
	lo, hi, origin := math.Inf(1), math.Inf(-1), ""
	said := make([]string, len(tones))
	for i, c := range tones {
		db := 20 * math.Log10(float64(c.FullScaleVolts))
		lo, hi = min(lo, db), max(hi, db)
		origin += c.SHA256 + fmt.Sprint(c.Channel, c.StartS, c.EndS) + c.Said
		said[i] = fmt.Sprintf("the %.1f Hz tone of %s is %s", float64(c.Hz), filepath.Base(c.Address), c.Said)
	}
	s := Scale{said: strings.Join(said, "; "), volts: math.Pow(10, (lo+hi)/40), tones: tones, parts: calibratedParts(tones, (hi-lo)/2)}
	for i := range s.parts {
		s.parts[i].origin = origin
	}
	return s
}

// calibratedParts are what a scale from tones may be off by, half the spread of
// what they say among them.
func calibratedParts(tones []model.Calibration, half float64) []part {
	var noise, within, other, clipped, partial float64
	var scatter model.Calibration
	for i, c := range tones {
		noise += math.Pow(width(c)/2, 2)
		within = math.Max(within, c.WithinDB.Float()) // NaN stays
		if !c.GivenHz.Ok() {
			other = max(other, float64(c.OthersDB))
		}
		clipped, partial = max(clipped, float64(c.ClippedDB)), max(partial, math.Abs(float64(c.PartialDB)))
		if i == 0 || c.ScatterDB > scatter.ScatterDB {
			scatter = c
		}
	}
	parts := []part{
		limits("voltmeter", stated{within: within}),
		{"recording noise", math.Sqrt(noise) / float64(len(tones)) / coverage(math.Inf(1)), math.Inf(1), "interval", ""},
	}
	add := func(what string, u, dof float64, basis string) {
		if u > 1e-4 { // else it is nothing
			parts = append(parts, part{what, u, dof, basis, ""})
		}
	}
	rectangular := func(what string, half float64, basis string) { add(what, half/math.Sqrt(3), math.Inf(1), basis) }
	if len(tones) > 1 {
		rectangular("drift", half, "between")
	}
	rectangular("other tones and noise", other, "heard")
	rectangular("clipping", clipped, "loss")
	rectangular("tone not all through", partial, "usual_level")
	add("unsteady tone", float64(scatter.ScatterDB), float64(scatter.Blocks-1), "block_spread")
	return parts
}

// width is that of a tone's interval, dB.
func width(c model.Calibration) float64 {
	_, lo, hi := c.Level.Numbers()
	return hi - lo
}

// What a calibration may be off by before it is refused, dB.
const (
	refusedDB = 0.1
	// A tone that swings, or that noise hides, still gives a scale, with an
	// uncertainty to match.
	refusedScatterDB = 0.5
	// Where samples are clipped there may be more that doesn't show.
	refusedClippedDB = 0.01
)

// mislead refuses a capture of a tone that would mislead. The error says by how
// much.
func mislead(c model.Calibration) error {
	wrong := func(hint, format string, args ...any) error {
		return fault.In(c.File, fault.New(hint, format, args...))
	}
	switch {
	case c.ClippedDB > refusedClippedDB:
		return wrong("record the tone at a lower level, at the gain of the captures",
			"%d samples of the tone are clipped, which takes %.4f dB off it", c.Clipped, float64(c.ClippedDB))
	case math.Abs(float64(c.PartialDB)) > refusedDB:
		part := fmt.Sprintf("%s#t=%.1f,%.1f=%s", c.File, math.Ceil(float64(c.HoldsFromS)*10)/10, math.Floor(float64(c.HoldsToS)*10)/10, c.Said)
		return wrong(fmt.Sprintf("name the part that holds the tone: %q", part),
			"the tone doesn't hold its level all through, but from %.1f to %.1f s: its mean lies %+.3f dB off", float64(c.HoldsFromS), float64(c.HoldsToS), float64(c.PartialDB))
	case c.OthersDB > refusedDB && !c.GivenHz.Ok():
		return wrong(fmt.Sprintf(`record the tone alone; or if the voltage is that of one tone, say which: "%s=%s at %.0fHz"`, c.Address, c.Said, float64(c.Hz)),
			"%s", otherTones(c))
	case c.ScatterDB > refusedScatterDB:
		return wrong("record a steady tone", "the tone's level moves by %.2f dB (standard deviation of %d blocks)", float64(c.ScatterDB), c.Blocks)
	case width(c) > 2*refusedScatterDB:
		return wrong("record it at a higher level, or longer", "noise leaves the tone's level uncertain by ±%.2f dB", width(c)/2)
	}
	return nil
}

func otherTones(c model.Calibration) string {
	what := "noise"
	if c.SecondHz.Ok() {
		side := "below"
		if c.SecondDB > 0 {
			side = "above"
		}
		what = fmt.Sprintf("a second tone at %.1f Hz, %.1f dB %s it", float64(c.SecondHz), math.Abs(float64(c.SecondDB)), side)
	}
	return fmt.Sprintf("there is %s beside the tone at %.1f Hz: a voltmeter that reads all there is reads %.3f dB more than the tone",
		what, float64(c.Hz), float64(c.OthersDB))
}
