package main

import (
	"context"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/session"
)

// coupled is the flags of coupling.
type coupled struct {
	showing
	playing
	writing
	report.Coupled
	mains     choice
	reference reference
}

func couplingCommand(s screen) *cobra.Command {
	var f coupled
	c := &cobra.Command{
		Use:   "coupling [SESSION | CAPTURE | RESULT.json ...]",
		Short: "How hum gets in: mechanism and coupling from measured pickups, or the pickup to expect",
		Long: `From results of compare that differ in one thing at a time coupling says how the
hum gets in: by the electric field, by current that the lead's voltage drives into
the shield, by the magnetic field, or by a loop of earths. Two terminations give the
coupling capacitance, a loaded and an unloaded lead the mutual inductance, an
isolated far device the loop. What differs is written behind a result's name:

    "low.json#source=20ohm&load=2A&far=isolated&plug=1"

load is none, yes or a current; plug is 1 or 2; far is bonded, isolated (on battery,
or behind a transformer) or class2 (double-insulated); ch is the channel. Values may
have a tolerance: 230V+-5%.

Of a session with driven runs it makes each cable's passport: its own numbers, by a
known source (see humdiff help bench), and the pickup that they predict. One driven
capture, with --reference, gives its ratios. Drive from a signal output only: never
feed mains voltage in.

A passport.json gives the pickup of any lead, source and input. Two are compared.
Without a result coupling works forwards, from --capacitance.`,
		Example: `  humdiff coupling "report/compare.json" --mains-voltage 230V --source 20ohm --input 100kohm --cable 100pF
  humdiff coupling "low.json#source=20ohm" "high.json#source=10kohm" --mains-voltage 230V --input 100kohm --load none --far isolated
  humdiff coupling "session.toml" --out "passport"
  humdiff coupling "driven.wav" --reference ch=2
  humdiff coupling "passport/passport.json" --mains-voltage 230V --source 20ohm --input 100kohm
  humdiff coupling "bench one/passport.json" "bench two/passport.json"
  humdiff coupling --capacitance 1pF --mains-voltage 120V --mains 60 --source 20ohm --input 100kohm`,
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args) },
	}
	f.mains = choice{"50", []string{"50", "60"}}
	flags := c.Flags()
	f.showing.addForms(c, "text", "markdown", "csv", "json")
	flags.StringVar(&f.Conditions.Mains, "mains-voltage", "", "rms `VOLTAGE` of the lead, such as 230V or 230V+-5%")
	flags.StringVar(&f.Source, "source", "", "`IMPEDANCE` at the cable's far end, such as 20ohm, or open")
	flags.StringVar(&f.Input, "input", "", "`IMPEDANCE` of the input, such as 100kohm")
	flags.StringVar(&f.Cable, "cable", "", "`CAPACITANCE` of cable and input, such as 100pF (default: up to 1 nF)")
	flags.BoolVar(&f.Balanced, "balanced", false, "the input is balanced")
	flags.StringVar(&f.Load, "load", "", "the lead's `CURRENT` at the line that is read, such as 2A, or yes, or none")
	flags.StringVar(&f.Far, "far", "", "the far device: `bonded|class2|isolated` (on battery, or behind a transformer)")
	flags.StringVar(&f.Harmonic, "harmonic", "1", "the `NUMBER` of the line to read; --mains-voltage is then that line's")
	flags.StringVar(&f.Spacing, "spacing", "", "`LENGTH` between lead and cable, such as 10mm")
	flags.StringVar(&f.Parallel, "parallel", "", "`LENGTH` over which they run in parallel, such as 1.5m")
	flags.StringVar(&f.Capacitance, "capacitance", "", "forwards: the coupling `CAPACITANCE`, such as 1pF")
	flags.Var(&f.reference, "reference", "of one driven capture: the channel that records the drive, such as ch=2")
	f.writing.add(c, "page, figures, tables and numbers")
	flags.Var(&f.mains, "mains", "forwards: mains frequency in Hz")
	f.playing.add(c)
	return c
}

func (f coupled) run(ctx context.Context, s screen, args []string) (err error) {
	if len(args) == 1 && (strings.EqualFold(filepath.Ext(args[0]), ".toml") || f.reference != 0) {
		return f.passport(ctx, s, args[0])
	}
	if f.out != "" || f.reference != 0 {
		return misusedf("name a session file that lists driven runs, or with --reference one driven capture", "--out and --reference are for a known source")
	}
	f.Results = args
	f.MainsHz, _ = strconv.ParseFloat(f.mains.value, 64) // one of the choices
	if f.Playback, err = f.playback(); err != nil {
		return err
	}
	if len(args) == 2 && report.ArePassports(args) {
		r, err := report.Agree(version(), [2]string(args))
		if err != nil {
			return err
		}
		return f.show(s, &r)
	}
	r, err := report.Coupling(version(), f.Coupled)
	if err != nil {
		return err
	}
	return f.show(s, &r)
}

// passport is that of a session's cables, or of one driven capture.
func (f coupled) passport(ctx context.Context, s screen, path string) error {
	if err := f.check(report.PassportNames...); err != nil {
		return err
	}
	r := report.Request{Version: version()}
	p, err := during(s, f.noProgress, &r, func() (p model.Passport, err error) {
		if f.reference != 0 {
			r.Reference = int(f.reference)
			return report.DrivenAlone(ctx, r, path)
		}
		file, err := session.Load(path)
		if err != nil {
			return p, err
		}
		return report.Passport(ctx, r, file)
	})
	if err != nil {
		return err
	}
	seen := &p // files are named as the session does
	if f.reference != 0 {
		if seen, err = seenFrom(f.writing, &p); err != nil {
			return err
		}
	}
	if err := f.show(s, &p); err != nil {
		return err
	}
	return f.all(ctx, s, seen)
}
