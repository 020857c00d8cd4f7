package batch

import (
	"strings"
	"sync"
)

// tally adds up the progress of runs that are measured at the same time.
type tally struct {
	mu          sync.Mutex
	report      func(done, total int64, what string)
	done, total int64
}

// part is one run's share.
type part struct {
	t          *tally
	what       string
	done, size int64
}

func (t *tally) part(frames int64, what string) *part {
	t.total += frames
	return &part{t: t, what: strings.TrimSpace(what), size: frames}
}

// progress takes in how far one pass over the capture is; long ones are read
// twice, which shows as standing still near the end.
func (p *part) progress(done, total int64) {
	if total > 0 {
		p.reach(int64(float64(p.size) * float64(min(max(done, 0), total)) / float64(total)))
	}
}

func (p *part) end() { p.reach(p.size) }

// spare takes a run out of the sum that needs no measuring: by it nobody can tell
// how long the rest takes.
func (p *part) spare() {
	p.t.mu.Lock()
	defer p.t.mu.Unlock()
	p.t.total -= p.size
	p.size = 0
}

func (p *part) reach(done int64) {
	p.t.mu.Lock()
	defer p.t.mu.Unlock()
	if done <= p.done {
		return
	}
	p.t.done += done - p.done
	p.done = done
	if p.t.report != nil {
		p.t.report(p.t.done, p.t.total, p.what)
	}
}
