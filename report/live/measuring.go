package live

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// Settings are what the user may say of the bench; the empty value is compare's
// default.
type Settings struct {
	FullScale, Gain string
	Mains           string // "auto", "50" or "60"
}

// nominal is what the mains may be said to be, in hertz; 0: found by itself.
var nominal = map[string]float64{"": 0, "auto": 0, "50": 50, "60": 60}

// request is the settings as package report has them. A gain without a full scale
// gives no volts: it waits for one.
func (s Settings) request(version string) (r report.Request, err error) {
	hz, ok := nominal[s.Mains]
	if !ok {
		return r, fmt.Errorf("there is no mains %q", s.Mains)
	}
	r.Version, r.Nominal = version, hz
	if s.FullScale != "" {
		r.Scaling = report.Scaling{FullScale: s.FullScale, Gain: s.Gain}
	}
	return r, nil
}

// set takes what the user says of the bench.
func (b *Bench) set(s Settings) error {
	r, err := s.request(b.opt.Version)
	if err == nil {
		_, err = r.Scaled(b.ctx)
	}
	if err != nil {
		return err
	}
	return b.change(func() error { b.settings = s; return nil })
}

// outcome is what stands beside the captures.
type outcome struct {
	wanted      string // the captures and settings it belongs to
	measuring   bool
	done, total int64
	cancelled   bool
	err         error
	compare     *model.Compare
	unplugged   *model.Compare // quiet against the unplugged lead
	measure     *model.Measure // of a lone capture
	told        told
}

// cancel stops the measuring under way.
func (b *Bench) cancel() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.stop != nil {
		b.halt()
		b.outcome.measuring, b.outcome.cancelled = false, true
		b.touch()
	}
}

// halt stops the measuring under way, if any, and hears no more of it: a job takes a
// moment to stop, and what it then says may look like what is asked for anew. The
// lock is held.
func (b *Bench) halt() {
	b.job++
	if b.stop != nil {
		b.stop()
		b.stop = nil
	}
}

// again measures anew, after a cancel.
func (b *Bench) again() error {
	return b.change(func() error { b.outcome.wanted = ""; return nil })
}

// measure starts what the bench now asks for, unless it is there or under way. The
// lock is held.
func (b *Bench) measure() {
	wanted := fmt.Sprintf("%+v %t", b.settings, b.reading())
	for _, r := range roles {
		if c := b.role(r.Value); c != nil && r.Value != "" {
			wanted += fmt.Sprintf("|%d %s %s", c.ID, c.Address, c.Role)
		}
	}
	if wanted == b.outcome.wanted {
		return
	}
	b.halt()
	b.outcome = outcome{wanted: wanted}
	b.touch()
	j, ok := b.asks()
	if !ok {
		return
	}
	ctx, stop := context.WithCancel(b.ctx)
	b.stop, b.outcome.measuring = stop, true
	n := b.job
	j.request.Progress = b.progress(n)
	b.work.Go(func() {
		defer stop()
		b.finish(n, j.run(ctx))
	})
}

// asks is the job that the captures on the bench ask for; false: there is nothing
// to do. The lock is held.
func (b *Bench) asks() (j job, ok bool) {
	request, err := b.settings.request(b.opt.Version)
	quiet, near, both := b.couple()
	if err != nil || quiet == nil && near == nil || b.reading() {
		return j, false
	}
	j.request = request
	if !both {
		j.alone = cmp.Or(near, quiet).address()
		return j, true
	}
	j.pair = report.Compared{Quiet: quiet.Address, Near: near.Address, Residual: b.role(model.Residual).address()}
	j.unplugged = b.role(model.Unplugged).address()
	return j, true
}

// address is a copy of the capture's address, since a job goes on while its captures
// are set otherwise; nil of none. The lock is held.
func (c *Capture) address() *capture.Address {
	if c == nil {
		return nil
	}
	a := c.Address
	return &a
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

// finish takes in what was measured, if it is still asked for.
func (b *Bench) finish(job int, o outcome) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.job != job {
		return
	}
	o.wanted = b.outcome.wanted
	b.outcome, b.stop = o, nil
	b.touch()
}

// job is one measuring: a lone capture, or a pair with what else was recorded.
type job struct {
	request   report.Request
	alone     *capture.Address // nil: a pair
	pair      report.Compared
	unplugged *capture.Address // compared with quiet too
}

func (j job) run(ctx context.Context) (o outcome) {
	if j.alone != nil {
		m, err := report.Measure(ctx, j.request, []capture.Address{*j.alone})
		for i := range m.Captures {
			err = errors.Join(err, named(&m, m.Warnings, &m.Captures[i]))
		}
		if err != nil {
			return outcome{err: err}
		}
		o.measure = &m
		return o.tell(doc.Measure(m, doc.InDBFS), &m)
	}
	if o.compare, o.err = j.compare(ctx, j.pair); o.err == nil && j.unplugged != nil {
		o.unplugged, o.err = j.compare(ctx, report.Compared{Quiet: j.pair.Quiet, Near: *j.unplugged, Residual: j.pair.Residual})
	}
	if o.err != nil {
		return outcome{err: o.err}
	}
	return o.tell(doc.Compare(*o.compare, doc.UnitFor(o.compare.Settings)), o.compare)
}

func (j job) compare(ctx context.Context, c report.Compared) (*model.Compare, error) {
	r, err := report.Compare(ctx, j.request, c)
	for i := range r.Pairs {
		p := &r.Pairs[i]
		err = errors.Join(err, named(&r, r.Warnings, &p.Quiet, &p.Near, p.Residual))
	}
	return &r, err
}

// named names captures without their folders, since those of copies say nothing to
// anybody, and puts the fingerprint on the result as it then is.
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
