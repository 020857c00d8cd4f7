package lend

import (
	"sync"
	"testing"

	"humdiff/fixtures/kit"
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
				kit.Same(t, len(x), n, "elements")
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

// Each answer is worked out once, and there are never more than the most.
func TestMemo(t *testing.T) {
	m := Memo[int, int]{Most: 3}
	worked := map[int]int{}
	of := func(k int) int { return m.Of(k, func() int { worked[k]++; return k * k }) }
	for range 2 {
		for k := range 3 {
			kit.Same(t, of(k), k*k, "%d", k)
		}
	}
	for k := range 3 {
		if worked[k] != 1 {
			t.Errorf("%d: worked out %d times", k, worked[k])
		}
	}
	of(3)
	if n := len(m.kept); n > m.Most {
		t.Errorf("%d kept", n)
	}
	if of(1); worked[1] != 2 {
		t.Error("begins anew with old answers")
	}
}
