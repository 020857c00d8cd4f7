package live

import (
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

// pages counts the pages that are open, which all ask for changes all the time. The
// program ends with the last.
type pages struct {
	ended chan struct{}
	once  sync.Once
	why   string // written before ended is closed

	mu      sync.Mutex
	asking  int
	end     *time.Timer
	leaving time.Duration
	silence time.Duration
}

func newPages() *pages {
	return &pages{ended: make(chan struct{}), leaving: leaving, silence: silence}
}

func (p *pages) finish(why string) {
	p.once.Do(func() {
		p.why = why
		close(p.ended)
	})
}

// asks is told that a page asks for changes, and done that it had its answer, or went
// away before.
func (p *pages) asks() (done func(gone bool)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.asking++
	if p.end != nil {
		p.end.Stop()
	}
	return func(gone bool) {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.asking--; p.asking > 0 {
			return
		}
		after, why := p.silence, "Ended: no page has asked for anything in a while, so its tab is gone."
		if gone {
			after, why = p.leaving, "Ended: the page was closed."
		}
		p.end = time.AfterFunc(after, func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			if p.asking == 0 {
				p.finish(why)
			}
		})
	}
}
