package verify

import (
	"context"
	"errors"
	"fmt"

	"humdiff/fft"
	"humdiff/report"
	"humdiff/report/coupling"
	"humdiff/report/model"
	"humdiff/report/session"
)

// passportAgain measures a passport's runs again, and where the session that it was made
// from is there, makes all of it again from that.
func (v *verifier) passportAgain(ctx context.Context, p *model.Passport) error {
	req := report.Request{Version: v.out.Report.Version}
	req.Engine, req.Progress = fft.NewReferenceEngine, v.progress
	all := true
	for i, run := range p.Runs {
		at, ok, err := v.address(ctx, run.Side)
		if err != nil {
			return err
		}
		if !ok {
			all = false
			v.out.LeftOut++
			continue
		}
		again, err := report.DrivenAgain(ctx, req, at, run)
		if err != nil {
			return err
		}
		if err := v.parts(fmt.Sprintf("runs[%d]", i), run, again); err != nil {
			return err
		}
	}
	if !all || len(p.Inputs) == 0 {
		return nil
	}
	return v.passportStated(ctx, req, p)
}

// passportStated compares what a passport's session file states with what the passport says
// it does, and what real leads brought. What follows from the runs is judged again from those
// reported.
func (v *verifier) passportStated(ctx context.Context, req report.Request, p *model.Passport) error {
	at := ""
	for i, in := range p.Inputs {
		path, ok, err := v.find(ctx, in.File, in.SHA256)
		if err != nil {
			return err
		}
		if i == 0 && ok {
			at = path
		}
		if !ok {
			v.unmade[in.File] = true
		}
	}
	if at == "" {
		v.unmade["session file"] = true
		return nil
	}
	file, err := session.Load(at)
	var wrong session.Problems
	if err != nil && !(errors.As(err, &wrong) && wrong.OnlyGone()) { // captures lie elsewhere now
		v.differs("inputs", exactly, "a session", "its file can't be read: "+err.Error())
		return nil
	}
	again, err := report.Restated(ctx, req, *p, file)
	if err != nil {
		return err
	}
	if err := v.measured(p, v.decided(p, &again)); err != nil {
		return err
	}
	for c := range p.Cables {
		for i, one := range p.Cables[c].Predicted {
			if err := v.realAgain(ctx, req, file, p.Cables[c].Cable, fmt.Sprintf("cables[%d].predicted[%d]", c, i), one); err != nil {
				return err
			}
		}
	}
	return nil
}

// decided puts what follows from the runs as reported in its place: it is judged again by
// itself.
func (v *verifier) decided(p, again *model.Passport) *model.Passport {
	again.Claims = coupling.Decide(again.Claims, p.Cables)
	return again
}

// realAgain measures what a real lead brought once more. One that the session lists has to
// be there.
func (v *verifier) realAgain(ctx context.Context, req report.Request, file session.File, cable, where string, one model.Predicted) error {
	if one.Quiet == nil || one.Near == nil {
		again := one
		if err := req.Held(ctx, file, cable, &again); err != nil {
			v.unmade["a near run"] = true // its captures aren't where the session says
		} else if again.Near != nil {
			v.differs(where+".near", exactly, "not there", "there")
		}
		return nil
	}
	quiet, found, err := v.address(ctx, *one.Quiet)
	if err != nil {
		return err
	}
	near, also, err := v.address(ctx, *one.Near)
	if err != nil {
		return err
	}
	if !found || !also {
		v.out.LeftOut++
		return nil
	}
	i := one.Run - 1
	if i < 0 || i >= len(file.Sitting.Runs) || file.Named(file.Sitting.Runs[i]) != one.Near.File || file.Sitting.Runs[i].Condition != model.Near {
		v.differs(where+".near_run", exactly, fmt.Sprint(one.Run), "a near run of that file")
		return nil
	}
	pickup, err := report.RealAgain(ctx, req, file, quiet, near)
	if err != nil {
		return err
	}
	return v.parts(where, struct {
		Measured model.Estimate `json:"measured_volts"`
	}{one.Measured}, struct {
		Measured model.Estimate `json:"measured_volts"`
	}{pickup})
}
