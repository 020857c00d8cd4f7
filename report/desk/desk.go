// Package desk is the page at the bench: captures are dropped on it or come from
// a watched folder, and what compare would say of them stands beside. It is a
// view, as the report's page is: it reads, measures, words and draws with the
// same packages and calculates nothing of its own. A Desk is one sitting; its
// Handler shows it to one browser on the same machine.
package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/volts"
)

// Capture is one file on the desk.
type Capture struct {
	ID       int
	Name     string // as the user knows it
	Address  capture.Address
	Role     session.Condition // empty: kept, not used
	Info     capture.Info
	Overview Overview
	Err      error // why it can't be used; nil: it can
	Reading  bool  // its overview is being made
}

// Options say what a desk may do.
type Options struct {
	Version string
	Folder  string // watched, and reports go there; empty: none
	Home    string // where reports go without a folder
}

// Settings are what the user may say of the bench; the empty value is compare's
// default.
type Settings struct {
	FullScale, Gain string
	Mains           string // "auto", "50" or "60"
}

// Desk is one sitting. Its methods may be called by several goroutines.
type Desk struct {
	opt     Options
	space   *publish.Space // removed by Close; uploads lie there
	uploads string
	ctx     context.Context
	end     context.CancelFunc
	work    sync.WaitGroup

	mu       sync.Mutex
	version  int           // grows with every change
	changed  chan struct{} // closed by the next change
	next     int
	captures []*Capture
	settings Settings
	outcome  outcome
	stop     context.CancelFunc // of the measuring under way; nil: none
	job      int                // counts measurings: only the latest may tell anything
	saved    string             // what was last saved, for the page
	pairs    []keptPair
	away     string // why the watched folder can't be read
}

// outcome is what the desk shows beside the captures.
type outcome struct {
	wanted    string // the captures and settings it belongs to
	measuring bool
	done      int64
	total     int64
	cancelled bool
	err       error
	compare   *result.Compare
	dead      *result.Compare // quiet against dead
	measure   *result.Measure // of a lone capture
}

// keptPair is a pair put aside for a session.
type keptPair struct{ quiet, near Capture }

// New opens a desk. Close ends it.
func New(ctx context.Context, o Options) (*Desk, error) {
	space, err := publish.NewSpace("")
	if err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	d := &Desk{opt: o, space: space, uploads: space.Dir, changed: make(chan struct{}), settings: Settings{Mains: "auto"}}
	d.ctx, d.end = context.WithCancel(ctx)
	if o.Folder != "" {
		d.work.Go(d.watch)
	}
	return d, nil
}

// Close stops all work and removes what was uploaded.
func (d *Desk) Close() error {
	d.end()
	d.work.Wait()
	if err := d.space.Close(); err != nil {
		return &fault.Error{File: d.uploads, What: "cannot be removed: " + publish.Reason(err), Err: err, Hint: "remove that folder yourself: it holds copies of the captures that were dropped"}
	}
	return nil
}

// touch notes a change; the lock is held.
func (d *Desk) touch() {
	d.version++
	close(d.changed)
	d.changed = make(chan struct{})
}

// Wait returns the version once it is another than the one known, or when ctx is
// done.
func (d *Desk) Wait(ctx context.Context, known int) int {
	for {
		d.mu.Lock()
		version, changed := d.version, d.changed
		d.mu.Unlock()
		if version != known {
			return version
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return version
		case <-d.ctx.Done():
			return version
		}
	}
}

// add puts a file on the desk. A capture whose role nobody has yet takes the
// role that its name suggests.
func (d *Desk) add(name, path string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.next++
	c := &Capture{ID: d.next, Name: name, Address: capture.Address{Path: path, End: math.Inf(1)}, Reading: true}
	if role := session.ConditionOf(name); role != "" {
		d.give(c, role)
	}
	d.captures = append(d.captures, c)
	d.touch()
	d.work.Go(func() { d.look(c.ID, path) })
}

// give hands a role to a capture; who had it keeps none. The lock is held.
func (d *Desk) give(c *Capture, role session.Condition) {
	for _, other := range d.captures {
		if other.Role == role {
			other.Role = ""
		}
	}
	c.Role = role
}

