package report

import (
	"context"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/driven"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/coupling"
	"humdiff/report/measure"
	"humdiff/report/model"
	"humdiff/report/plan"
	"humdiff/report/session"
)

// errNotDriven is that a session has no row in which a known source was on.
var errNotDriven = fault.New("write condition = driven and drive = wire in such a row; see humdiff help session", "the session lists no driven run")

// Passport measures a session's driven runs, and says what they show of each cable; and
// what that predicts, held against one near run where there is one.
func Passport(ctx context.Context, r Request, f session.File) (p model.Passport, err error) {
	if len(f.Driven) == 0 {
		return p, fault.In(f.Path, errNotDriven)
	}
	p = model.Passport{Head: r.head(model.PassportSchema), File: filepath.Base(f.Path), Title: f.Sitting.Title, Bench: f.Sitting.Bench, Drive: f.Drive,
		Warnings: []model.Warning{}}
	if p.Scale, err = r.driveScale(ctx, f); err != nil {
		return p, err
	}
	if p.Inputs, err = (Sitting{File: f}).inputs(ctx); err != nil {
		return p, err
	}
	for _, c := range f.Limits {
		p.Claims = append(p.Claims, model.PassportClaim{Name: c.Name, Says: c.Says, By: c.By, Written: c.Written, Cable: c.Cable, Farads: c.Farads})
	}
	if p.Runs, err = r.driven(ctx, f); err != nil {
		return p, err
	}
	p = Judge(p)
	if err := r.held(ctx, f, &p); err != nil {
		return p, err
	}
	return sealed(p)
}

// Judge fills in what follows from a passport's runs; real leads' pickups that it has
// already stay.
func Judge(p model.Passport) model.Passport {
	was := p.Cables
	p.Cables, p.Warnings = coupling.Passports(p), []model.Warning{}
	for c := range p.Cables {
		for i := range p.Cables[c].Predicted {
			if c < len(was) && i < len(was[c].Predicted) {
				one := &p.Cables[c].Predicted[i]
				one.Run, one.Measured = was[c].Predicted[i].Run, was[c].Predicted[i].Measured
				one.Agrees = agrees(one.Volts, one.Measured)
			}
		}
	}
	p.Claims = coupling.Decide(p.Claims, p.Cables)
	for _, run := range p.Runs {
		if run.Clipped > 0 {
			p.Warnings = append(p.Warnings, model.Warning{Note: note.New("drive_clipped", "samples", run.Clipped), File: run.File})
		}
	}
	return p
}

// DrivenAlone is the passport of one file: its ratios, and all that is missing.
func DrivenAlone(ctx context.Context, r Request, name string) (p model.Passport, err error) {
	addr, err := capture.ParseAddress(name)
	if err != nil {
		return p, misused(err)
	}
	p = model.Passport{Head: r.head(model.PassportSchema), Inputs: []model.Input{}, Bench: session.Blank().Bench, Drive: session.BlankDrive(),
		Scale: model.DriveScale{InputVolts: model.None, DriveVolts: model.None, InputUDB: model.None, DriveUDB: model.None}}
	run, err := measure.Driven(ctx, addr, r.Reference, r.driveOptions())
	if err != nil {
		return p, err
	}
	run.Number, run.Repeat, run.Cond, run.Drive, run.Ohms = 1, 1, model.Driven, model.DriveWire, model.None
	p.Runs = []model.DrivenRun{run}
	return sealed(Judge(p))
}

// DrivenAgain measures a passport's run again, from where its capture lies now.
func DrivenAgain(ctx context.Context, r Request, at capture.Address, said model.DrivenRun) (model.DrivenRun, error) {
	run, err := measure.Driven(ctx, at, said.DriveChannel, r.driveOptions())
	run.File, run.Number, run.Line, run.Cable, run.Drive, run.Cond, run.Ohms, run.Repeat, run.Day =
		said.File, said.Number, said.Line, said.Cable, said.Drive, said.Cond, said.Ohms, said.Repeat, said.Day
	return run, err
}

// driveOptions are how a known source is measured.
func (r Request) driveOptions() driven.Options {
	o := driven.Options{Engine: r.Engine}
	for _, t := range plan.Tones(ToneRate) {
		o.Nominal = append(o.Nominal, t.Hz)
	}
	return o
}

