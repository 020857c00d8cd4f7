package report

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/page"
	"humdiff/report/plan"
	"humdiff/report/publish"
	"humdiff/report/session"
	"humdiff/report/unit"
)

// Planned is what to plan, in the words it was asked in; empty: not asked.
type Planned struct {
	See, Floor, FloorOf string // a line's level, and the noise it lies in: a density, or where that is measured
	Harmonic            string // beside which it is
	Channel             int    // of FloorOf; 0: whichever
	Difference, Spread  string // between cables, and between repeats
	Same                string // a margin, instead of a difference
	Repeats             string
	Record              string // length of a capture
	Tones, Drive        string // file for a known source's signal, and the voltage at the wire of a full-scale sine; See may be a capacitance then

	Sitting plan.Sitting // its Repeats are found out; without cables there is no order
	Title   string
	KeyHash string // of the key that names the sitting's letters; empty: cables have their names
}

// Plan says what to record: how long, how often, in which order.
func Plan(ctx context.Context, r Request, p Planned) (out model.Plan, err error) {
	out = model.Plan{Head: r.head(model.PlanSchema), Warnings: []model.Warning{}}
	if r, err = r.Scaled(ctx); err != nil {
		return out, err
	}
	if out.Tones, err = p.tones(ctx, r); err != nil {
		return out, err
	}
	if out.Length, err = p.length(ctx, r); err != nil {
		return out, err
	}
	if out.Repeats, err = p.count(); err != nil {
		return out, err
	}
	warn := func(code string) {
		out.Warnings = append(out.Warnings, model.Warning{Note: note.New(code)})
	}
	seconds, ok := plan.Recommended(out.Length)
	if p.Record != "" {
		if seconds, err = recordFor(p.Record); err != nil {
			return out, err
		}
	} else if !ok {
		warn("too_long")
	}
	if len(p.Sitting.Cables) > 0 {
		out.Order = p.order(out.Repeats.Chosen, seconds)
		if out.Repeats.Chosen%2 == 1 {
			warn("odd_repeats")
		}
		if rowsOf(doc.Card(out)) > cardRows {
			warn("card_long")
		}
	}
	return sealed(out)
}

// cardRows fit on one page, if cables have short names.
const cardRows = 32

func rowsOf(d doc.Document) (rows int) {
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if t, ok := b.(doc.Table); ok {
				rows += len(t.Rows)
			}
		}
	}
	return rows
}

// order numbers the steps.
func (p Planned) order(repeats int, seconds float64) *model.PlanOrder {
	s := p.Sitting
	s.Repeats = repeats
	return &model.PlanOrder{Title: p.Title, Seed: s.Seed, Blind: p.KeyHash != "", KeySHA256: p.KeyHash, Witness: s.Control, Seconds: seconds,
		Cables: s.Cables, Exposures: s.Exposures, Runs: plan.Order(s)}
}

// recordFor is a stated length of captures, seconds.
func recordFor(said string) (float64, error) {
	v, err := unit.Seconds.Number(said)
	if err == nil && (v < 1 || v > plan.Longest) {
		return 0, wrong("write 1s to 6h", "--record %s is no length of a capture", said)
	}
	return v, misused(err)
}

