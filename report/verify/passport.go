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

// passportStated makes a passport again from its session file, and compares what that
// states, and what real leads brought. What follows from the runs is judged again from
// those reported.
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
	if errors.As(err, &wrong) && wrong.OnlyGone() { // its captures lie elsewhere now
		v.unmade["session file"] = true
		return nil
	}
	if err != nil {
		v.differs("inputs", exactly, "a session", "its file can't be read: "+err.Error())
		return nil
	}
	again, err := report.Passport(ctx, req, file)
	if err != nil {
		return err
	}
	for i := range again.Runs {
		if i < len(p.Runs) && again.Runs[i].SHA256 == p.Runs[i].SHA256 {
			again.Runs[i].File = p.Runs[i].File
		}
	}
	for c := range again.Cables {
		for i := range again.Cables[c].Predicted {
			if c >= len(p.Cables) || i >= len(p.Cables[c].Predicted) {
				continue // judging again says so
			}
			if err := v.parts(fmt.Sprintf("cables[%d].predicted[%d]", c, i), measuredOf(p.Cables[c].Predicted[i]), measuredOf(again.Cables[c].Predicted[i])); err != nil {
				return err
			}
		}
	}
	again.Cables, again.Warnings = p.Cables, p.Warnings
	again.Claims = coupling.Decide(again.Claims, p.Cables)
	return v.measured(p, &again)
}

// measuredOf is what a real lead brought, without what was predicted.
func measuredOf(p model.Predicted) any {
	return struct {
		Run      int            `json:"near_run"`
		Measured model.Estimate `json:"measured_volts"`
	}{p.Run, p.Measured}
}
