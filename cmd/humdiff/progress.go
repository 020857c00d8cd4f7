package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"humdiff/report"
	"humdiff/report/doc"
)

// progress shows on a terminal how far the captures are read. Its second
// result takes the bar away; the first is nil where none is shown.
func progress(stderr io.Writer, wanted bool) (report func(done, total int64), end func()) {
	bar := newBar(stderr, wanted)
	if bar == nil {
		return nil, func() {}
	}
	return func(done, total int64) {
		bar.ChangeMax64(total)
		bar.Set64(min(done, total-1)) // the end takes it away
	}, func() { bar.Finish() }
}

// during does a request's work while its progress is shown.
func during[R any](s screen, none bool, r *report.Request, work func() (R, error)) (R, error) {
	shown, end := progress(s.stderr, !none)
	defer end()
	r.Progress = shown
	return work()
}

// batchProgress is progress that says besides what is being measured, and how
// long the rest will take.
func batchProgress(stderr io.Writer, wanted bool) (report func(done, total int64, what string), end func()) {
	bar := newBar(stderr, wanted)
	if bar == nil {
		return nil, func() {}
	}
	began := time.Now()
	return func(done, total int64, what string) {
		bar.Describe(doing(doc.Printable(what), timeLeft(time.Since(began), done, total), terminalWidth(stderr)))
		bar.ChangeMax64(total)
		bar.Set64(min(done, total-1))
	}, func() { bar.Finish() }
}

// doing is what stands before the bar: the time left, and what is measured as far
// as half the terminal has room for it.
func doing(what, left string, width int) string {
	switch {
	case width < narrow:
		return ""
	case left != "":
		left += ", "
	}
	room := width/2 - len([]rune(left))
	if name := []rune(what); len(name) > room {
		what = string(name[:max(0, room-1)]) + "…"
	}
	return left + what
}

// timeLeft is how long the rest will take if it goes on as before; empty in the
// first second, of which nothing follows.
func timeLeft(past time.Duration, done, total int64) string {
	if past < time.Second || done <= 0 || total < done {
		return ""
	}
	rest := past.Seconds() / float64(done) * float64(total-done)
	if rest < 99 {
		return fmt.Sprintf("%.0f s left", math.Ceil(rest))
	}
	return fmt.Sprintf("%.0f min left", math.Ceil(rest/60))
}

// newBar is nil where none is shown.
func newBar(stderr io.Writer, wanted bool) *progressbar.ProgressBar {
	file, ok := stderr.(*os.File)
	if !wanted || !ok || !term.IsTerminal(int(file.Fd())) {
		return nil
	}
	return progressbar.NewOptions64(1, append(barStyle(terminalWidth(stderr)),
		progressbar.OptionSetWriter(file),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetElapsedTime(false),
		progressbar.OptionSetPredictTime(false),
		progressbar.OptionClearOnFinish(),
	)...)
}

// narrow is the width below which a bar with words and a time doesn't fit.
const narrow = 40

// barStyle is a full bar, or on a narrow terminal a short one of at most 18
// columns: the percentage and ten steps.
func barStyle(width int) []progressbar.Option {
	if width > 0 && width < narrow {
		return []progressbar.Option{progressbar.OptionSetWidth(min(10, max(1, width-8)))}
	}
	return []progressbar.Option{progressbar.OptionSetDescription("measuring"), progressbar.OptionFullWidth()}
}
