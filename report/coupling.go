package report

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"humdiff/fft/fault"
	"humdiff/report/coupling"
	"humdiff/report/doc"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// Coupled is what to say of how hum gets in, in the words it was asked in.
type Coupled struct {
	Results    []string // of compare, conditions behind their names; none: the pickup to expect
	Conditions          // of all
	Harmonic   string   // whose pickups are read
	Playback   *model.Playback

	Spacing, Parallel string // where the lead lies
	Capacitance       string // whose pickup is expected
	MainsHz           float64
}

// Coupling says what pickups mean: how the hum got in, and through which
// capacitance or inductance. Without results it says what pickup to expect.
func Coupling(version string, c Coupled) (r model.Coupling, err error) {
	r = model.Coupling{Head: Request{Version: version}.head(model.CouplingSchema), Runs: []model.CouplingRun{},
		Mechanism: model.Mechanism{Verdict: model.NotDecided, Evidence: []model.Evidence{}},
		Expected:  []model.Expected{}, Audible: []*model.Audibility{}, Warnings: []model.Warning{}}
	if r.Geometry, err = c.geometry(); err != nil {
		return r, err
	}
	own, err := c.passport()
	if err != nil {
		return r, err
	}
	if len(c.Results) == 0 || own.Farads.Known() {
		err = c.forward(&r, own)
	} else {
		err = c.backward(&r)
	}
	if err != nil {
		return r, err
	}
	return sealed(r)
}

func (c Coupled) geometry() (g model.Geometry, err error) {
	g = model.Geometry{SpacingMetres: model.None, ParallelMetres: model.None}
	return g, cmp.Or(read(c.Spacing, unit.Metres, &g.SpacingMetres), read(c.Parallel, unit.Metres, &g.ParallelMetres))
}

// forward fills in the pickup to expect.
func (c Coupled) forward(r *model.Coupling, own coupling.Numbers) (err error) {
	if !own.Farads.Known() {
		if own.Farads, err = c.farads(); err != nil {
			return err
		}
	}
	run, err := c.run()
	if err != nil {
		return err
	}
	b := run.Bench
	b.Hz = c.MainsHz
	switch {
	case b.Balanced:
		return wrong("leave --balanced out for an unbalanced input", "in a balanced input pickup depends on the difference between the legs: nothing can be said of it from one capacitance")
	case !b.MainsVolts.Known() || !b.InputOhms.Known() || !b.SourceOhms.Known() && !b.FarEndOpen:
		return wrong("give --mains-voltage, --source and --input", "the pickup depends on the lead's voltage and on the impedance at the input")
	}
	r.Expected = coupling.Forward(own, run.Amps, append([]coupling.Bench{b}, otherEnds(b)...))
	if c.Playback != nil {
		v := own.Expected(b, run.Amps)
		a := judge.Audible(v, []judge.HumLine{{Harmonic: 1, Hz: b.Hz, Volts: v}}, *c.Playback)
		r.Audible = append(r.Audible, &a)
	}
	return nil
}

// passport is what a passport gives, where one is the only result; of several cables, that
// of the one behind its name, as "passport.json#cable=Grebe".
func (c Coupled) passport() (own coupling.Numbers, err error) {
	if len(c.Results) != 1 {
		return own, nil
	}
	name, cable, chosen := strings.Cut(c.Results[0], "#cable=")
	any, err := ReadAny(name, "")
	p, ok := any.(*model.Passport)
	if err != nil || !ok {
		return own, nil // what it is is said where it is read
	}
	to := map[string]*model.Estimate{model.OfCapacitance: &own.Farads, model.OfShieldDrop: &own.Drop, model.OfInductance: &own.Henries}
	for _, of := range p.Cables {
		if of.Cable == cable || !chosen && len(p.Cables) == 1 {
			for _, q := range of.Couplings {
				if e, ok := to[q.Quantity]; ok {
					*e = q.Value
				}
			}
		}
	}
	if own.Farads.Known() {
		return own, nil
	}
	return own, &fault.Error{File: name, What: "it isn't said of which cable, or that has no capacitance", Hint: `name the cable, as "passport.json#cable=Grebe"`}
}

