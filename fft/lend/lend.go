// Package lend takes back large slices and tables that one capture used and gives them
// out to the next; it may not change what is in them. A batch measures capture after
// capture with the same ones, instead of having the system clear new memory for each.
package lend

import (
	"sync"
	"unsafe"
)

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

// Give takes a slice back: nobody may use it any more. One that is too large to be
// kept goes with the garbage at once.
func (p *Pool[T]) Give(x []T) {
	if size := len(x) * int(unsafe.Sizeof(*new(T))); size > 0 && size < most {
		p.pool(len(x)).Put(&x)
	}
}

// most is how large, in bytes, a slice may be to be kept: less than those of
// captures at 192 kHz, of which two at a time leave no memory to spare.
const most = 2 << 20

func (p *Pool[T]) pool(n int) *sync.Pool {
	pool, ok := p.byLength.Load(n)
	if !ok {
		pool, _ = p.byLength.LoadOrStore(n, new(sync.Pool))
	}
	return pool.(*sync.Pool)
}
