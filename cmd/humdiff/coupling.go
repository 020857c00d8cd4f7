package main

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/audibility"
	"humdiff/report/coupling"
	"humdiff/report/publish"
	"humdiff/report/quantity"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/table"
	"humdiff/report/words"
)

// coupled is the flags of coupling.
type coupled struct {
	showing
	playing
	bench     conditions
	mains     choice
	harmonic  string
	spacing   string
	parallel  string
	capacity  string
	conductor string
}

// conditions are those of a run as given: by flags for all results, or behind a
// result's name for one.
type conditions struct {
	volts, source, input, cable, load, far, plug, channel string
	balanced                                              bool
}

func couplingCommand(s screen) *cobra.Command {
	var f coupled
	c := &cobra.Command{
		Use:   "coupling [RESULT.json ...]",
		Short: "How hum gets in: coupling capacitance and mechanism from measured pickup, or the pickup to expect",
		Long: `coupling reads results of compare and says which coupling capacitance, and where
the lead's current is given which mutual inductance, would bring the measured
pickup. From several results that differ in one thing at a time (termination,
load on the lead, far device bonded or isolated) it names the mechanism. What
differs is written behind a result's name:

  "low.json#source=20ohm&load=2A&far=isolated&plug=1"

where load is none, yes or a current, far is bonded or isolated, plug is 1 or 2,
and ch is the channel. Values may have a tolerance: 230V+-5%.

Without a result it works forwards: the pickup to expect from a capacitance, or
from two parallel wires.`,
		Example: `  humdiff coupling "report/compare.json" --mains-voltage 230V --source 20ohm --input 100kohm --cable 100pF
  humdiff coupling "low.json#source=20ohm" "high.json#source=10kohm" --mains-voltage 230V --input 100kohm --load none --far isolated
  humdiff coupling --capacitance 1pF --mains-voltage 120V --mains 60 --source 20ohm --input 100kohm
  humdiff coupling --spacing 20mm --conductor 1.4mm --parallel 1m --mains-voltage 230V --source 10kohm --input 100kohm`,
		PreRunE: noEmptyFlags,
		RunE:    func(c *cobra.Command, args []string) error { return f.run(s, args) },
	}
	f.format = choice{"text", []string{"text", "markdown", "csv", "json"}}
	f.mains = choice{"50", []string{"50", "60"}}
	flags := c.Flags()
	flags.Var(&f.format, "format", "how the result is printed")
	flags.StringVar(&f.bench.volts, "mains-voltage", "", "rms `VOLTAGE` of the lead, such as 230V or 230V+-5%")
	flags.StringVar(&f.bench.source, "source", "", "`IMPEDANCE` at the cable's far end, such as 20ohm, or open")
	flags.StringVar(&f.bench.input, "input", "", "`IMPEDANCE` of the input, such as 100kohm")
	flags.StringVar(&f.bench.cable, "cable", "", "`CAPACITANCE` of the cable and the input, such as 100pF (default: up to 1 nF)")
	flags.BoolVar(&f.bench.balanced, "balanced", false, "the input is balanced")
	flags.StringVar(&f.bench.load, "load", "", "the lead's load: `CURRENT` such as 2A, or yes, or none")
	flags.StringVar(&f.bench.far, "far", "", "the far device: `bonded|isolated`")
	flags.StringVar(&f.harmonic, "harmonic", "1", "the `NUMBER` of the line to read; --mains-voltage is then that line's")
	flags.StringVar(&f.spacing, "spacing", "", "`LENGTH` between lead and cable, such as 10mm; between wires, from centre to centre")
	flags.StringVar(&f.parallel, "parallel", "", "`LENGTH` over which they run in parallel, such as 1.5m")
	flags.StringVar(&f.capacity, "capacitance", "", "forwards: the coupling `CAPACITANCE`, such as 1pF")
	flags.StringVar(&f.conductor, "conductor", "", "forwards: the `DIAMETER` of two bare wires, with --spacing and --parallel")
	flags.Var(&f.mains, "mains", "forwards: mains frequency in Hz")
	f.playing.add(c)
	return c
}

