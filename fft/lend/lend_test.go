package lend

import (
	"sync"
	"testing"
)

// A slice has the length asked for, and nobody else has it until it is given
// back.
func TestOneAtATime(t *testing.T) {
	var p Pool[int]
	var all sync.WaitGroup
	for w := range 8 {
		all.Go(func() {
			for k := range 2000 {
				n := 1 + (w+k)%3
				x := p.Take(n)
				if len(x) != n {
					t.Errorf("%d elements, not %d", len(x), n)
				}
				for i := range x {
					x[i] = w
				}
				for _, v := range x {
					if v != w {
						t.Errorf("%d has what %d was lent", v, w)
					}
				}
				p.Give(x)
			}
		})
	}
	all.Wait()
	p.Give(nil)
	if x := p.Take(0); len(x) != 0 {
		t.Errorf("%d elements", len(x))
	}
}
