package live

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/session"
	"humdiff/report/wire"
)

// outcome is what stands beside the grid.
type outcome struct {
	wanted      string // what of the session it belongs to
	measuring   bool
	done, total int64
	cancelled   bool
	err         error
	measure     *model.Measure // of a lone capture
	compare     *model.Compare // of a lone pair
	unplugged   *model.Compare // quiet against the unplugged lead
	judged      *report.Judged // of more than that
	ids         []int          // of the runs judged, in their order
	of          int            // how many runs could be
	told        told
	marks       map[int][]string // what was noticed of runs, by id
	deltas      map[int]string   // by id
	as          map[int]string   // how each was measured, by id: what was noticed is of that
	copies      map[int]string   // runs that are one recording with another, by id, and that one's file
}

// cancel stops the measuring under way.
func (b *Bench) cancel() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.stop != nil {
		b.halt()
		b.outcome.cancelled = true
		b.touch()
	}
}

// halt stops the measuring under way, if any, and hears no more of it: a job takes a
// moment to stop, and what it then says may look like what is asked for anew. What it
// was to give is still wanted. The lock is held.
func (b *Bench) halt() {
	b.job++
	b.outcome.measuring = false
	if b.stop != nil {
		b.stop()
		b.stop, b.outcome.wanted = nil, ""
	}
}

// again measures anew, after a cancel.
func (b *Bench) again() error {
	return b.change(func() error { b.outcome.wanted, b.outcome.cancelled = "", false; return nil })
}

// usable are the runs that can be judged as they stand: nothing is wrong with what is
// said of them, and a capture is there, or they are left out. The lock is held.
func (b *Bench) usable() (all []run) {
	wrong := b.sitting.problems()
	for i, r := range b.sitting.runs {
		t := b.takes[r.path]
		there := r.Measured != "" || t != nil && t.err == nil
		if (there || r.LeftOut != "") && len(wrong[i]) == 0 {
			all = append(all, r)
		}
	}
	return all
}

// problems are what is wrong with each run, by its place in the list.
func (s *sitting) problems() map[int][]session.Problem {
	all := map[int][]session.Problem{}
	for _, p := range s.session().Check() {
		i, isRun := runAt(p.At)
		if isRun && !p.Gone {
			all[i] = append(all[i], p)
		}
	}
	return all
}

func runAt(at string) (i int, is bool) {
	_, err := fmt.Sscanf(at, "run[%d]", &i)
	return i, err == nil
}

// measured names a run's measurement, as far as the page can tell.
func (b *Bench) measured(r run) string {
	anew := 0
	if t := b.takes[r.path]; t != nil {
		anew = t.anew
	}
	return fmt.Sprint(r.Address, " ", r.Reference, r.Measured, " ", anew)
}

// measure starts what the session now asks for, unless it is there or under way. What
// is under way and no edit has stopped goes on first: what is measured is kept. The
// lock is held.
func (b *Bench) measure() {
	if b.stop != nil || b.coming || b.outcome.cancelled {
		return
	}
	runs := b.usable()
	j := b.asks(runs)
	f := b.sitting.session()
	f.Sitting.Runs = nil
	text, _ := f.Encode()
	wanted := string(text) + j.key
	for _, r := range j.runs {
		wanted += fmt.Sprintf("%+v\n", r) + b.measured(r)
	}
	if wanted == b.outcome.wanted {
		return
	}
	if len(j.runs) == 0 {
		b.outcome = outcome{wanted: wanted}
		b.touch()
		return
	}
	ctx, stop := context.WithCancel(b.ctx)
	b.stop, b.outcome.measuring, b.outcome.wanted, b.outcome.done, b.outcome.total = stop, true, wanted, 0, 0
	b.job++
	n := b.job
	j.progress = b.progress(n)
	b.touch()
	b.work.Go(func() {
		defer stop()
		b.finish(n, j, j.run(ctx))
	})
}

// most is how many runs not measured yet a first round takes; each later one takes as
// many as are measured, so that the answer grows, and isn't judged all the time.
const most = 6

