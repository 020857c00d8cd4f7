package live

import (
	"context"
	"errors"
	"sync"
	"time"
)

const (
	// leaving is how long after its page went away the program waits for it to come
	// back: a reload does.
	leaving = 5 * time.Second
	// silence is how long a page that was there may ask for nothing: browsers put
	// tabs to sleep that nobody looks at.
	silence = 30 * time.Minute
)

// Why a page ended the program.
var (
	errAsked  = errors.New("ended from the page")
	errClosed = errors.New("ended: the page was closed")
	errSilent = errors.New("ended: no page has asked for anything in a while, so its tab is gone")
)

// pages counts the pages that are open, which all ask for changes all the time. The
// program ends with the last.
type pages struct {
	ended context.Context
	end   context.CancelCauseFunc // with why; the first to say so is heard

	mu      sync.Mutex
	asking  int
	last    *time.Timer
	leaving time.Duration
	silence time.Duration
}

func newPages() *pages {
	ended, end := context.WithCancelCause(context.Background())
	return &pages{ended: ended, end: end, leaving: leaving, silence: silence}
}

// asks is told that a page asks for changes, and done that it had its answer, or went
// away before.
func (p *pages) asks() (done func(gone bool)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.asking++
	if p.last != nil {
		p.last.Stop()
	}
	return func(gone bool) {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.asking--; p.asking > 0 {
			return
		}
		after, why := p.silence, errSilent
		if gone {
			after, why = p.leaving, errClosed
		}
		p.last = time.AfterFunc(after, func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			if p.asking == 0 {
				p.end(why)
			}
		})
	}
}
