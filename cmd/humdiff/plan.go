package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/assemble"
	"humdiff/report/doc"
	"humdiff/report/plan"
	"humdiff/report/publish"
	"humdiff/report/quantity"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/volts"
	"humdiff/report/words"
)

// planned is the flags of plan.
type planned struct {
	measuring
	showing
	see, floor, floorOf                      string
	harmonic                                 string
	difference, spread                       string
	cables, terminations, exposures, witness string
	repeats, seed, record, title, tone       string
	blind                                    bool
	out                                      string
}

func planCommand(s screen) *cobra.Command {
	var f planned
	c := &cobra.Command{
		Use:   "plan",
		Short: "What to record: how long, how many repeats, in which order",
		Long: `plan says how long to record to see hum of a given level on a given floor, how
many repeats tell two cables apart, and in which order to record. With --out it
writes a card to print, a list of runs to fill in (runs.csv) and a session file that
batch reads once the captures are there. Work near mains can kill: the card has the
safety rules.`,
		Example: `  humdiff plan --see -150dBFS --floor -140dBFS/Hz
  humdiff plan --see 1uV --floor-of "quiet.wav" --mains 50 --full-scale 2.0V --gain 40dB
  humdiff plan --difference 3dB --spread 2dB --cables "Grebe,Rail,Plover"
  humdiff plan --cables "Grebe,Rail" --terminations 20ohm,2kohm --exposures beside,wrapped --witness "Old wire" --out "sitting"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return misusedf("captures go behind --floor-of, cables behind --cables", "plan takes no %q", args[0])
			}
			return nil
		},
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, _ []string) error { return f.run(c.Context(), s) },
	}
	f.measuring.add(c)
	f.format = choice{"text", []string{"text", "markdown", "csv", "json"}}
	fl := c.Flags()
	fl.Var(&f.format, "format", "how the result is printed")
	fl.BoolVar(&f.noProgress, "no-progress", false, "show no progress")
	fl.StringVar(&f.see, "see", "", "the `LEVEL` of a hum line to be seen, such as -150dBFS or 1uV")
	fl.StringVar(&f.floor, "floor", "", "the noise `DENSITY` per hertz, such as -140dBFS/Hz or 20nV/rtHz")
	fl.StringVar(&f.floorOf, "floor-of", "", "instead, the noise in a `CAPTURE`, or in the JSON of humdiff measure")
	fl.StringVar(&f.harmonic, "harmonic", "1", "with --floor-of: the `NUMBER` of the line beside which the noise counts")
	fl.StringVar(&f.difference, "difference", "", "`RATIO` between two cables that is to be told, such as 3dB; needs --spread")
	fl.StringVar(&f.spread, "spread", "", "`RATIO` by which repeats of one cable spread (standard deviation), such as 2dB")
	fl.StringVar(&f.cables, "cables", "", "`NAMES` of the cables, such as \"Grebe,Rail\"")
	fl.StringVar(&f.terminations, "terminations", "", "`IMPEDANCES` at the far end, such as 20ohm,2kohm,open")
	fl.StringVar(&f.exposures, "exposures", "beside", "`NAMES` of how the lead is brought near, such as beside,wrapped")
	fl.StringVar(&f.repeats, "repeats", "", "`NUMBER` of repeats, instead of what --difference and --spread come to, or six")
	fl.StringVar(&f.witness, "witness", "", "`NAME` of a cable known to leak, recorded first and last")
	fl.StringVar(&f.record, "record", "", "`TIME` of each capture, such as 60s, instead of what --see comes to, or a minute")
	fl.StringVar(&f.tone, "tone", "", "`VOLTAGE` of the calibration tone, such as \"1.0V ±0.5%\", if known already: the session file then names its captures")
	fl.StringVar(&f.title, "title", "", "`TITLE` of the session")
	fl.StringVar(&f.seed, "seed", "", "`NUMBER` that decides the order (default: drawn by lot, and printed)")
	fl.BoolVar(&f.blind, "blind", false, "letters for cables; which is which is in key.toml, for whoever connects them")
	fl.StringVar(&f.out, "out", "", "write card, list of runs and session file into the folder `DIR`")
	return c
}

func (f planned) run(ctx context.Context, s screen) error {
	if err := f.goTogether(); err != nil {
		return err
	}
	r := result.Plan{Schema: result.PlanSchema, Tool: result.Tool{Version: version()}, Warnings: []result.Warning{}}
	scale, err := f.scale(ctx)
	if err != nil {
		return err
	}
	if r.Length, err = f.length(ctx, s, scale); err != nil {
		return err
	}
	sit, err := f.sitting()
	if err != nil {
		return err
	}
	if r.Repeats, err = f.count(len(sit.Cables)); err != nil {
		return err
	}
	seconds, err := f.seconds(&r)
	if err != nil {
		return err
	}
	if sit.Repeats = r.Repeats.Chosen; len(sit.Cables) > 0 {
		if err := f.write(ctx, &r, sit, seconds); err != nil {
			return err
		}
	}
	if err := f.show(s, f.view(r)); err != nil || f.out == "" {
		return err
	}
	_, err = fmt.Fprintf(s.stderr, "Card, list of runs and session file are in %s\n", words.File(filepath.Clean(f.out)))
	return err
}

// goTogether refuses flags that say nothing without another, or contradict one.
func (f planned) goTogether() error {
	switch {
	case f.floor != "" && f.floorOf != "":
		return misusedf("leave one of them out", "--floor and --floor-of are two floors")
	case f.see != "" && f.floor == "" && f.floorOf == "":
		return misusedf("give --floor -140dBFS/Hz, or --floor-of \"quiet.wav\"", "--see needs the noise that the line lies in")
	case (f.difference == "") != (f.spread == ""):
		return misusedf("give both: --difference 3dB --spread 2dB", "--difference and --spread say nothing without each other")
	case f.cables == "" && f.terminations+f.witness+f.seed+f.out+f.title+f.tone != "" || f.cables == "" && f.blind:
		return misusedf("name the cables: --cables \"Grebe,Rail\"", "without cables there is no order to record in")
	case f.blind && f.out == "":
		return misusedf("name the folder with --out", "--blind has nowhere to put the key")
	case f.tone != "" && f.fullScale+f.gain != "":
		return misusedf("leave --full-scale and --gain out: the tone comes through both", "--tone says what full scale is already")
	case f.cables == "" && f.floor == "" && f.floorOf == "" && f.difference == "":
		return misusedf("for example: humdiff plan --see -150dBFS --floor -140dBFS/Hz, or humdiff plan --cables \"Grebe,Rail\"", "there is nothing to plan")
	}
	return nil
}

func (f planned) view(r result.Plan) view {
	var all []table.Table
	if r.Order != nil {
		all = append(all, table.PlanOrder(*r.Order))
	}
	if r.Length != nil {
		all = append(all, table.PlanReach(*r.Length))
	}
	if len(r.Repeats.Powers) > 0 {
		all = append(all, table.PlanRepeats(r.Repeats))
	}
	all[0].Footers = table.Warnings(r.Warnings)
	v := view{result: r, sentences: words.Plan(r), table: asIs(all[0]), warnings: r.Warnings, more: all[1:]}
	if r.Order != nil {
		v.csv = table.PlanRuns(*r.Order).CSV
	}
	return v
}

// shares of recordings that are to show the line.
var shares = []float64{0.9, 0.975}

// lengths of recordings of which it is said what they see, seconds.
var lengths = []float64{10, 60, 600}

// falseAlarms of all lines together, as fft/mains has them.
const falseAlarms = 0.005

// length says how long to record; nil where no floor was given.
func (f planned) length(ctx context.Context, s screen, scale volts.Scale) (*result.PlanLength, error) {
	if f.floor == "" && f.floorOf == "" {
		return nil, nil
	}
	nominal := 50.0
	if f.mains.value == "60" {
		nominal = 60
	}
	l := &result.PlanLength{See: result.PlanLevel{DBFS: result.None, Volts: result.None}, Lines: max(1, int(float64(f.upTo)/nominal)),
		FalseAlarmShare: falseAlarms, Times: []result.PlanTime{}, Alone: []result.PlanTime{}, Reach: []result.PlanTime{}}
	var err error
	if l.Floor, err = f.density(ctx, s, scale, l); err != nil {
		return nil, err
	}
	if f.see != "" {
		if l.See, err = levelOf(f.see, quantity.DBFS, scale); err != nil {
			return nil, err
		}
	}
	return l, f.times(l)
}

// times fills in what follows from floor and line.
func (f planned) times(l *result.PlanLength) error {
	floor, base := float64(l.Floor.DBFS), l.Floor
	line := float64(l.See.DBFS)
	if f.see != "" && math.IsNaN(line-floor) { // both have to be in one unit
		floor, line = decibels(l.Floor.Volts), decibels(l.See.Volts)
		if math.IsNaN(line - floor) {
			return misusedf("give the input's full scale, e.g. --full-scale 2.0V, or both in the same unit", "--see and the floor are in different units")
		}
	} else if math.IsNaN(floor) {
		floor = decibels(l.Floor.Volts)
	}
	sought := plan.Sought{LineDB: line, FloorDB: floor, Lines: l.Lines, Alarms: falseAlarms}
	for _, share := range shares {
		sought.Share = share
		if f.see != "" {
			l.Times = append(l.Times, result.PlanTime{Share: share, Seconds: result.Of(plan.Seconds(sought)), Line: l.See})
			l.Alone = append(l.Alone, result.PlanTime{Share: share, Seconds: result.Of(plan.SecondsAlone(sought)), Line: l.See})
		}
	}
	for _, seconds := range lengths {
		up := result.Num(plan.Level(sought, seconds) - floor)
		l.Reach = append(l.Reach, result.PlanTime{Share: sought.Share, Seconds: result.Num(seconds),
			Line: result.PlanLevel{DBFS: base.DBFS + up, Volts: base.Volts * result.Num(math.Pow(10, float64(up)/20))}})
	}
	return nil
}

func decibels(v result.Num) float64 { return 20 * math.Log10(float64(v)) }

// levelOf reads a level in dBFS, or as a voltage, and gives it in both where the
// scale is known.
func levelOf(s string, dbfs quantity.Unit, scale volts.Scale) (l result.PlanLevel, err error) {
	l = result.PlanLevel{DBFS: result.None, Volts: result.None}
	full := result.Num(math.NaN())
	if scale.Known() {
		full = result.Num(scale.FullScale())
	}
	if dbfs.Has(s) {
		v, err := dbfs.Parse(s)
		l.DBFS, l.Volts = result.Num(v), full*result.Num(math.Pow(10, v/20))
		return l, misused(err)
	}
	v, err := capture.ParseVolts(s)
	l.Volts, l.DBFS = result.Num(v), result.Num(20*math.Log10(v/float64(full)))
	return l, misused(err)
}

// density is the floor, stated or measured.
func (f planned) density(ctx context.Context, s screen, scale volts.Scale, l *result.PlanLength) (result.PlanLevel, error) {
	if f.floorOf != "" {
		return f.measuredFloor(ctx, s, scale, l)
	}
	said := f.floor
	for _, per := range []string{"/rtHz", "/√Hz"} {
		said = strings.TrimSuffix(said, per)
	}
	if said == f.floor && !quantity.DBFSPerHz.Has(said) {
		return result.PlanLevel{}, misusedf("write -140dBFS/Hz, or 20nV/rtHz", "--floor %s is no noise density", f.floor)
	}
	return levelOf(said, quantity.DBFSPerHz, scale)
}

func (f planned) measuredFloor(ctx context.Context, s screen, scale volts.Scale, l *result.PlanLength) (at result.PlanLevel, err error) {
	h, err := strconv.Atoi(f.harmonic)
	if err != nil || h < 1 {
		return at, misusedf("write a whole number, such as 3", "--harmonic %s is no harmonic", f.harmonic)
	}
	m, err := f.floorResult(ctx, s, scale)
	if err != nil {
		return at, err
	}
	found := false
	for _, c := range m.Captures {
		i := slices.IndexFunc(c.Lines, func(l result.CaptureLine) bool { return l.Harmonic == h })
		if i < 0 || !c.Lines[i].FloorDBFSHz.Ok() || f.channel != 0 && c.Channel != int(f.channel) {
			continue
		}
		if found && c.Lines[i].FloorDBFSHz <= at.DBFS {
			continue // the channel that takes longest counts
		}
		found = true
		at = result.PlanLevel{DBFS: c.Lines[i].FloorDBFSHz, Volts: c.Lines[i].FloorVolts}
		l.FloorOf, l.FloorChannel, l.FloorHarmonic, l.Lines = c.File, c.Channel, h, len(c.Lines)
	}
	if !found {
		return at, &fault.Error{File: f.floorOf, What: fmt.Sprintf("shows no floor beside harmonic %d", h), Hint: "say which mains you have: --mains 50 or --mains 60"}
	}
	if !at.Volts.Ok() && scale.Known() {
		at.Volts = result.Num(scale.FullScale() * math.Pow(10, float64(at.DBFS)/20))
	}
	return at, nil
}

// floorResult reads a result of measure, or measures a capture.
func (f planned) floorResult(ctx context.Context, s screen, scale volts.Scale) (m result.Measure, err error) {
	if strings.EqualFold(filepath.Ext(f.floorOf), ".json") {
		const hint = "give what humdiff measure --format json printed, or a capture"
		text, err := publish.ReadFile(f.floorOf, publish.LargestResult, hint)
		if err != nil {
			return m, err
		}
		if err := json.Unmarshal(text, &m); err != nil || m.Schema != result.MeasureSchema {
			return m, &fault.Error{File: f.floorOf, What: "is no result of measure", Hint: hint, Err: err}
		}
		return m, nil
	}
	addr, err := f.address(f.floorOf)
	if err != nil {
		return m, err
	}
	opt := f.options()
	report, end := progress(s.stderr, !f.noProgress)
	opt.Progress = report
	m, err = assemble.ReadMeasured(ctx, version(), assemble.Settings(opt, scale), []capture.Address{addr}, opt)
	end()
	return m, err
}

// bounds of what is planned.
const (
	mostRepeats = 100
	mostCables  = 20
)

// count is how many repeats to make of each of so many cables.
func (f planned) count(cables int) (p result.PlanRepeats, err error) {
	p = result.PlanRepeats{DifferenceDB: result.None, SpreadDB: result.None, Pairs: max(1, cables*(cables-1)/2), Powers: []result.PlanPower{},
		Chosen: plan.Unknown, Why: result.RepeatsUnknown, Power: result.None}
	p.Alpha = 0.05 / float64(p.Pairs)
	if f.difference != "" {
		if p, err = f.power(p); err != nil {
			return p, err
		}
	}
	if f.repeats != "" {
		n, err := strconv.Atoi(f.repeats)
		if err != nil || n < 2 || n > mostRepeats {
			return p, misusedf(fmt.Sprintf("write a whole number from 2 to %d", mostRepeats), "--repeats %s is no number of repeats", f.repeats)
		}
		p.Chosen, p.Why = n, result.RepeatsGiven
	}
	if f.difference != "" {
		p.Power = result.Num(plan.Power(p.Chosen, float64(p.DifferenceDB), float64(p.SpreadDB), p.Alpha))
	}
	return p, nil
}

func (f planned) power(p result.PlanRepeats) (result.PlanRepeats, error) {
	for _, q := range []struct {
		name, said string
		to         *result.Num
	}{{"difference", f.difference, &p.DifferenceDB}, {"spread", f.spread, &p.SpreadDB}} {
		v, err := quantity.Decibels.Parse(q.said)
		if err != nil {
			return p, misused(err)
		}
		if v < 0.01 {
			return p, misusedf("write more than nothing, such as 2dB", "--%s %s is none", q.name, q.said)
		}
		*q.to = result.Num(v)
	}
	for _, power := range []float64{0.8, 0.95} {
		p.Powers = append(p.Powers, result.PlanPower{Power: power, Repeats: plan.Repeats(float64(p.DifferenceDB), float64(p.SpreadDB), power, p.Alpha)})
	}
	n := p.Powers[0].Repeats
	if f.repeats == "" && (n == 0 || n > mostRepeats) {
		return p, misusedf("look for a larger difference, make the spread smaller, or say --repeats", "to tell %s at a spread of %s takes more than %d repeats", f.difference, f.spread, mostRepeats)
	}
	p.Chosen, p.Why = n+n%2, result.RepeatsPower
	return p, nil
}

// aMinute is recorded where nothing says how long.
const aMinute = 60.0

// seconds is how long each capture is to be: whole tens of seconds.
func (f planned) seconds(r *result.Plan) (float64, error) {
	if f.record != "" {
		v, err := quantity.Seconds.Parse(f.record)
		if err == nil && (v < 1 || v > plan.Longest) {
			return 0, misusedf("write 1s to 6h", "--record %s is no length of a capture", f.record)
		}
		return v, misused(err)
	}
	if r.Length == nil || len(r.Length.Times) == 0 {
		return aMinute, nil
	}
	last := r.Length.Times[len(r.Length.Times)-1].Seconds
	if !last.Ok() {
		r.Warnings = append(r.Warnings, warningOf(note.New("too_long")))
		return aMinute, nil
	}
	return 10 * math.Ceil(float64(last)/10), nil
}

// warningOf is a warning that concerns the whole plan.
func warningOf(n note.Note) result.Warning {
	return result.Warning{Code: n.Code, Message: doc.Says(n)}
}