func (f coupled) run(s screen, args []string) error {
	playback, err := f.playback()
	if err != nil {
		return err
	}
	r := result.Coupling{Schema: result.CouplingSchema, Tool: result.Tool{Version: version()}, Runs: []result.CouplingRun{},
		Mechanism: result.Mechanism{Verdict: result.NotDecided, Evidence: []result.Evidence{}},
		Expected:  []result.Expected{}, Audible: []*result.Audibility{}, Warnings: []result.Warning{}}
	if r.Geometry, err = f.geometry(); err != nil {
		return err
	}
	if len(args) == 0 {
		err = f.forward(&r, playback)
	} else {
		err = f.backward(&r, args, playback)
	}
	if err != nil {
		return err
	}
	v := view{result: r, sentences: words.Coupling(r), table: asIs(table.Coupling(r)), warnings: r.Warnings}
	for _, a := range r.Audible {
		if a != nil && a.Verdict != result.NotPlayed {
			v.more = append(v.more, table.Audible(*a))
		}
	}
	return f.show(s, v)
}

func (f coupled) geometry() (g result.Geometry, err error) {
	g = result.Geometry{SpacingMetres: result.None, ParallelMetres: result.None}
	for _, l := range []struct {
		said string
		to   *result.Num
	}{{f.spacing, &g.SpacingMetres}, {f.parallel, &g.ParallelMetres}} {
		if l.said == "" {
			continue
		}
		m, err := quantity.Metres.Parse(l.said)
		if err != nil {
			return g, misused(err)
		}
		*l.to = result.Num(m)
	}
	return g, nil
}

// usualEnds are the far ends that the forward table shows beside the one given.
var usualEnds = []float64{20, 1e3, 10e3, math.Inf(1)}

// forward fills in the pickup to expect.
func (f coupled) forward(r *result.Coupling, playback *result.Playback) error {
	farads, err := f.farads(r)
	if err != nil {
		return err
	}
	b, err := f.bench.read()
	if err != nil {
		return err
	}
	b.Bench.Hz, _ = strconv.ParseFloat(f.mains.value, 64)
	switch {
	case f.bench.balanced:
		return misusedf("leave --balanced out for an unbalanced input", "in a balanced input pickup depends on the difference between the legs: nothing can be said of it from one capacitance")
	case !b.Bench.MainsVolts.Known() || !b.Bench.InputOhms.Known() || !b.Bench.SourceOhms.Known():
		return misusedf("give --mains-voltage, --source and --input", "the pickup depends on the lead's voltage and on the impedance at the input")
	}
	benches := []coupling.Bench{b.Bench}
	for _, ohms := range usualEnds {
		if one := b.Bench; one.SourceOhms != quantity.Exactly(ohms) {
			one.SourceOhms = quantity.Exactly(ohms)
			benches = append(benches, one)
		}
	}
	r.Expected = coupling.Forward(farads, benches)
	if playback != nil {
		v := coupling.Expected(farads, b.Bench)
		a := audibility.Assess(v, []audibility.Line{{Harmonic: 1, Hz: b.Bench.Hz, Volts: v}}, *playback)
		r.Audible = append(r.Audible, &a)
	}
	return nil
}

// farads is the capacitance given, or that of the wires given.
func (f coupled) farads(r *result.Coupling) (quantity.Range, error) {
	if f.capacity != "" && f.conductor != "" {
		return quantity.Unknown, misusedf("leave one of them out", "--capacitance and --conductor both say what the capacitance is")
	}
	if f.capacity != "" {
		c, err := quantity.Farads.Range(f.capacity)
		return c, misused(err)
	}
	if f.conductor == "" {
		return quantity.Unknown, misusedf(`write humdiff coupling "RESULT.json", or give --capacitance, or --conductor, --spacing and --parallel`,
			"coupling was given no result and no capacitance")
	}
	d, err := quantity.Metres.Parse(f.conductor)
	if err != nil {
		return quantity.Unknown, misused(err)
	}
	w := coupling.Wires{Spacing: float64(r.Geometry.SpacingMetres), Diameter: d, Length: float64(r.Geometry.ParallelMetres)}
	c := w.Farads()
	if math.IsNaN(c) {
		return quantity.Unknown, misusedf("give --spacing from centre to centre, more than the diameter, and --parallel", "--conductor %s alone is no pair of wires", f.conductor)
	}
	r.Wires = &result.WiresGeometry{SpacingMetres: w.Spacing, DiameterMetres: w.Diameter, LengthMetres: w.Length}
	return quantity.Exactly(c), nil
}

