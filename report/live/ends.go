package live

import (
	"context"
	"errors"
	"sync"
	"time"
)

// leaving is how long after its page went away the program waits for it to come
// back: a reload does.
const leaving = 5 * time.Second

// Why a page ended the program.
var (
	errAsked  = errors.New("ended from the page")
	errClosed = errors.New("ended: the page was closed")
)

// pages counts the pages that are open, each of which follows what changes. The program
// ends with the last.
type pages struct {
	ended context.Context
	end   context.CancelCauseFunc // with why; the first to say so is heard

	mu      sync.Mutex
	open    int
	last    *time.Timer
	leaving time.Duration
}

func newPages() *pages {
	ended, end := context.WithCancelCause(context.Background())
	return &pages{ended: ended, end: end, leaving: leaving}
}

// opened is told that a page is there, and gone that it isn't any more.
func (p *pages) opened() (gone func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.open++
	if p.last != nil {
		p.last.Stop()
	}
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.open--
		p.last = time.AfterFunc(p.leaving, func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			if p.open == 0 {
				p.end(errClosed)
			}
		})
	}
}