// look reads a capture's header and its level against time.
func (d *Desk) look(id int, path string) {
	info, overview, err := survey(d.ctx, path)
	d.mu.Lock()
	defer d.mu.Unlock()
	c := d.find(id)
	if c == nil {
		return
	}
	c.Info, c.Overview, c.Err, c.Reading = info, overview, err, false
	d.touch()
	d.measure()
}

// find is the capture of an id, or nil. The lock is held.
func (d *Desk) find(id int) *Capture {
	at := slices.IndexFunc(d.captures, func(c *Capture) bool { return c.ID == id })
	if at < 0 {
		return nil
	}
	return d.captures[at]
}

// Use sets a capture's role, channel (0: all) and span. Words that can't be
// read are errors for the user.
func (d *Desk) Use(id int, role, channel, start, end string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	c := d.find(id)
	if c == nil {
		return errors.New("that capture is no longer on the desk")
	}
	addr, err := placed(c, channel, start, end)
	if err != nil {
		return err
	}
	switch r := session.Condition(role); r {
	case session.Quiet, session.Near, session.Dead, session.Residual:
		d.give(c, r)
	case "":
		c.Role = ""
	default:
		return fmt.Errorf("there is no role %q", role)
	}
	c.Address = addr
	d.touch()
	d.measure()
	return nil
}

// placed is the capture's address with another channel and span.
func placed(c *Capture, channel, start, end string) (capture.Address, error) {
	addr := capture.Address{Path: c.Address.Path, End: math.Inf(1)}
	number := func(s string, to *float64) error {
		s = strings.ReplaceAll(strings.TrimSpace(s), ",", ".")
		if s == "" {
			return nil
		}
		x, err := strconv.ParseFloat(s, 64)
		if err != nil || !(x >= 0) || math.IsInf(x, 0) {
			return fmt.Errorf("%s: write seconds from the file's start, such as 12.5", c.Name)
		}
		*to = x
		return nil
	}
	if err := errors.Join(number(start, &addr.Start), number(end, &addr.End)); err != nil {
		return addr, err
	}
	if addr.End <= addr.Start {
		return addr, fmt.Errorf("%s: the span ends before it starts", c.Name)
	}
	if channel != "" {
		n, err := strconv.Atoi(channel)
		if err != nil || n < 0 || n > c.Info.Channels {
			return addr, fmt.Errorf("%s: there is no channel %s", c.Name, channel)
		}
		addr.Channel = n
	}
	return addr, nil
}

// Remove takes a capture off the desk.
func (d *Desk) Remove(id int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.captures = slices.DeleteFunc(d.captures, func(c *Capture) bool { return c.ID == id })
	d.touch()
	d.measure()
}

// Set takes what the user says of the bench.
func (d *Desk) Set(s Settings) error {
	if _, _, err := s.options(); err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.settings = s
	d.touch()
	d.measure()
	return nil
}

// options are the settings as compare has them.
func (s Settings) options() (mains.Options, []volts.Scale, error) {
	var opt mains.Options
	switch s.Mains {
	case "50", "60":
		opt.Nominal, _ = strconv.ParseFloat(s.Mains, 64)
	case "auto", "":
	default:
		return opt, nil, fmt.Errorf("there is no mains %q", s.Mains)
	}
	scale, err := volts.Stated(s.FullScale, s.Gain)
	if err != nil {
		return opt, nil, err
	}
	return opt, []volts.Scale{scale}, nil
}

// Cancel stops the measuring under way.
func (d *Desk) Cancel() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.stop != nil {
		d.halt()
		d.outcome.measuring, d.outcome.cancelled = false, true
		d.touch()
	}
}

// halt stops the measuring under way, if any, and hears no more of it: a job
// takes a moment to stop, and what it then says may look like what is asked for
// anew. The lock is held.
func (d *Desk) halt() {
	d.job++
	if d.stop != nil {
		d.stop()
		d.stop = nil
	}
}

// Again measures anew, after a cancel.
func (d *Desk) Again() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.outcome.wanted = ""
	d.measure()
}

// role is the usable capture of a role, or nil. The lock is held.
func (d *Desk) role(r session.Condition) *Capture {
	for _, c := range d.captures {
		if c.Role == r && c.Err == nil && !c.Reading {
			return c
		}
	}
	return nil
}