// length says how long to record; nil where no floor was given.
func (p Planned) length(ctx context.Context, r Request) (*model.PlanLength, error) {
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	see, at := plan.NoLevel, floor{PlanLevel: plan.NoLevel}
	var err error
	switch {
	case p.Tones != "": // whose noise that is
		return nil, nil
	case p.FloorOf != "":
		at, err = p.measured(ctx, r, scale)
	case p.Floor != "":
		at.PlanLevel, err = density(p.Floor, scale)
		at.lines = max(1, int(r.UpTo/cmp.Or(r.Nominal, 50)))
	default:
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if p.See != "" {
		if see, err = levelOf(p.See, unit.DBFS, scale); err != nil {
			return nil, err
		}
	}
	l, err := plan.Length(see, at.PlanLevel, at.lines)
	if p.FloorOf != "" {
		l.FloorOf, l.FloorChannel, l.FloorHarmonic = at.file, at.channel, at.harmonic
	}
	return &l, misused(err)
}

// ToneRate is the sample rate of a known source's signal.
const ToneRate = 48000

// tones say what a known source plays; nil where none was asked for. The cable is taken
// to be terminated in the largest resistance given, which shows most.
func (p Planned) tones(ctx context.Context, r Request) (*model.PlanTones, error) {
	if p.Tones == "" {
		return nil, nil
	}
	d := plan.Driving{Volts: math.NaN(), Floor: math.NaN(), Farads: math.NaN(), Seconds: 60}
	scale, _ := r.Settings.ScaleOf(model.ForAll)
	err := cmp.Or(read(p.Drive, unit.Volts, &d.Volts), read(p.See, unit.Farads, &d.Farads))
	if err != nil {
		return nil, err
	}
	if p.Record != "" {
		if d.Seconds, err = recordFor(p.Record); err != nil {
			return nil, err
		}
	}
	var at floor
	switch {
	case p.FloorOf != "":
		at, err = p.measured(ctx, r, scale)
	case p.Floor != "":
		at.PlanLevel, err = density(p.Floor, scale)
	default:
		at.Volts = model.None
	}
	d.Floor = float64(at.Volts)
	for _, t := range p.Sitting.Terminations {
		d.Ohms = max(d.Ohms, cmp.Or(t.Ohms.OrZero(), 1000))
	}
	out := plan.Drive(d, ToneRate)
	out.File = filepath.Base(p.Tones)
	return &out, err
}

// levelOf reads a level in dBFS, or as a voltage, and gives it in both where the
// scale is known.
func levelOf(s string, dbfs unit.Unit, scale model.Scale) (model.PlanLevel, error) {
	if dbfs.Has(s) {
		v, err := dbfs.Number(s)
		return onScale(v, scale), misused(err)
	}
	v, err := unit.Volts.Number(s)
	return model.PlanLevel{Volts: model.Num(v), DBFS: model.Num(20 * math.Log10(v/scale.FullScaleVolts.Float()))}, misused(err)
}

// onScale is a level with its volts, where those are known.
func onScale(dbfs float64, scale model.Scale) model.PlanLevel {
	return model.PlanLevel{DBFS: model.Num(dbfs), Volts: scale.FullScaleVolts * model.Num(math.Pow(10, dbfs/20))}
}

// density reads a noise density.
func density(said string, scale model.Scale) (model.PlanLevel, error) {
	bare := said
	for _, per := range []string{"/rtHz", "/√Hz"} {
		bare = strings.TrimSuffix(bare, per)
	}
	if bare == said && !unit.DBFSPerHz.Has(said) {
		return plan.NoLevel, wrong("write -140dBFS/Hz, or 20nV/rtHz", "--floor %s is no noise density", said)
	}
	return levelOf(bare, unit.DBFSPerHz, scale)
}

// floor is a noise density with where it was measured, and how many lines were.
type floor struct {
	model.PlanLevel
	file              string
	channel, harmonic int
	lines             int
}

// measured is the floor beside a line, of the channel that takes longest.
func (p Planned) measured(ctx context.Context, r Request, scale model.Scale) (at floor, err error) {
	if at.harmonic, err = Harmonic(p.Harmonic); err != nil {
		return at, err
	}
	m, err := p.floorResult(ctx, r)
	if err != nil {
		return at, err
	}
	for _, c := range m.Captures {
		l := c.Line(at.harmonic)
		if !l.FloorDBFSHz.Ok() || p.Channel != 0 && c.Channel != p.Channel || at.file != "" && l.FloorDBFSHz <= at.DBFS {
			continue
		}
		if own, known := m.Settings.ScaleOf(model.ForAll); known {
			scale = own
		}
		at.PlanLevel, at.file, at.channel, at.lines = onScale(l.FloorDBFSHz.Float(), scale), c.File, c.Channel, len(c.Lines)
	}
	if at.file == "" {
		return at, &fault.Error{File: p.FloorOf, What: fmt.Sprintf("shows no floor beside harmonic %d", at.harmonic), Hint: "say which mains you have: --mains 50 or --mains 60"}
	}
	return at, nil
}

// floorResult reads a result of measure, or measures a capture.
func (p Planned) floorResult(ctx context.Context, r Request) (*model.Measure, error) {
	if strings.EqualFold(filepath.Ext(p.FloorOf), ".json") {
		return Read[*model.Measure](p.FloorOf, "measure", "give what humdiff measure --format json printed, or a capture")
	}
	addr, err := capture.ParseAddress(p.FloorOf)
	if err != nil {
		return nil, misused(err)
	}
	if p.Channel != 0 {
		addr.Channel = p.Channel
	}
	m, err := Measure(ctx, r, []capture.Address{addr})
	return &m, err
}

// count is how many repeats to make of each cable.
func (p Planned) count() (none model.PlanRepeats, err error) {
	show, given := plan.Shown{Difference: model.None, Within: model.None, Spread: model.None}, 0
	if p.Spread != "" {
		for _, q := range []struct {
			name, said string
			to         *model.Num
		}{{"difference", p.Difference, &show.Difference}, {"same", p.Same, &show.Within}, {"spread", p.Spread, &show.Spread}} {
			if err := read(q.said, unit.Decibels, q.to); err != nil {
				return none, err
			}
			if *q.to < 0.01 {
				return none, wrong("write more than nothing, such as 2dB", "--%s %s is none", q.name, q.said)
			}
		}
	}
	if p.Repeats != "" {
		if given, err = strconv.Atoi(p.Repeats); err != nil || given == 0 {
			return none, wrong(fmt.Sprintf("write a whole number from 2 to %d", plan.MostRepeats), "--repeats %s is no number of repeats", p.Repeats)
		}
	}
	counted, err := plan.Count(len(p.Sitting.Cables), show, given)
	return counted, misused(err)
}

// SittingFiles are what a plan's order is recorded by: a card to print, a session
// file in which only the captures are missing, at path, and the list of its runs.
// tone is the voltage of the calibration tone; empty: not known yet.
func SittingFiles(r Request, p model.Plan, path, tone string) ([]publish.File, error) {
	card, err := page.HTML(doc.Card(p), Drawn(&p))
	if err != nil {
		return nil, err
	}
	bench := session.Blank().Bench
	bench.FullScale, bench.Gain, bench.Calibration = r.Scaling.FullScale, r.Scaling.Gain, r.Scaling.Calibration
	if r.Nominal != 0 {
		bench.MainsHz = model.Num(r.Nominal)
	}
	file, runs := session.Planned(path, *p.Order, bench, tone).First()
	return []publish.File{{Name: "card.html", Data: card}, {Name: "session.toml", Data: file}, {Name: "runs.csv", Data: runs}}, nil
}
