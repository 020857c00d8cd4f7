package tally

import "testing"

// Two at a time, one of which is read twice, and a third that need not be read: what is told
// never falls, and ends at all there was to do.
func TestTally(t *testing.T) {
	var done, total int64
	said := ""
	all := Tally{Report: func(d, n int64, what string) {
		if n == total && d < done {
			t.Errorf("it falls from %d to %d of %d", done, d, n)
		}
		done, total, said = d, n, what
	}}
	a, b, c := all.Share(100, "a"), all.Share(300, "b"), all.Share(50, "c")
	a.Part(5, 10)
	if done != 50 || total != 450 || said != "a" {
		t.Errorf("half of the first: %d of %d, %s", done, total, said)
	}
	c.Reach(0, 0)
	b.Part(300, 300)
	b.Part(1, 300) // read once more
	if done != 350 || total != 400 {
		t.Errorf("the second read twice: %d of %d", done, total)
	}
	a.End()
	b.End()
	if done != 400 || total != 400 {
		t.Errorf("in the end %d of %d", done, total)
	}
}
