// Package tally takes in how far each of several things is that are done at the same time, and
// tells how far all of them are.
package tally

import "sync"

// Tally adds up shares. The zero value tells nobody.
type Tally struct {
	Report func(done, total int64, what string) // what is that of the share that moved; nil: nobody asks
	mu     sync.Mutex
	all    Share
}

// Share is one of them.
type Share struct {
	of          *Tally
	what        string
	done, total int64
}

// Share opens a share of so much.
func (t *Tally) Share(total int64, what string) *Share {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.all.total += total
	return &Share{of: t, what: what, total: total}
}

// Reach says how far a share is: of the same total never less far than before, as what is read
// twice is when it begins anew.
func (s *Share) Reach(done, total int64) {
	t := s.of
	t.mu.Lock()
	defer t.mu.Unlock()
	if total == s.total {
		done = max(done, s.done)
	}
	t.all.done, t.all.total = t.all.done+done-s.done, t.all.total+total-s.total
	s.done, s.total = done, total
	if t.Report != nil {
		t.Report(t.all.done, t.all.total, s.what)
	}
}

// Part says how far a share is in parts of another total.
func (s *Share) Part(done, of int64) {
	if of > 0 {
		s.Reach(int64(float64(s.total)*float64(min(max(done, 0), of))/float64(of)), s.total)
	}
}

// End says that a share is done.
func (s *Share) End() { s.Reach(s.total, s.total) }