// driveScale is what full scale is in both channels.
func (r Request) driveScale(ctx context.Context, f session.File) (s model.DriveScale, err error) {
	s = model.DriveScale{InputVolts: model.None, DriveVolts: model.None, InputUDB: model.None, DriveUDB: model.None}
	in, err := r.benchScale(ctx, f)
	if err != nil {
		return s, err
	}
	out, err := measure.StatedScale(f.Drive.FullScale, "")
	if err != nil {
		return s, fault.In(f.Path, err)
	}
	for _, of := range []struct {
		scale measure.Scale
		v, u  *model.Num
	}{{in, &s.InputVolts, &s.InputUDB}, {out, &s.DriveVolts, &s.DriveUDB}} {
		if st := of.scale.State(model.ForAll); of.scale.Known() {
			*of.v = st.FullScaleVolts
			if st.Complete {
				*of.u = model.Of(model.Digits(float64(st.U95DB)/1.96, 4))
			}
		}
	}
	return s, nil
}

// driven measures all driven runs but those left out, several at a time.
func (r Request) driven(ctx context.Context, f session.File) ([]model.DrivenRun, error) {
	all := make([]model.DrivenRun, len(f.Driven))
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	var done atomic.Int64
	for i, row := range f.Driven {
		work.Go(func() error {
			at, err := f.Capture(row)
			if err != nil || row.LeftOut != "" {
				return err
			}
			run, err := measure.Driven(ctx, at, row.Reference, r.driveOptions())
			if err != nil {
				return err
			}
			run.File = f.Named(row)
			all[i] = stated(run, row)
			if r.Progress != nil {
				r.Progress(done.Add(1), int64(len(all)))
			}
			return nil
		})
	}
	if err := work.Wait(); err != nil {
		return nil, err
	}
	kept := []model.DrivenRun{}
	for _, run := range all {
		if run.Number > 0 {
			kept = append(kept, run)
		}
	}
	return kept, nil
}

// stated is a measured run with what its row says.
func stated(run model.DrivenRun, row model.Run) model.DrivenRun {
	run.Number, run.Line, run.Cable, run.Drive, run.Cond, run.Ohms, run.Repeat = row.Number, row.Line, row.Cable, row.Drive, row.Condition, row.Termination.Ohms, row.Repeat
	if !row.Start.IsZero() {
		run.Day = row.Start.Format(time.DateOnly)
	}
	return run
}

// held compares what is predicted with the pickup of one near run of the same cable at the
// same termination, its fundamental.
func (r Request) held(ctx context.Context, f session.File, p *model.Passport) error {
	for c := range p.Cables {
		for i := range p.Cables[c].Predicted {
			one := &p.Cables[c].Predicted[i]
			if err := r.heldOne(ctx, f, p.Cables[c].Cable, one); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r Request) heldOne(ctx context.Context, f session.File, cable string, one *model.Predicted) error {
	ohms, _, _ := one.SourceOhms.Numbers()
	var quiet, near *model.Run
	for i := range f.Sitting.Runs {
		run := &f.Sitting.Runs[i]
		if run.Cable != cable || float64(run.Termination.Ohms) != ohms || run.LeftOut != "" || run.Address == "" {
			continue
		}
		switch {
		case run.Condition == model.Quiet && near == nil:
			quiet = run
		case run.Condition == model.Near && near == nil:
			near = run
		}
	}
	if quiet == nil || near == nil {
		return nil
	}
	var files Compared
	var err error
	if files.Quiet, err = f.Capture(*quiet); err != nil {
		return err
	}
	if files.Near, err = f.Capture(*near); err != nil {
		return err
	}
	scale, err := r.benchScale(ctx, f)
	if err != nil {
		return err
	}
	r.Reference, r.Progress = 0, nil
	r.Nominal = float64(f.Sitting.Bench.MainsHz)
	set := measure.Settings(r.Options, scale)
	r.Settings = &set
	compared, err := Compare(ctx, r, files)
	if err != nil {
		return err
	}
	if len(compared.Pairs) == 0 || len(compared.Pairs[0].Lines) == 0 {
		return nil
	}
	run, err := lineOf(near.Address, compared.Settings, compared.Pairs[0], coupling.Run{}, 1)
	if err != nil {
		return nil // nothing to hold it against
	}
	one.Run, one.Measured = near.Number, run.Pickup
	one.Agrees = agrees(one.Volts, one.Measured)
	return nil
}

// agrees says whether two intervals meet; empty where one of them is open.
func agrees(predicted, measured model.Estimate) string {
	lo, hasLo := predicted.Lower()
	hi, hasHi := predicted.Upper()
	low, hasLow := measured.Lower()
	high, hasHigh := measured.Upper()
	switch {
	case hasHi && hasLow && low > hi || hasLo && hasHigh && high < lo:
		return model.No
	case hasHi && hasHigh:
		return model.Yes
	}
	return ""
}
