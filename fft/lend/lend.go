// Package lend keeps what one capture used for the next: large slices, lent again, and
// tables that were worked out. A batch
// measures capture after capture with the same ones, instead of having the
// system clear new memory for each.
package lend

import "sync"

// Pool lends slices, apart by length. It may be used concurrently; what nobody
// asks for goes with the garbage. The zero value is ready.
type Pool[T any] struct{ byLength sync.Map }

// Take lends a slice of n elements. What they hold is left over.
func (p *Pool[T]) Take(n int) []T {
	if x, ok := p.pool(n).Get().(*[]T); ok {
		return *x
	}
	return make([]T, n)
}

// Give takes a slice back: nobody may use it any more. Nil is nothing.
func (p *Pool[T]) Give(x []T) {
	if x != nil {
		p.pool(len(x)).Put(&x)
	}
}

func (p *Pool[T]) pool(n int) *sync.Pool {
	pool, ok := p.byLength.Load(n)
	if !ok {
		pool, _ = p.byLength.LoadOrStore(n, new(sync.Pool))
	}
	return pool.(*sync.Pool)
}
