// Package live is the bench page: captures dropped on it or recorded into a watched
// folder fall into the grid of a session, which is kept in session.toml and runs.csv;
// what is found in them stands beside, on a page for one browser on the same machine.
// It may not measure, judge or word a result by itself: package report does, and the
// page shows its documents.
package live

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"humdiff/fft/fault"
	"humdiff/report/publish"
)

// Options say what a bench may do.
type Options struct {
	Version string
	Folder  string // watched, and the session lies there; empty: none
	Session string // the session file in it; empty: session.toml
	Home    string // where sittings begin without a folder
	Cache   string // where measurements are kept; empty: in the user's cache folder

	often, settled time.Duration // see watch.go; 0: as there
}

// Bench is what lies on the page. Its methods may be called by several goroutines.
type Bench struct {
	opt   Options
	space *publish.Space // removed by Close; the page that leads in lies there
	ctx   context.Context
	end   context.CancelFunc
	work  sync.WaitGroup

	mu      sync.Mutex
	version int           // grows with every change
	changed chan struct{} // closed by the next change
	sitting sitting
	takes   map[string]*take // the captures that are there, by path
	outcome outcome
	coming  bool               // captures are: they are measured together, once no more come
	gather  *time.Timer        // ends that
	known   map[string]bool    // runs that were measured, as measured says
	stop    context.CancelFunc // of the measuring under way; nil: none
	job     int                // counts measurings: only the latest may tell anything
	said    said
}

// said is what the page says of what was done last.
type said struct {
	Wrong   string // what was not taken, and why
	Saved   string // where a report was saved
	Away    string // why the watched folder can't be read
	Unsaved string // why the session isn't on the disk as it is here
}

// New opens a bench, and the session in its folder, if one is there. What an earlier
// bench left behind, cut short, is removed. Close ends it.
func New(ctx context.Context, o Options) (*Bench, error) {
	space, err := publish.NewSpace("")
	if err != nil {
		return nil, fmt.Errorf("no folder for the page that leads in: %w", err)
	}
	if o.often == 0 {
		o.often, o.settled = often, settled
	}
	b := &Bench{opt: o, space: space, changed: make(chan struct{}), takes: map[string]*take{}, known: map[string]bool{},
		sitting: begun("")}
	b.ctx, b.end = context.WithCancel(ctx)
	b.gather = time.AfterFunc(lull, b.gathered)
	b.gather.Stop()
	if o.Folder != "" {
		if err := b.open(o.Folder, o.Session); err != nil {
			return nil, errors.Join(err, space.Close())
		}
	}
	b.work.Go(b.watch)
	return b, nil
}

// Close stops all work. Captures and session stay where they are.
func (b *Bench) Close() error {
	b.mu.Lock()
	b.end() // behind this nothing begins any more
	b.mu.Unlock()
	b.work.Wait()
	if err := b.space.Close(); err != nil {
		return &fault.Error{File: b.space.Dir, What: "cannot be removed: " + publish.Reason(err), Err: err, Hint: "remove that folder yourself"}
	}
	return nil
}

// touch notes a change; the lock is held.
func (b *Bench) touch() {
	b.version++
	close(b.changed)
	b.changed = make(chan struct{})
}

// change does something to the bench, keeps the session on the disk as it then is, and
// measures what it asks for.
func (b *Bench) change(do func() error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := do(); err != nil {
		return err
	}
	b.settle()
	return nil
}

// settle takes in that something changed; the lock is held.
func (b *Bench) settle() {
	for i := range b.sitting.runs {
		b.sitting.runs[i].path = b.sitting.pathOf(b.sitting.runs[i].Run)
	}
	b.keep()
	b.touch()
	b.measure()
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

// await waits for another version than the one known; false: ctx is done, or the bench
// closed.
func (b *Bench) await(ctx context.Context, known int) bool {
	for {
		b.mu.Lock()
		version, changed := b.version, b.changed
		b.mu.Unlock()
		switch {
		case ctx.Err() != nil || b.ctx.Err() != nil:
			return false
		case version != known:
			return true
		}
		select {
		case <-changed:
		case <-ctx.Done():
		case <-b.ctx.Done():
		}
	}
}
