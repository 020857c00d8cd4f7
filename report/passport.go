package report

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"runtime"
	"slices"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/driven"
	"humdiff/fft/fault"
	"humdiff/report/coupling"
	"humdiff/report/judge"
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
	if len(f.Sitting.Driven) == 0 {
		return p, fault.In(f.Path, errNotDriven)
	}
	f = f.Short()
	p = model.Passport{Head: r.head(model.PassportSchema), File: filepath.Base(f.Path), Title: f.Sitting.Title, Bench: f.Sitting.Bench}
	p.Claims = slices.DeleteFunc(slices.Clone(f.Sitting.Claims), func(c model.Claim) bool { return c.Kind != model.ClaimCoupling })
	if p.Inputs, err = (Sitting{File: f}).inputs(ctx); err != nil {
		return p, err
	}
	if p.CableNumbers, err = r.numbers(ctx, f); err != nil {
		return p, err
	}
	return sealed(judge.Passport(p))
}

// numbers are what a session's driven runs show of its cables, held against near runs.
func (r Request) numbers(ctx context.Context, f session.File) (n model.CableNumbers, err error) {
	n.Drive = f.Sitting.Drive
	if n.Scale, err = r.driveScale(ctx, f); err != nil {
		return n, err
	}
	if n.Runs, err = r.driven(ctx, f); err != nil {
		return n, err
	}
	n.Cables = coupling.Passports(model.Passport{Bench: f.Sitting.Bench, CableNumbers: n})
	for c := range n.Cables {
		for i := range n.Cables[c].Predicted {
			if err := r.real(ctx, f, n.Cables[c].Cable, &n.Cables[c].Predicted[i]); err != nil {
				return n, err
			}
		}
	}
	return n, nil
}

// DrivenAlone is the passport of one file: its ratios, and all that is missing.
func DrivenAlone(ctx context.Context, r Request, name string) (p model.Passport, err error) {
	addr, err := capture.ParseAddress(name)
	if err != nil {
		return p, misused(err)
	}
	p = model.Passport{Head: r.head(model.PassportSchema), Inputs: []model.Input{}, Bench: session.Blank().Bench, Claims: []model.Claim{}}
	p.Drive, p.Scale = session.Blank().Drive, noScale()
	run, err := measure.Driven(ctx, addr, r.Reference, r.driveOptions())
	if err != nil {
		return p, err
	}
	run.DrivenRow = model.DrivenRow{Number: 1, Repeat: 1, Cond: model.Driven, Drive: model.DriveWire, Ohms: model.None}
	p.Runs = []model.DrivenRun{run}
	return sealed(judge.Passport(p))
}

