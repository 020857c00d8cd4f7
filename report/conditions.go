package report

import (
	"net/url"
	"strconv"
	"strings"

	"humdiff/fft/estimate"
	"humdiff/fft/fault"
	"humdiff/report/coupling"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// Conditions are those a pickup was measured under, in the words they were given
// in; empty: not stated.
type Conditions struct {
	Mains    string // voltage of the lead
	Source   string // impedance at the cable's far end, or "open"
	Input    string // impedance
	Cable    string // capacitance of cable and input
	Load     string // of the lead: its current at the line that is read, "yes" or "none"
	Far      string // the far device: "bonded", "class2" or "isolated"
	Plug     string // orientation: "1" or "2"
	Channel  string // of the near capture
	Balanced bool   // input
}

// behind takes the conditions off a result's name; they stand above those of all.
func (c Conditions) behind(arg string) (name string, given Conditions, err error) {
	name, fragment, has := strings.Cut(arg, "#")
	if !has {
		return arg, c, nil
	}
	keys := map[string]*string{"source": &c.Source, "load": &c.Load, "far": &c.Far, "plug": &c.Plug, "ch": &c.Channel, "mains": &c.Mains}
	for part := range strings.SplitSeq(fragment, "&") {
		key, value, _ := strings.Cut(part, "=")
		to, ok := keys[key]
		if value, err = url.PathUnescape(value); !ok || value == "" || err != nil {
			return "", c, wrong(`write for example "result.json#source=20ohm&load=none&far=isolated&plug=1"`, "%s: %q is no condition of a run", arg, part)
		}
		*to = value
	}
	return name, c, nil
}

// run reads the conditions into a run without a pickup.
func (c Conditions) run() (r coupling.Run, err error) {
	r.Bench.Balanced, r.Bench.FarEndOpen = c.Balanced, strings.TrimSpace(c.Source) == "open"
	for _, q := range []struct {
		said string
		to   *model.Estimate
		unit unit.Unit
	}{
		{c.Mains, &r.Bench.MainsVolts, unit.Volts}, {c.Source, &r.Bench.SourceOhms, unit.Ohms},
		{c.Input, &r.Bench.InputOhms, unit.Ohms}, {c.Cable, &r.Bench.CableFarads, unit.Farads},
	} {
		if q.said == "" || q.to == &r.Bench.SourceOhms && r.Bench.FarEndOpen {
			continue
		}
		read, err := q.unit.Parse(q.said)
		if err != nil {
			return r, misused(err)
		}
		*q.to = read.Map(func(v float64) float64 { return model.Digits(v, 7) })
	}
	return r, c.around(&r)
}

// around reads load, far device and plug.
func (c Conditions) around(r *coupling.Run) (err error) {
	switch c.Load {
	case "":
	case "none", "0A":
		r.Loaded, r.Amps = model.No, exactly(0)
	default:
		if r.Loaded = model.Yes; c.Load == "yes" {
			break
		}
		if r.Amps, err = unit.Amps.Parse(c.Load); err != nil {
			return wrong("write a current such as 2A, or yes, or none", "the load %q is no current", c.Load)
		}
	}
	var ok bool
	if r.Bonded, ok = map[string]string{"": "", "bonded": model.Yes, "class2": model.ClassTwo, "isolated": model.No}[c.Far]; !ok {
		return wrong("write bonded, class2 or isolated", "the far device is %q", c.Far)
	}
	if r.Plug, ok = map[string]int{"": 0, "1": 1, "2": 2}[c.Plug]; !ok {
		return wrong("write 1 or 2", "the plug's orientation is %q", c.Plug)
	}
	return nil
}

// exactly is a value of which nobody said what it may be off by.
func exactly(v float64) model.Estimate { return estimate.Of(v, model.None.Float(), model.None.Float()) }

// Harmonic reads a harmonic's number.
func Harmonic(said string) (int, error) {
	h, err := strconv.Atoi(said)
	if err != nil || h < 1 {
		return 0, misused(fault.New("write a harmonic's number, such as 3; 1 is the fundamental", "--harmonic %s is no harmonic", said))
	}
	return h, nil
}
