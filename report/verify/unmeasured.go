package verify

import (
	"context"
	"fmt"
	"slices"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/model"
	"humdiff/report/session"
)

// unmeasured are the files of a session's runs that could not be measured: as the report
// has them where they are at hand, else as they lie where the session names them. Of each
// run it is tried again: calling it so is how one would be hidden.
func (v *verifier) unmeasured(ctx context.Context, s *model.Session, file session.File) (read []model.Input, err error) {
	for i, r := range file.Sitting.Runs {
		if i >= len(s.Runs) || s.Runs[i].Capture != nil {
			continue
		}
		name := batch.NameOf(file, r)
		in, at, err := v.inputAt(ctx, s, file, name)
		if err != nil {
			return nil, err
		}
		if at == "" && r.LeftOut == "" {
			v.unmade[name] = true
		}
		if in.SHA256 != "" && !slices.Contains(read, in) {
			read = append(read, in)
		}
		if at != "" {
			if err := v.notFailed(ctx, s, i, r, file, at); err != nil {
				return nil, err
			}
		}
	}
	return read, nil
}

// inputAt is a file that could not be measured, and where it lies now; at is empty where
// it isn't found.
func (v *verifier) inputAt(ctx context.Context, s *model.Session, file session.File, name string) (in model.Input, at string, err error) {
	if k := slices.IndexFunc(s.Inputs, func(in model.Input) bool { return in.File == name }); k > 0 {
		at, ok, err := v.find(ctx, name, s.Inputs[k].SHA256)
		if !ok {
			at = "" // another file has its name
		}
		return s.Inputs[k], at, err
	}
	at = file.Locate(name)
	hash, err := capture.Hash(ctx, at)
	if err != nil {
		return model.Input{}, "", ctx.Err()
	}
	return model.Input{File: name, SHA256: hash}, at, nil
}

// notFailed says where a run that is said not to be measurable can be measured, or can't
// for another reason.
func (v *verifier) notFailed(ctx context.Context, s *model.Session, i int, r model.Run, file session.File, at string) error {
	where := fmt.Sprintf("runs[%d]", i)
	err := v.failure(ctx, s, r, file, at)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err == nil:
		v.differs(where+".failed", exactly, "it could not be measured", "it can be")
	case r.LeftOut == "" && v.out.Report.Version == v.out.Tool.Version:
		return v.parts(where+".unused", s.Runs[i].Unused, batch.NotMeasured(batch.NameOf(file, r), at, err))
	}
	return nil
}

// failure is why a run can't be measured, as a batch finds it; nil: it can be.
func (v *verifier) failure(ctx context.Context, s *model.Session, r model.Run, file session.File, at string) error {
	if r.Measured != "" {
		m, err := batch.Elsewhere(at, s.Settings)
		if err == nil {
			_, _, err = batch.Choose(file, r, m)
		}
		return err
	}
	addr, err := batch.Address(file, r)
	if err != nil {
		return err
	}
	req, err := v.request(s.Settings)
	if err != nil {
		return err
	}
	addr.Path = at
	req.Settings, req.Progress, req.Reference = nil, nil, r.Reference
	m, err := report.Measure(ctx, req, []capture.Address{addr})
	if err == nil {
		_, _, err = batch.Choose(file, r, &m)
	}
	return err
}