// asks is the job that these runs ask for: one or two captures as measure and compare
// take them, else the session, as many of its runs as a round takes. The lock is held.
func (b *Bench) asks(runs []run) (j job) {
	of := map[string][]run{}
	var used []run
	for _, r := range runs {
		if r.LeftOut == "" {
			of[r.Condition], used = append(of[r.Condition], r), append(used, r)
		}
	}
	j = job{version: b.opt.Version, cache: b.opt.Cache, file: b.sitting.session(), of: len(runs)}
	alone := len(of[model.Quiet]) <= 1 && len(of[model.Near]) <= 1 && len(of[model.Unplugged]) <= 1 && len(of[model.Residual]) <= 1 &&
		!slices.ContainsFunc(used, func(r run) bool { return r.Measured != "" || r.Reference > 0 })
	if alone && len(b.planned()) == 0 {
		j.runs, j.key = used, "alone"
		if only := b.only(); len(used) == 0 && only != nil {
			j.runs = []run{*only}
		}
		return j
	}
	known := 0
	for _, r := range runs {
		if b.known[b.measured(r)] {
			known++
		}
	}
	fresh := max(most, known)
	for _, r := range runs {
		if is := b.known[b.measured(r)]; is || fresh > 0 {
			j.runs = append(j.runs, r)
			if !is {
				fresh--
			}
		}
	}
	return j
}

// only is the run of the only capture that is there, whatever is wrong with what is
// said of it. The lock is held.
func (b *Bench) only() (one *run) {
	for i, r := range b.sitting.runs {
		if t := b.takes[r.path]; t != nil && t.err == nil && r.LeftOut == "" {
			if one != nil {
				return nil
			}
			one = &b.sitting.runs[i]
		}
	}
	return one
}

// planned are the runs that are still to be recorded. The lock is held.
func (b *Bench) planned() (all []run) {
	for _, r := range b.sitting.runs {
		if b.expected(r) {
			all = append(all, r)
		}
	}
	return all
}

// progress notes how far a measuring is, while it is the latest.
func (b *Bench) progress(job int) func(done, total int64) {
	return func(done, total int64) {
		b.mu.Lock()
		defer b.mu.Unlock()
		// Every percent is told, not every block.
		if b.job == job && (total != b.outcome.total || (done-b.outcome.done)*100 >= total) {
			b.outcome.done, b.outcome.total = done, total
			b.touch()
		}
	}
}

// finish takes in what was measured, if it is still asked for, and goes on with what
// has come meanwhile.
func (b *Bench) finish(n int, j job, o outcome) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.job != n {
		return
	}
	o.wanted, o.of, o.as = b.outcome.wanted, j.of, map[int]string{}
	for _, r := range j.runs {
		o.as[r.id] = b.measured(r)
		b.known[o.as[r.id]] = true
	}
	b.outcome, b.stop = o, nil
	if len(o.copies) == 0 {
		b.touch()
		b.measure()
		return
	}
	for id, of := range o.copies {
		if r, err := b.sitting.find(id); err == nil && r.LeftOut == "" {
			r.LeftOut = "one recording with " + of
		}
	}
	b.outcome = outcome{}
	b.settle()
}

// job is one measuring.
type job struct {
	version, cache string
	key            string
	file           session.File
	runs           []run
	of             int
	progress       func(done, total int64)
}

func (j job) run(ctx context.Context) (o outcome) {
	if j.key != "" {
		return j.few(ctx)
	}
	f := j.file
	f.Sitting.Runs = nil
	for i, r := range j.runs {
		r.Number = i + 1
		f.Sitting.Runs = append(f.Sitting.Runs, r.Run)
		o.ids = append(o.ids, r.id)
	}
	if saved, err := session.Load(f.Path); err == nil && len(saved.Sitting.Runs) == len(f.Sitting.Runs) {
		f = saved // to the line what batch reads
	} else {
		f = withoutBadClaims(f)
	}
	o.judged, o.err = report.Session(ctx, report.Request{Version: j.version}, report.Sitting{File: f, Cache: j.cache,
		Progress: func(done, total int64, _ string) { j.progress(done, total) }})
	if o.err != nil {
		o = outcome{err: o.err, ids: o.ids, copies: map[int]string{}}
		for _, c := range batch.Copies(o.err) {
			o.copies[j.runs[c.Second-1].id] = j.file.Named(j.runs[c.First-1].Run)
		}
		return o
	}
	o.notice()
	return o.tell(doc.Session(o.judged.Session, nil), &o.judged.Session)
}

// withoutBadClaims is a session without the claims that can't be tested as they stand.
func withoutBadClaims(f session.File) session.File {
	bad := map[int]bool{}
	for _, p := range f.Check() {
		var i int
		if _, err := fmt.Sscanf(p.At, "claim[%d]", &i); err == nil {
			bad[i] = true
		}
	}
	claims := f.Sitting.Claims
	f.Sitting.Claims = []model.Claim{}
	for i, c := range claims {
		if !bad[i] {
			f.Sitting.Claims = append(f.Sitting.Claims, c)
		}
	}
	return f
}

