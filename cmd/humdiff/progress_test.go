package main

import (
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"time"
)

func TestTimeLeft(t *testing.T) {
	for _, c := range []struct {
		past        time.Duration
		done, total int64
		want        string
	}{
		{500 * time.Millisecond, 10, 100, ""}, {10 * time.Second, 0, 100, ""}, {10 * time.Second, 25, 100, "30 s left"},
		{10 * time.Second, 1, 100, "17 min left"}, {10 * time.Second, 100, 100, "0 s left"}, {10 * time.Second, 100, 90, ""},
	} {
		kit.Same(t, timeLeft(c.past, c.done, c.total), c.want, "%v, %d of %d", c.past, c.done, c.total)
	}
}

// What stands before the bar leaves it half the terminal.
func TestDoing(t *testing.T) {
	long := strings.Repeat("Wide ", 40)
	for width := range 300 {
		got := doing(long, "30 s left", width)
		if n := len([]rune(got)); n > width/2 || width >= narrow && !strings.HasPrefix(got, "30 s left, W") || width < narrow && got != "" {
			t.Errorf("%d columns: %q", width, got)
		}
	}
	kit.Same(t, doing("Rail, near", "", 80), "Rail, near", "without a part")
}
