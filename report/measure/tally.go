package measure

import "sync"

// tally adds up the progress of captures that are measured at the same time.
type tally struct {
	report func(done, total int64) // nil: nobody asks

	mu     sync.Mutex
	shares []share
}

type share struct{ done, total int64 }

// share opens a part of so many frames and is told how far it is.
func (t *tally) share(frames int64) func(done, total int64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	i := len(t.shares)
	t.shares = append(t.shares, share{total: frames})
	return func(done, total int64) {
		t.mu.Lock()
		defer t.mu.Unlock()
		t.shares[i] = share{done, total}
		var all share
		for _, s := range t.shares {
			all.done += s.done
			all.total += s.total
		}
		if t.report != nil {
			t.report(all.done, all.total)
		}
	}
}