// otherEnds is a bench with the far ends that are shown beside the one given.
func otherEnds(b coupling.Bench) (all []coupling.Bench) {
	given, _, _ := b.SourceOhms.Numbers()
	open := b.FarEndOpen
	for _, ohms := range []float64{20, 1e3, 10e3} {
		if ohms != given {
			b.SourceOhms, b.FarEndOpen = exactly(ohms), false
			all = append(all, b)
		}
	}
	if !open {
		b.SourceOhms, b.FarEndOpen = model.Estimate{}, true
		all = append(all, b)
	}
	return all
}

// farads is the capacitance given.
func (c Coupled) farads() (none model.Estimate, err error) {
	if c.Capacitance == "" {
		return none, wrong(`write humdiff coupling "RESULT.json", or give --capacitance`, "coupling was given no result and no capacitance")
	}
	farads, err := unit.Farads.Parse(c.Capacitance)
	return farads, misused(err)
}

// backward fills in what measured pickups say.
func (c Coupled) backward(r *model.Coupling) error {
	harmonic, err := Harmonic(c.Harmonic)
	if err != nil {
		return err
	}
	if c.Capacitance != "" {
		return wrong("leave it out, or the results", "--capacitance is for the pickup to expect, without results")
	}
	var runs []coupling.Measured
	for _, arg := range c.Results {
		name, given, err := c.behind(arg)
		if err != nil {
			return err
		}
		compared, err := Read[*model.Compare](name, "compare", `give the compare.json that humdiff compare --out "DIR" wrote`)
		if err != nil {
			return err
		}
		of, err := c.measured(r, name, given, compared, harmonic)
		if err != nil {
			return err
		}
		runs = append(runs, of...)
	}
	r.Runs, r.Mechanism = coupling.Assess(runs)
	return nil
}

// measured takes the pickups of one line out of a result, of each channel or of the
// one asked for.
func (c Coupled) measured(r *model.Coupling, name string, given Conditions, compared *model.Compare, harmonic int) (runs []coupling.Measured, err error) {
	base, err := given.run()
	if err != nil {
		return nil, err
	}
	for _, p := range compared.Pairs {
		if given.Channel != "" && given.Channel != strconv.Itoa(p.Near.Channel) {
			continue
		}
		run, err := lineOf(name, compared.Settings, p, base, harmonic)
		if err != nil {
			return nil, err
		}
		run.Channel = p.Near.Channel
		runs = append(runs, coupling.Measured{File: name, Harmonic: harmonic, Run: run})
		if c.Playback != nil {
			heard := judge.AudiblePair(compared.Settings, p, *c.Playback)
			r.Audible = append(r.Audible, &heard)
		}
	}
	if len(runs) == 0 {
		return nil, &fault.Error{File: name, What: "has no such channel", Hint: "leave ch= out, or give the near capture's channel"}
	}
	return runs, nil
}

// lineOf is a run with the pickup of one line of a pair.
func lineOf(name string, set model.Settings, p model.Pair, run coupling.Run, harmonic int) (coupling.Run, error) {
	bad := func(hint, what string) (coupling.Run, error) {
		return run, &fault.Error{File: name, What: what, Hint: hint}
	}
	if clipped := doc.Clipped(p); clipped != "" {
		return bad("record again at a lower gain", "is not usable: "+clipped)
	}
	if o := doc.Obstacle(p); o != "" {
		return bad("record both captures again", "holds no comparison: "+o)
	}
	if harmonic > len(p.Lines) {
		return bad("give a harmonic that was measured", fmt.Sprintf("has no harmonic %d", harmonic))
	}
	scale, _ := set.ScaleOf(model.ForNear)
	l := p.Lines[harmonic-1]
	run.Pickup, run.Bench.Hz = scale.AmplitudeInVolts(l.Pickup), l.Hz.Float()
	if _, bounded := run.Pickup.Upper(); !bounded {
		return bad("compare again with --full-scale and the gain ahead of it", "holds no volts, or no limit on this line: no coupling follows from it")
	}
	return run, nil
}
