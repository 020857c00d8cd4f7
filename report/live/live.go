// Package live is the bench page: captures dropped on it or recorded into a watched
// folder come in, what compare says of them stands on a page for one browser on the
// same machine, and reports and sessions are saved. It may not measure, judge or
// word a result by itself: package report does, and the page shows its documents.
package live

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/session"
)

// Capture is one file on the bench.
type Capture struct {
	ID       int
	Name     string // as the user knows it
	Address  capture.Address
	Role     string // model.Quiet …; empty: kept, not used
	Info     capture.Info
	Overview Overview
	Err      error // why it can't be used; nil: it can
	Reading  bool  // its overview is being made
}

// Options say what a bench may do.
type Options struct {
	Version string
	Folder  string // watched, and reports go there; empty: none
	Home    string // where reports go without a folder
}

// Bench is what lies on the page. Its methods may be called by several goroutines.
type Bench struct {
	opt   Options
	space *publish.Space // removed by Close; what was dropped lies there
	ctx   context.Context
	end   context.CancelFunc
	work  sync.WaitGroup

	mu       sync.Mutex
	version  int           // grows with every change
	changed  chan struct{} // closed by the next change
	next     int
	captures []*Capture
	settings Settings
	outcome  outcome
	stop     context.CancelFunc // of the measuring under way; nil: none
	job      int                // counts measurings: only the latest may tell anything
	said     said
	pairs    []keptPair
	asked    map[string]bool // questions that were answered with yes
}

// said is what the page says of what was done last.
type said struct {
	Wrong string // what was not taken, and why
	Stale bool   // so the result is not of what was asked for
	Saved string // where something was saved
	Away  string // why the watched folder can't be read
}

// keptPair is a pair put aside for a session.
type keptPair struct{ quiet, near Capture }

// New opens a bench. Copies that an earlier one left behind, cut short, are removed.
// Close ends it.
func New(ctx context.Context, o Options) (*Bench, error) {
	space, err := publish.NewSpace("")
	if err != nil {
		return nil, fmt.Errorf("no folder for what is dropped: %w", err)
	}
	b := &Bench{opt: o, space: space, changed: make(chan struct{}), settings: Settings{Mains: "auto"}, asked: map[string]bool{}}
	b.ctx, b.end = context.WithCancel(ctx)
	if o.Folder != "" {
		b.work.Go(b.watch)
	}
	return b, nil
}

// Close stops all work and removes what was dropped.
func (b *Bench) Close() error {
	b.end()
	b.work.Wait()
	if err := b.space.Close(); err != nil {
		return &fault.Error{File: b.space.Dir, What: "cannot be removed: " + publish.Reason(err), Err: err, Hint: "remove that folder yourself: it holds copies of the captures that were dropped"}
	}
	return nil
}

// touch notes a change; the lock is held.
func (b *Bench) touch() {
	b.version++
	close(b.changed)
	b.changed = make(chan struct{})
}

// change does something to the bench, and measures what it then asks for.
func (b *Bench) change(do func() error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := do(); err != nil {
		return err
	}
	b.touch()
	b.measure()
	return nil
}

// say changes what the page says of what was done last.
func (b *Bench) say(change func(*said)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	was := b.said
	if change(&b.said); b.said != was {
		b.touch()
	}
}

// await returns the version once it is another than the one known, or when ctx is
// done.
func (b *Bench) await(ctx context.Context, known int) int {
	for {
		b.mu.Lock()
		version, changed := b.version, b.changed
		b.mu.Unlock()
		if version != known {
			return version
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return version
		case <-b.ctx.Done():
			return version
		}
	}
}

// add puts a file on the bench. It takes the role that its name tells: the newest
// of a role has it, what came before was a try.
func (b *Bench) add(name, path string) {
	b.change(func() error {
		b.next++
		c := &Capture{ID: b.next, Name: name, Address: capture.Address{Path: path, End: math.Inf(1)}, Reading: true}
		b.give(c, session.ConditionOf(name))
		b.captures = append(b.captures, c)
		b.work.Go(func() { b.look(c.ID, path) })
		return nil
	})
}

// give hands a role to a capture; who had it keeps none. The lock is held.
func (b *Bench) give(c *Capture, role string) {
	for _, other := range b.captures {
		if other.Role == role {
			other.Role = ""
		}
	}
	c.Role = role
}

// look reads a capture's header and its level against time.
func (b *Bench) look(id int, path string) {
	info, overview, err := survey(b.ctx, path)
	b.change(func() error {
		if c := b.find(id); c != nil {
			c.Info, c.Overview, c.Err, c.Reading = info, overview, err, false
		}
		return nil
	})
}

// find is the capture of an id, or nil. The lock is held.
func (b *Bench) find(id int) *Capture {
	at := slices.IndexFunc(b.captures, func(c *Capture) bool { return c.ID == id })
	if at < 0 {
		return nil
	}
	return b.captures[at]
}

// use sets a capture's role, channel (0: all) and span in seconds; either end may be
// left open. Words that can't be read are errors for the user.
func (b *Bench) use(id int, role, channel, start, end string) error {
	return b.change(func() error {
		c := b.find(id)
		if c == nil {
			return errors.New("that capture is no longer on the bench")
		}
		if !slices.ContainsFunc(roles, func(r option) bool { return r.Value == role }) {
			return fmt.Errorf("there is no role %q", role)
		}
		addr := capture.Address{Path: c.Address.Path, End: math.Inf(1)}
		var err error
		if span := strings.ReplaceAll(start+":"+end, ",", "."); span != ":" {
			if addr.Start, addr.End, err = capture.ParseSpan(span); err != nil {
				return fault.In(c.Address.Path, err)
			}
		}
		if channel != "" {
			if addr.Channel, err = strconv.Atoi(channel); err != nil || addr.Channel < 0 || addr.Channel > c.Info.Channels {
				return fmt.Errorf("%s: there is no channel %s", c.Name, channel)
			}
		}
		b.give(c, role)
		c.Address = addr
		return nil
	})
}

// remove takes a capture off the bench. The copy of one that was dropped is removed
// too, unless a kept pair needs it.
func (b *Bench) remove(id int) error {
	var path string
	kept := false
	err := b.change(func() error {
		c := b.find(id)
		if c == nil {
			return errors.New("that capture is no longer on the bench")
		}
		path = c.Address.Path
		b.captures = slices.DeleteFunc(b.captures, func(o *Capture) bool { return o == c })
		kept = slices.ContainsFunc(b.pairs, func(p keptPair) bool { return p.quiet.Address.Path == path || p.near.Address.Path == path })
		return nil
	})
	if err == nil && b.dropped(path) && !kept {
		os.RemoveAll(filepath.Dir(path)) // what a system won't let go while it is read goes with the space
	}
	return err
}

// role is the usable capture of a role, or nil. The lock is held.
func (b *Bench) role(r string) *Capture {
	for _, c := range b.captures {
		if c.Role == r && c.Err == nil && !c.Reading {
			return c
		}
	}
	return nil
}

// reading says that a capture which has a role is still being read. The lock is held.
func (b *Bench) reading() bool {
	return slices.ContainsFunc(b.captures, func(c *Capture) bool { return c.Reading && c.Role != "" })
}

// couple is the quiet and the near capture; false: one is missing. The lock is held.
func (b *Bench) couple() (quiet, near *Capture, both bool) {
	quiet, near = b.role(model.Quiet), b.role(model.Near)
	return quiet, near, quiet != nil && near != nil
}

// yes answers a question of the page with yes: it isn't asked again.
func (b *Bench) yes(question string) error {
	return b.change(func() error { b.asked[question] = true; return nil })
}