// backward fills in what measured pickups say.
func (f coupled) backward(r *result.Coupling, args []string, playback *result.Playback) error {
	harmonic, err := strconv.Atoi(f.harmonic)
	if err != nil || harmonic < 1 {
		return misusedf("write a harmonic's number; 1 is the fundamental", "--harmonic %s is no number of a line", f.harmonic)
	}
	if f.capacity != "" || f.conductor != "" {
		return misusedf("leave it out, or the results", "--capacitance and --conductor are for the pickup to expect, without results")
	}
	var runs []coupling.Measured
	for _, arg := range args {
		name, given, err := f.bench.behind(arg)
		if err != nil {
			return err
		}
		c, err := readCompare(name)
		if err != nil {
			return err
		}
		of, err := given.measured(name, c, harmonic)
		if err != nil {
			return err
		}
		for _, p := range of.pairs {
			if playback != nil {
				r.Audible = append(r.Audible, audible(p, c.Settings, *playback))
			}
		}
		runs = append(runs, of.runs...)
		r.Warnings = append(r.Warnings, of.warnings...)
	}
	r.Runs, r.Mechanism = coupling.Assess(runs)
	return nil
}

// audible judges the near capture of a pair.
func audible(p result.Pair, set result.Settings, playback result.Playback) *result.Audibility {
	hum, lines := audibility.Near(p, set.FullScaleVolts)
	a := audibility.Assess(hum, lines, playback)
	return &a
}

// readCompare reads a result of compare.
func readCompare(path string) (r result.Compare, err error) {
	const hint = `give the compare.json that humdiff compare --out "DIR" wrote`
	b, err := publish.ReadFile(path, publish.LargestResult, hint)
	if err != nil {
		return r, err
	}
	if err := json.Unmarshal(b, &r); err != nil || r.Schema != result.CompareSchema {
		return r, &fault.Error{File: path, What: "is no result of compare", Hint: hint, Err: err}
	}
	return r, nil
}

// behind takes the conditions off a result's name; they stand above the flags'.
func (c conditions) behind(arg string) (name string, given conditions, err error) {
	name, fragment, has := strings.Cut(arg, "#")
	if !has {
		return arg, c, nil
	}
	keys := map[string]*string{"source": &c.source, "load": &c.load, "far": &c.far, "plug": &c.plug, "ch": &c.channel, "mains": &c.volts}
	for _, part := range strings.Split(fragment, "&") {
		key, value, _ := strings.Cut(part, "=")
		to, ok := keys[key]
		if value, err = url.PathUnescape(value); !ok || value == "" || err != nil {
			return "", c, misusedf(`write for example "result.json#source=20ohm&load=none&far=isolated&plug=1"`, "%s: %q is no condition of a run", arg, part)
		}
		*to = value
	}
	return name, c, nil
}

// read reads the conditions.
func (c conditions) read() (r coupling.Run, err error) {
	r = coupling.Run{Pickup: quantity.Unknown, Amps: quantity.Unknown}
	r.Bench = coupling.Bench{MainsVolts: quantity.Unknown, SourceOhms: quantity.Unknown, InputOhms: quantity.Unknown,
		InputFarads: quantity.Unknown, CableFarads: quantity.Unknown, Balanced: c.balanced}
	for _, q := range []struct {
		said  string
		to    *quantity.Range
		parse func(string) (float64, error)
	}{
		{c.volts, &r.Bench.MainsVolts, capture.ParseVolts}, {c.source, &r.Bench.SourceOhms, farEnd},
		{c.input, &r.Bench.InputOhms, quantity.Ohms.Parse}, {c.cable, &r.Bench.CableFarads, quantity.Farads.Parse},
	} {
		if q.said == "" || err != nil {
			continue
		}
		*q.to, err = quantity.WithTolerance(q.said, q.parse)
	}
	if err != nil {
		return r, misused(err)
	}
	return r, c.others(&r)
}

