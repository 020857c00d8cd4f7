package verify

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
	"humdiff/report/wire"
)

// sitting is a session that is made again: its file, or where that isn't at hand what the
// report says of it, with all that it names where it lies now.
type sitting struct {
	*verifier
	said     *model.Session
	file     session.File
	read     bool         // from the file
	gone     map[int]bool // runs that were measured, and whose captures weren't found
	undriven bool         // so is one with a known source
}

// sessionAgain makes a session again as it was made first, as far as its file and its
// captures are there, and compares what was stated and measured.
func (v *verifier) sessionAgain(ctx context.Context, s *model.Session) error {
	a := sitting{verifier: v, said: s, gone: map[int]bool{}}
	file, err := v.stated(ctx, s.Inputs)
	if err != nil {
		return err
	}
	if a.read = file != nil; !a.read {
		file = &session.File{Path: v.path, Sitting: statedOf(*s), Moved: map[string]string{}}
	}
	a.file = *file
	space, err := publish.NewSpace("")
	if err != nil {
		return err
	}
	defer space.Close()
	if err := a.locate(ctx, space); err != nil {
		return err
	}
	made, err := a.made(ctx)
	if err != nil || made == nil {
		return err
	}
	if err := a.opened(ctx, made); err != nil {
		return err
	}
	said, again := measuredOf(*s), measuredOf(a.known(*made))
	return v.measured(a.without(&said), a.without(&again))
}

// made is the session, measured again; nil: it can't be.
func (a *sitting) made(ctx context.Context) (*model.Session, error) {
	req, err := a.request(a.said.Settings)
	if err != nil {
		return nil, err
	}
	toned, err := a.tones(ctx, a.said.Settings, a.file.Moved)
	if err != nil {
		return nil, err
	}
	stated := a.file.Sitting.Bench
	if bench := &a.file.Sitting.Bench; !toned {
		bench.FullScale, bench.Gain, bench.Calibration = "", "", nil
	}
	req.Settings, req.Progress = nil, nil
	if stated.MainsHz.Ok() {
		req.Nominal = 0 // the bench says it
	}
	judged, err := report.Session(ctx, req, report.Sitting{File: a.file, Anew: true, Progress: a.told()})
	if err != nil {
		a.differs("runs", exactly, "measured and judged", err.Error())
		return nil, ctx.Err()
	}
	made := &judged.Session
	made.Bench.FullScale, made.Bench.Gain, made.Bench.Calibration = stated.FullScale, stated.Gain, stated.Calibration
	if !toned {
		a.out.LeftOut += len(a.said.Settings.Scales)
		made.Settings = a.said.Settings
	}
	return made, nil
}

// told is progress as a batch tells it.
func (v *verifier) told() func(done, total int64, what string) {
	return func(done, total int64, _ string) {
		if v.progress != nil {
			v.progress(done, total)
		}
	}
}

