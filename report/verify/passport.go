package verify

import (
	"context"
	"errors"
	"slices"

	"humdiff/fft"
	"humdiff/report"
	"humdiff/report/model"
)

// passportAgain makes a passport again from its session; where that or some of its captures
// aren't at hand, the runs that are.
func (v *verifier) passportAgain(ctx context.Context, p *model.Passport) error {
	file, err := v.stated(ctx, p.Inputs)
	if err != nil {
		return err
	}
	req := report.Request{Version: v.out.Report.Version}
	req.Engine, req.Progress = fft.NewReferenceEngine, v.progress
	moved := map[string]string{}
	said, again := model.Passport{}, model.Passport{} // of the runs that are there
	for _, run := range p.Runs {
		at, ok, err := v.address(ctx, run.Side)
		if err != nil {
			return err
		}
		if moved[run.File] = at.Path; !ok {
			v.out.LeftOut++
			continue
		}
		one, err := report.DrivenAgain(ctx, req, at, run)
		if err != nil {
			return err
		}
		said.Runs, again.Runs = append(said.Runs, run), append(again.Runs, one)
	}
	if err := v.leadsFound(ctx, p, moved); err != nil {
		return err
	}
	if file != nil && v.out.LeftOut == 0 {
		file.Moved = moved
		if made, err := report.Passport(ctx, req, *file); err == nil {
			made.File, made.Inputs[0].File = p.Inputs[0].File, p.Inputs[0].File
			said, again = measuredIn(*p), measuredIn(made)
		} else if ctx.Err() != nil {
			return ctx.Err()
		} else if errors.Is(err, report.ErrCopied) {
			v.differs("runs", exactly, "each recorded by itself", err.Error())
		} else {
			v.unmade["what the session lists"] = true // a near run without a pickup, say, whose captures no passport names
		}
	}
	return v.measured(&said, &again)
}

// leadsFound says where the captures of real leads and calibrations lie now.
func (v *verifier) leadsFound(ctx context.Context, p *model.Passport, moved map[string]string) error {
	for _, c := range p.Cables {
		for _, one := range c.Predicted {
			for _, s := range []*model.Side{one.Quiet, one.Near} {
				if s == nil {
					continue
				}
				ok, err := v.at(ctx, moved, s.File, s.SHA256)
				if err != nil {
					return err
				}
				if !ok {
					v.out.LeftOut++
				}
			}
		}
	}
	return nil
}

// measuredIn is what of a passport was stated and measured; what follows from that is judged
// again by itself.
func measuredIn(p model.Passport) model.Passport {
	m := p
	m.Warnings, m.CableNumbers, m.Claims = nil, numbersIn(p.CableNumbers), slices.Clone(p.Claims)
	for i := range m.Claims {
		m.Claims[i].ClaimFound = model.ClaimFound{P: model.None}
	}
	return m
}

// numbersIn is what of cables' numbers was measured.
func numbersIn(n model.CableNumbers) model.CableNumbers {
	n.Cables = slices.Clone(n.Cables)
	for i := range n.Cables {
		c := &n.Cables[i]
		*c = model.CablePassport{Cable: c.Cable, Predicted: slices.Clone(c.Predicted)}
		for k, one := range c.Predicted {
			c.Predicted[k] = model.Predicted{Run: one.Run, Measured: one.Measured, Quiet: one.Quiet, Near: one.Near}
		}
	}
	return n
}
