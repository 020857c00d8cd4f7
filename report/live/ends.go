package live

import (
	"sync"
	"time"
)

const (
	// leaving is how long after its page went away the program waits for it to come
	// back: a reload does.
	leaving = 5 * time.Second
	// silence is how long no page may ask for changes, which an open one always
	// does, until its tab is taken for crashed.
	silence = 30 * time.Minute
)

// pages counts the pages that are open, and ends the program with the last.
type pages struct {
	ended chan struct{}
	once  sync.Once
	why   string // written before ended is closed

	mu      sync.Mutex
	open    int // as far as they have said
	waiting int // pages that ask for changes now
	bye     *time.Timer
	leaving time.Duration
	silence time.Duration
	silent  *time.Timer
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

// came and left are told by pages. When the last has been closed and none comes
// back, the program ends with it.
func (p *pages) came() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.open++
	if p.bye != nil {
		p.bye.Stop()
	}
}

func (p *pages) left() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.open = max(0, p.open-1); p.open == 0 {
		p.bye = time.AfterFunc(p.leaving, func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			if p.open == 0 {
				p.finish("Ended: the page was closed.")
			}
		})
	}
}

// asks and asked count the pages that ask for changes. A tab that crashed can't say
// that it left, but it asks no more.
func (p *pages) asks() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.waiting++
	if p.silent != nil {
		p.silent.Stop()
	}
}

func (p *pages) asked() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.waiting--; p.waiting > 0 || p.open == 0 {
		return
	}
	p.silent = time.AfterFunc(p.silence, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.waiting == 0 {
			p.finish("Ended: no page has asked for anything in a while, so its tab is gone.")
		}
	})
}