// few measures a lone capture, or a pair with what else was recorded.
func (j job) few(ctx context.Context) (o outcome) {
	r := report.Request{Version: j.version}
	bench := j.file.Sitting.Bench
	if bench.FullScale != "" { // a gain without gives no volts: it waits for one
		r.Scaling = report.Scaling{FullScale: bench.FullScale, Gain: bench.Gain}
	}
	for _, tone := range bench.Calibration {
		r.Scaling.Calibration = append(r.Scaling.Calibration, j.file.Locate(tone))
	}
	r.Progress = j.progress
	if bench.MainsHz.Ok() {
		r.Nominal = float64(bench.MainsHz)
	}
	at := map[string]*capture.Address{}
	for _, x := range j.runs {
		if a, err := j.file.Capture(x.Run); err == nil {
			at[x.Condition] = &a
		}
	}
	quiet, near := at[model.Quiet], at[model.Near]
	if quiet == nil || near == nil {
		return alone(ctx, r, cmp.Or(near, quiet, at[model.Unplugged], at[model.Residual], at[""]))
	}
	if o.compare, o.err = compare(ctx, r, report.Compared{Quiet: *quiet, Near: *near, Residual: at[model.Residual]}); o.err == nil && at[model.Unplugged] != nil {
		o.unplugged, o.err = compare(ctx, r, report.Compared{Quiet: *quiet, Near: *at[model.Unplugged], Residual: at[model.Residual]})
	}
	if o.err != nil {
		return outcome{err: o.err}
	}
	o.marks, o.copies = map[int][]string{}, map[int]string{}
	same := slices.ContainsFunc(o.compare.Warnings, func(w model.Warning) bool { return w.Code == model.SameRecording })
	for _, x := range j.runs {
		o.marks[x.id] = graveOf(o.compare.Warnings, doc.Base(at[x.Condition].Path))
		if same && x.Condition == model.Near {
			o.copies[x.id] = doc.Base(quiet.Path)
		}
	}
	return o.tell(doc.Compare(*o.compare, doc.UnitFor(o.compare.Settings)), o.compare)
}

func alone(ctx context.Context, r report.Request, at *capture.Address) (o outcome) {
	m, err := report.Measure(ctx, r, []capture.Address{*at})
	for i := range m.Captures {
		err = errors.Join(err, named(&m, m.Warnings, &m.Captures[i]))
	}
	if err != nil {
		return outcome{err: err}
	}
	o.measure = &m
	return o.tell(doc.Measure(m, doc.InDBFS), &m)
}

func compare(ctx context.Context, r report.Request, c report.Compared) (*model.Compare, error) {
	m, err := report.Compare(ctx, r, c)
	for i := range m.Pairs {
		p := &m.Pairs[i]
		err = errors.Join(err, named(&m, m.Warnings, &p.Quiet, &p.Near, p.Residual))
	}
	return &m, err
}

// named names captures without their folders, as the grid does, and puts the
// fingerprint on the result as it then is.
func named(r wire.Result, warnings []model.Warning, captures ...*model.Capture) error {
	for _, c := range captures {
		if c != nil {
			c.File = doc.Base(c.File)
		}
	}
	for i := range warnings {
		warnings[i].File = doc.Base(warnings[i].File)
	}
	return wire.Seal(r)
}

// graveOf are the sentences of warnings that put a file's levels in doubt.
func graveOf(warnings []model.Warning, file string) (said []string) {
	for _, w := range warnings {
		if w.File == file && doc.IsGrave(w.Code) {
			if s := doc.Says(w.Note); !slices.Contains(said, s) {
				said = append(said, s)
			}
		}
	}
	return said
}

// notice takes from a judged session what concerns each run.
func (o *outcome) notice() {
	o.marks, o.deltas = map[int][]string{}, map[int]string{}
	mark := func(number int, said string) {
		id := o.ids[number-1]
		o.marks[id] = append(o.marks[id], said)
	}
	for _, f := range o.judged.Failures {
		mark(f.Run, "It could not be measured: "+sentence(f.Err))
	}
	for _, r := range o.judged.Runs {
		if r.Capture != nil {
			for _, s := range graveOf(o.judged.Warnings, r.Capture.File) {
				mark(r.Number, s)
			}
		}
	}
	for _, why := range o.judged.MayPublish.Why {
		if runs, is := why.Get("runs").([]float64); is && strings.HasPrefix(why.Code, "mains") {
			for _, n := range runs {
				mark(int(n), doc.Says(why))
			}
		}
	}
	for _, f := range o.judged.Findings {
		if slices.Contains([]string{model.GainChanged, model.BelowQuiet, model.IdleRises}, f.Code) {
			mark(f.Runs[len(f.Runs)-1], doc.Finding(f))
		}
	}
	for _, c := range o.judged.Cells {
		for _, r := range c.Repeats {
			if c.Quantity == (model.Quantity{}) {
				o.deltas[o.ids[r.Run-1]] = doc.Delta(r.Delta)
			}
		}
	}
}