// DrivenAgain measures a passport's run again, from where its capture lies now.
func DrivenAgain(ctx context.Context, r Request, at capture.Address, said model.DrivenRun) (model.DrivenRun, error) {
	run, err := measure.Driven(ctx, at, said.DriveChannel, r.driveOptions())
	run.File, run.DrivenRow = said.File, said.DrivenRow
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

func noScale() model.DriveScale {
	return model.DriveScale{InputVolts: model.None, DriveVolts: model.None, InputUDB: model.None, DriveUDB: model.None}
}

// driveScale is what full scale is in both channels.
func (r Request) driveScale(ctx context.Context, f session.File) (s model.DriveScale, err error) {
	s = noScale()
	in, err := r.benchScale(ctx, f)
	if err != nil {
		return s, err
	}
	out, err := measure.StatedScale(f.Sitting.Drive.FullScale, "")
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
	all := make([]model.DrivenRun, len(f.Sitting.Driven))
	work, going := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	var done atomic.Int64
	for i, row := range f.Sitting.Driven {
		work.Go(func() error {
			at, err := f.Capture(row)
			if err != nil || row.LeftOut != "" {
				return err
			}
			run, err := measure.Driven(going, at, row.Reference, r.driveOptions())
			if err != nil {
				return err
			}
			run.File, run.DrivenRow = f.Named(row), rowOf(row)
			all[i] = run
			if r.Progress != nil {
				r.Progress(done.Add(1), int64(len(all)))
			}
			return nil
		})
	}
	if err := work.Wait(); err != nil {
		return nil, err
	}
	if err := onceEach(ctx, f); err != nil {
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

// ErrCopied is that of driven runs that are one recording.
var ErrCopied = errors.New("a recording is listed twice")

// onceEach refuses driven runs that are one recording, whatever files hold it: copies listed
// as placements would bear witness to each other.
func onceEach(ctx context.Context, f session.File) error {
	rows := f.Sitting.Driven
	found, err := f.Copies(ctx, rows)
	if err != nil || len(found) == 0 {
		return err
	}
	first, second := rows[found[0].Of], rows[found[0].At]
	return &fault.Error{File: f.Path, Err: ErrCopied, Hint: "list each recording once, or say under left_out why one of them isn't used",
		What: fmt.Sprintf("the driven runs of lines %d and %d (%s; %s) are one recording", first.Line, second.Line, first.Address, second.Address)}
}

// rowOf is what a session's row says of a run with a known source on.
func rowOf(r model.Run) model.DrivenRow {
	row := model.DrivenRow{Number: r.Number, Line: r.Line, Cable: r.Cable, Drive: r.Drive, Cond: r.Condition, Ohms: r.Termination.Ohms, Repeat: r.Repeat}
	if !r.Start.IsZero() {
		row.Day = r.Start.Format(time.DateOnly)
	}
	return row
}

// sameLead says that a run's lead was loaded as a prediction has it.
func sameLead(run model.Run, one model.Predicted) bool {
	if amps, loaded := one.LeadAmps.Value(); loaded {
		return math.Abs(float64(run.LoadAmps)/amps-1) < 0.05
	}
	return run.Loaded != model.Yes && !(run.LoadAmps > 0)
}

// real puts beside a prediction what the session's first near run of that cable at that
// termination brought, its lead loaded alike, where there is one and it has a pickup.
func (r Request) real(ctx context.Context, f session.File, cable string, one *model.Predicted) error {
	ohms, _, _ := one.SourceOhms.Numbers()
	var quiet, near *model.Run
	for i := range f.Sitting.Runs {
		run := &f.Sitting.Runs[i]
		if run.Cable != cable || float64(run.Termination.Ohms) != ohms || run.LeftOut != "" || run.Address == "" || near != nil {
			continue
		}
		switch run.Condition {
		case model.Quiet:
			quiet = run
		case model.Near:
			if !sameLead(*run, *one) {
				continue
			}
			near = run
		}
	}
	if quiet == nil || near == nil {
		return nil
	}
	var c Compared
	for run, at := range map[*model.Run]*capture.Address{quiet: &c.Quiet, near: &c.Near} {
		var err error
		if *at, err = f.Capture(*run); err != nil {
			return err
		}
	}
	scale, err := r.benchScale(ctx, f)
	if err != nil {
		return err
	}
	r.Reference, r.Progress, r.Nominal = 0, nil, float64(f.Sitting.Bench.MainsHz)
	set := measure.Settings(r.Options, scale)
	r.Settings = &set
	compared, err := Compare(ctx, r, c)
	if err != nil || len(compared.Pairs) == 0 || len(compared.Pairs[0].Lines) == 0 {
		return err
	}
	p := compared.Pairs[0]
	run, err := lineOf(near.Address, set, p, coupling.Run{}, 1)
	if err != nil || !run.Pickup.Known() {
		return nil // nothing to hold a prediction against
	}
	p.Quiet.File, p.Near.File = f.Named(*quiet), f.Named(*near)
	one.Run, one.Measured, one.Quiet, one.Near = near.Number, run.Pickup, &p.Quiet.Side, &p.Near.Side
	one.Agrees = coupling.Held(*one)
	return nil
}

// ArePassports says that all files are passports.
func ArePassports(names []string) bool {
	return !slices.ContainsFunc(names, func(name string) bool {
		r, err := ReadAny(name, "")
		_, ok := r.(*model.Passport)
		return err != nil || !ok
	})
}

// Agree sets two benches' passports beside each other, by the cables and the numbers that
// both have.
func Agree(version string, names [2]string) (r model.Agreement, err error) {
	var of [2]*model.Passport
	for i, name := range names {
		if of[i], err = Read[*model.Passport](name, "coupling", `give the passport.json that humdiff coupling "SESSION" --out "DIR" wrote`); err != nil {
			return r, err
		}
	}
	r = model.Agreement{Head: Request{Version: version}.head(model.AgreementSchema), Rows: []model.AgreeingRow{},
		First: model.PassportFile{File: names[0], Fingerprint: of[0].Fingerprint}, Second: model.PassportFile{File: names[1], Fingerprint: of[1].Fingerprint}}
	for _, a := range of[0].Cables {
		for _, b := range of[1].Cables {
			for _, q := range a.Couplings {
				i := slices.IndexFunc(b.Couplings, func(o model.Quotient) bool {
					return o.Quantity == q.Quantity && o.Hz == q.Hz || o.Quantity == q.Quantity && !q.Hz.Ok()
				})
				if a.Cable == b.Cable && i >= 0 {
					r.Rows = append(r.Rows, agreeing(a.Cable, q, b.Couplings[i]))
				}
			}
		}
	}
	return sealed(r)
}

// agreeing is one row: the normalized error of ISO 13528 (from memory), by logarithms.
func agreeing(cable string, a, b model.Quotient) model.AgreeingRow {
	row := model.AgreeingRow{Cable: cable, Quantity: a.Quantity, Unit: a.Unit, First: a.Value, Second: b.Value, Error: model.None, Agrees: coupling.Agrees(a.Value, b.Value)}
	if a.Value.Measured() && b.Value.Measured() {
		v, lo, _ := a.Value.Numbers()
		w, low, _ := b.Value.Numbers()
		row.Error = model.Of(model.Digits(math.Log(v/w)/math.Hypot(math.Log(v/lo), math.Log(w/low)), 3))
		row.Agrees = map[bool]string{true: model.Yes, false: model.No}[math.Abs(float64(row.Error)) <= 1]
	}
	return row
}