// measure starts what the desk now asks for, unless it is there or under way.
// The lock is held.
func (d *Desk) measure() {
	quiet, near, dead, residual := d.role(session.Quiet), d.role(session.Near), d.role(session.Dead), d.role(session.Residual)
	alone := near
	if alone == nil {
		alone = quiet
	}
	wanted := fmt.Sprintf("%+v", d.settings)
	for _, c := range []*Capture{quiet, near, dead, residual} {
		if c != nil {
			wanted += fmt.Sprintf("|%d %s %s", c.ID, c.Address, c.Role)
		}
	}
	if wanted == d.outcome.wanted {
		return
	}
	d.halt()
	d.outcome = outcome{wanted: wanted}
	d.touch()
	opt, scales, err := d.settings.options()
	if err != nil || alone == nil {
		return
	}
	ctx, stop := context.WithCancel(d.ctx)
	d.stop, d.outcome.measuring = stop, true
	n := d.job
	opt.Progress = d.progress(n)
	job := job{version: d.opt.Version, settings: assemble.Settings(opt, scales...), opt: opt, names: d.names(), alone: alone.Address}
	if quiet != nil && near != nil {
		job.quiet, job.near, job.dead, job.residual = quiet.address(), near.address(), dead.address(), residual.address()
	}
	d.work.Go(func() {
		defer stop()
		d.finish(n, job.run(ctx))
	})
}

// address is a copy of the capture's address, since a job goes on while its
// captures are set otherwise; nil of none. The lock is held.
func (c *Capture) address() *capture.Address {
	if c == nil {
		return nil
	}
	a := c.Address
	return &a
}

// progress notes how far a measuring is, while it is the latest.
func (d *Desk) progress(job int) func(done, total int64) {
	return func(done, total int64) {
		d.mu.Lock()
		defer d.mu.Unlock()
		// Every percent is told, not every block.
		if d.job == job && (total != d.outcome.total || (done-d.outcome.done)*100 >= total) {
			d.outcome.done, d.outcome.total = done, total
			d.touch()
		}
	}
}

// finish takes in what was measured, if it is still asked for.
func (d *Desk) finish(job int, o outcome) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.job != job {
		return
	}
	o.wanted = d.outcome.wanted
	d.outcome, d.stop = o, nil
	d.touch()
}

// names maps the paths of the captures to the names their users know. The lock
// is held.
func (d *Desk) names() map[string]string {
	names := map[string]string{}
	for _, c := range d.captures {
		names[c.Address.Path] = c.Name
	}
	return names
}

// job is one measuring: a pair, with its dead run and the residual where there
// are such, or a lone capture.
type job struct {
	version     string
	settings    result.Settings
	opt         mains.Options
	names       map[string]string
	quiet, near *capture.Address
	dead        *capture.Address
	residual    *capture.Address
	alone       capture.Address
}

func (j job) run(ctx context.Context) (o outcome) {
	if j.quiet == nil {
		channels, err := assemble.Read(ctx, []capture.Address{j.alone}, j.opt)
		if err != nil {
			return outcome{err: err}
		}
		for i := range channels {
			channels[i].File = j.called(channels[i].File)
		}
		m := assemble.Measure(j.version, j.settings, channels)
		return outcome{measure: &m}
	}
	if o.compare, o.err = j.pair(ctx, *j.near); o.err == nil && j.dead != nil {
		o.dead, o.err = j.pair(ctx, *j.dead)
	}
	return o
}

func (j job) pair(ctx context.Context, other capture.Address) (*result.Compare, error) {
	pairs, err := assemble.ReadPair(ctx, *j.quiet, other, j.opt)
	if err != nil {
		return nil, err
	}
	if j.residual != nil {
		if err := assemble.ReadResidual(ctx, *j.residual, pairs, j.opt); err != nil {
			return nil, err
		}
	}
	for i := range pairs {
		pairs[i].Quiet.File, pairs[i].Near.File = j.called(pairs[i].Quiet.File), j.called(pairs[i].Near.File)
		if r := pairs[i].Residual; r != nil {
			r.File = j.called(r.File)
		}
	}
	r := assemble.Compare(j.version, j.settings, pairs)
	return &r, nil
}

// called is the name by which the user knows a file.
func (j job) called(path string) string {
	if name := j.names[path]; name != "" {
		return name
	}
	return filepath.Base(path)
}