// stated is the session file that a result was made from; nil: it isn't at hand, or was
// edited so that it is none.
func (v *verifier) stated(ctx context.Context, inputs []model.Input) (*session.File, error) {
	at := ""
	for i, in := range inputs {
		path, ok, err := v.find(ctx, in.File, in.SHA256)
		if err != nil {
			return nil, err
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
		return nil, nil
	}
	file, err := session.Load(at)
	var wrong session.Problems
	if err != nil && !(errors.As(err, &wrong) && wrong.OnlyGone()) { // captures lie elsewhere now, those of runs that failed perhaps nowhere
		v.differs("inputs", exactly, "a session", "its file can't be read: "+err.Error())
		return nil, nil
	}
	file = file.Short()
	return &file, nil
}

// at says where a file lies now that a session names, and whether it was found.
func (v *verifier) at(ctx context.Context, moved map[string]string, file, hash string) (ok bool, err error) {
	moved[file], ok, err = v.find(ctx, file, hash)
	return ok, err
}

// tones says where the calibrations of scales lie now, and whether all were found.
func (v *verifier) tones(ctx context.Context, set model.Settings, moved map[string]string) (all bool, err error) {
	all = true
	for _, s := range set.Scales {
		for _, c := range s.Calibrations {
			ok, err := v.at(ctx, moved, c.File, c.SHA256)
			if err != nil {
				return false, err
			}
			all = all && ok
		}
	}
	return all, nil
}

// locate says where the files of runs and the bench's photos lie now.
func (a *sitting) locate(ctx context.Context, space *publish.Space) error {
	for i, r := range a.file.Sitting.Runs[:min(len(a.file.Sitting.Runs), len(a.said.Runs))] {
		said := a.said.Runs[i]
		name := batch.NameOf(a.file, r)
		for _, c := range []*model.Capture{said.Capture, said.IdleCapture} {
			if c == nil {
				continue
			}
			addr, ok, err := a.address(ctx, c.Side)
			switch a.file.Moved[name] = addr.Path; {
			case err == nil && !ok:
				a.gone[i], a.file.Moved[name] = true, space.Path("gone")
				a.out.LeftOut++
			case err == nil && r.Measured != "":
				a.file.Moved[name], err = a.elsewhere(ctx, space, r, c, addr)
			}
			if err != nil {
				return err
			}
		}
		if said.Capture == nil {
			if err := a.failed(ctx, name, r); err != nil {
				return err
			}
		}
	}
	if err := a.driven(ctx); err != nil {
		return err
	}
	for _, p := range a.said.Bench.Photos {
		if p.SHA256 == "" {
			continue // it could not be read
		}
		ok, err := a.at(ctx, a.file.Moved, p.File, p.SHA256)
		if err != nil {
			return err
		}
		if !ok {
			a.unmade[p.File] = true
		}
	}
	return nil
}

// driven says where the captures of a known source lie now. Where the session file isn't at
// hand its rows are those of the report; where one of them is gone none is measured.
func (a *sitting) driven(ctx context.Context) error {
	s, p := &a.file.Sitting, a.said.Passport
	if p == nil {
		return nil
	}
	if !a.read {
		s.Drive = p.Drive
	}
	for _, run := range p.Runs {
		addr, ok, err := a.address(ctx, run.Side)
		if err != nil {
			return err
		}
		if a.file.Moved[run.File] = addr.Path; !ok {
			a.out.LeftOut++
			a.undriven = true
		}
		if !a.read {
			addr.Path = run.File
			row := model.Run{Number: run.Number, Line: run.Line, Cable: run.Cable, Drive: run.Drive, Condition: run.Cond, Termination: model.Termination{Ohms: run.Ohms},
				Repeat: run.Repeat, Reference: run.DriveChannel, Address: addr.String()}
			if run.Day != "" {
				row.Start, _ = time.Parse(time.DateOnly, run.Day)
			}
			s.Driven = append(s.Driven, row)
		}
	}
	if a.undriven {
		s.Driven = nil
	}
	return nil
}

// elsewhere measures a capture again of which a session took a measurement made
// elsewhere, for that to be taken in its place.
func (a *sitting) elsewhere(ctx context.Context, space *publish.Space, r model.Run, said *model.Capture, at capture.Address) (path string, err error) {
	m, err := a.one(ctx, r, said, at, fft.NewReferenceEngine)
	if err != nil {
		return "", err
	}
	for i := range m.Captures {
		m.Captures[i].File = said.File
	}
	text, err := wire.Write(&m)
	path = space.Path(fmt.Sprintf("run-%d.json", r.Number))
	return path, errors.Join(err, os.WriteFile(path, text, 0o600))
}

// one measures one run's capture by itself.
func (a *sitting) one(ctx context.Context, r model.Run, said *model.Capture, at capture.Address, engine func(n int) fft.Engine) (m model.Measure, err error) {
	req, err := a.request(a.said.Settings)
	if err != nil {
		return m, err
	}
	req.Settings, req.Progress, req.Reference, req.Engine = nil, nil, r.Reference, engine
	if hz := said.AroundHz; hz.Ok() {
		req.Around = float64(hz)
	}
	return report.Measure(ctx, req, []capture.Address{at})
}

// failed says where the file of a run lies that wasn't measured. It is tried again, as
// calling it so is how one would be hidden: of one that isn't there nobody can tell.
func (a *sitting) failed(ctx context.Context, name string, r model.Run) (err error) {
	there := false
	if k := slices.IndexFunc(a.said.Inputs, func(in model.Input) bool { return in.File == name }); k > 0 {
		there, err = a.at(ctx, a.file.Moved, name, a.said.Inputs[k].SHA256)
	} else if _, err := os.Stat(a.file.Locate(name)); err == nil {
		there = true
	}
	if !there && r.LeftOut == "" {
		a.unmade[name] = true
	}
	return err
}

// known is a session with what is reported of files that aren't at hand.
func (a *sitting) known(made model.Session) model.Session {
	s := a.said
	made.File, made.Inputs[0].File = s.Inputs[0].File, s.Inputs[0].File
	if !a.read {
		made.Inputs = s.Inputs
	}
	for k, in := range s.Inputs {
		if a.unmade[in.File] && !slices.Contains(made.Inputs, in) {
			made.Inputs = slices.Insert(made.Inputs, min(k, len(made.Inputs)), in)
		}
	}
	if a.undriven {
		made.Passport = s.Passport
		made.Warnings = append(made.Warnings, judge.DriveWarnings(s.Passport.Runs)...)
	}
	for i, p := range s.Bench.Photos[:min(len(s.Bench.Photos), len(made.Bench.Photos))] {
		if a.unmade[p.File] {
			made.Bench.Photos[i].SHA256 = p.SHA256
		}
	}
	for i, said := range s.Runs[:min(len(s.Runs), len(made.Runs))] {
		r := &made.Runs[i]
		if a.gone[i] {
			r.Capture, r.IdleCapture, r.Failed, r.Start = said.Capture, said.IdleCapture, said.Failed, said.Start
		}
		if a.gone[i] || a.unmade[batch.NameOf(a.file, a.file.Sitting.Runs[i])] || a.out.Report.Version != a.out.Tool.Version {
			r.Unused = said.Unused
		}
	}
	return made
}

// without is a session without the warnings of files that aren't at hand.
func (a *sitting) without(s *model.Session) *model.Session {
	here := map[string]bool{}
	for i, r := range a.file.Sitting.Runs {
		here[batch.NameOf(a.file, r)] = !a.gone[i]
	}
	s.Warnings = slices.DeleteFunc(slices.Clone(s.Warnings), func(w model.Warning) bool {
		there, run := here[w.File]
		return run && !there || !run && !a.read || len(a.gone) > 0 && w.Code == model.PerhapsCopy
	})
	return s
}

// whole is a run's whole measurement, as the report's pages show it: to the digit, so by
// the transforms that measured first.
func (v *verifier) whole(ctx context.Context, s *model.Session) func(run int) (model.Capture, error) {
	a := sitting{verifier: v, said: s}
	return func(number int) (none model.Capture, err error) {
		r := s.Runs[number-1]
		addr, ok, err := v.address(ctx, r.Capture.Side)
		if err != nil || !ok {
			return none, cmp.Or(err, errNotHeld)
		}
		m, err := a.one(ctx, r, r.Capture, addr, nil)
		for _, c := range m.Captures {
			if c.Channel == r.Capture.Channel {
				c.File = r.Capture.File
				return c, nil
			}
		}
		return none, cmp.Or(err, errNotHeld)
	}
}

// opened puts names for letters as a key says: whoever swaps two names turns a result
// round. Without the key the warning's own words are taken, and counted as not compared.
func (a *sitting) opened(ctx context.Context, made *model.Session) error {
	for _, w := range a.said.Warnings {
		switch {
		case w.Code == batch.Blinded && slices.ContainsFunc(session.Cables(made.Runs), func(c string) bool { return len(c) > 1 }):
			a.differs("blind", exactly, "cables are letters", "they have names")
		case w.Code == batch.Blinded: // whose key nobody is to see
			made.Blind, made.Warnings = true, append(made.Warnings, w)
		case w.Code == batch.Unveiled && !a.read: // the names are the report's own
			made.Warnings = append(made.Warnings, w)
		case w.Code == batch.Unveiled:
			key, in, err := a.key(ctx, w)
			if err != nil {
				return err
			}
			var again model.Warning
			*made, again = key.Open(*made)
			made.Warnings = append(made.Warnings, again)
			if in.File != "" {
				made.Inputs = slices.Insert(made.Inputs, min(slices.Index(a.said.Inputs, in), len(made.Inputs)), in)
			}
		}
	}
	return nil
}

// key is the one that a warning says a session was opened by, with its file.
func (a *sitting) key(ctx context.Context, w model.Warning) (key batch.Key, in model.Input, err error) {
	hash, _ := w.Get("sha256").(string)
	letters, _ := w.Get("letters").([]string)
	cables, _ := w.Get("cables").([]string)
	for _, in = range a.said.Inputs[1:] {
		if in.SHA256 != hash {
			continue
		}
		if at, ok, err := a.find(ctx, in.File, hash); err != nil || ok {
			key, unread := batch.LoadKey(at, session.Cables(a.file.Sitting.Runs))
			if unread != nil {
				err = cmp.Or(err, a.damaged(unread))
			}
			return key, in, err
		}
		break
	}
	a.unmade["key"] = true
	key = batch.Key{Cables: map[string]string{}, Hash: hash}
	for i, letter := range letters[:min(len(letters), len(cables))] {
		key.Cables[letter] = cables[i]
	}
	if in.SHA256 != hash {
		in = model.Input{}
	}
	return key, in, nil
}

// statedOf is what of a session was stated.
func statedOf(s model.Session) model.Sitting {
	m := measuredOf(s)
	for i := range m.Runs {
		r := &m.Runs[i]
		r.Failed, r.Unused, r.Capture, r.IdleCapture = false, model.Note{}, nil, nil
	}
	return m.Sitting
}

// measuredOf is what of a session was stated and measured, and nothing that was judged:
// that is judged again by itself.
func measuredOf(s model.Session) model.Session {
	m := model.Session{Head: model.Head{Schema: s.Schema}, Settings: s.Settings, File: s.File, Inputs: s.Inputs, Sitting: s.Sitting, Warnings: s.Warnings}
	m.Runs, m.Claims = slices.Clone(s.Runs), slices.Clone(s.Claims)
	for i := range m.Runs {
		r := &m.Runs[i]
		if r.Used, r.Against = false, nil; r.Capture != nil {
			r.Unused = model.Note{}
		}
	}
	for i := range m.Claims {
		m.Claims[i].ClaimFound = model.ClaimFound{P: model.None}
	}
	if s.Passport != nil {
		numbers := numbersIn(*s.Passport)
		m.Passport = &numbers
	}
	return m
}