func farEnd(s string) (float64, error) {
	if strings.TrimSpace(s) == "open" {
		return math.Inf(1), nil
	}
	return quantity.Ohms.Parse(s)
}

// others reads load, far device and plug.
func (c conditions) others(r *coupling.Run) error {
	switch c.load {
	case "":
	case "none", "0A":
		r.Loaded, r.Amps = session.No, quantity.Exactly(0)
	case "yes":
		r.Loaded = session.Yes
	default:
		amps, err := quantity.Amps.Range(c.load)
		if err != nil {
			return misusedf("write a current such as 2A, or yes, or none", "the load %q is no current", c.load)
		}
		r.Loaded, r.Amps = session.Yes, amps
	}
	switch c.far {
	case "":
	case "bonded":
		r.Bonded = session.Yes
	case "isolated":
		r.Bonded = session.No
	default:
		return misusedf("write bonded or isolated", "the far device is %q", c.far)
	}
	switch c.plug {
	case "", "1", "2":
		r.Plug, _ = strconv.Atoi(c.plug)
	default:
		return misusedf("write 1 or 2", "the plug's orientation is %q", c.plug)
	}
	return nil
}

// ofResult is what one result holds for coupling.
type ofResult struct {
	runs     []coupling.Measured
	pairs    []result.Pair
	warnings []result.Warning
}

// measured takes the pickups of one line out of a result, of each channel or of
// the one asked for.
func (c conditions) measured(name string, r result.Compare, harmonic int) (of ofResult, err error) {
	base, err := c.read()
	if err != nil {
		return of, err
	}
	for _, p := range r.Pairs {
		if c.channel != "" && c.channel != strconv.Itoa(p.Near.Channel) {
			continue
		}
		run, err := lineOf(name, p, base, harmonic)
		if err != nil {
			return of, err
		}
		of.runs = append(of.runs, coupling.Measured{File: name, Channel: p.Near.Channel, Harmonic: harmonic, Run: run})
		of.pairs = append(of.pairs, p)
	}
	if len(of.runs) == 0 {
		return of, &fault.Error{File: name, What: "has no such channel", Hint: "leave ch= out, or give the near capture's channel"}
	}
	for _, w := range r.Warnings {
		if w.Code == "quiet_close" {
			of.warnings = append(of.warnings, w)
		}
	}
	return of, nil
}

func lineOf(name string, p result.Pair, run coupling.Run, harmonic int) (coupling.Run, error) {
	bad := func(hint, what string) (coupling.Run, error) {
		return run, &fault.Error{File: name, What: what, Hint: hint}
	}
	if clipped := words.Clipped(p); clipped != "" {
		return bad("record again at a lower gain", "is not usable: "+clipped)
	}
	if o := words.Obstacle(p); o != "" {
		return bad("record both captures again", "holds no comparison: "+o)
	}
	i := slices.IndexFunc(p.Lines, func(l result.PairLine) bool { return l.Harmonic == harmonic })
	if i < 0 {
		return bad("give a harmonic that was measured", fmt.Sprintf("has no harmonic %d", harmonic))
	}
	l := p.Lines[i]
	if !l.Pickup.HiVolts.Ok() {
		return bad("compare again with --full-scale and the gain ahead of it", "holds no volts, or no limit on this line: no coupling follows from it")
	}
	run.Bench.Hz = float64(l.Hz)
	run.Pickup = quantity.Range{Lo: float64(l.Pickup.LoVolts), Hi: float64(l.Pickup.HiVolts)}
	return run, nil
}
