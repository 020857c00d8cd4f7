package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"humdiff/report/words"
)

// progress shows on a terminal how far the captures are read. Its second
// result takes the bar away; the first is nil where none is shown.
func progress(stderr io.Writer, wanted bool) (report func(done, total int64), end func()) {
	bar := newBar(stderr, wanted, false)
	if bar == nil {
		return nil, func() {}
	}
	return func(done, total int64) {
		bar.ChangeMax64(total)
		bar.Set64(min(done, total-1)) // the end takes it away
	}, func() { bar.Finish() }
}

// batchProgress is progress that says besides what is being measured, and how
// long the rest will take.
func batchProgress(stderr io.Writer, wanted bool) (report func(done, total int64, what string), end func()) {
	bar := newBar(stderr, wanted, true)
	if bar == nil {
		return nil, func() {}
	}
	return func(done, total int64, what string) {
		if terminalWidth(stderr) >= wide {
			bar.Describe(words.Printable(what))
		}
		bar.ChangeMax64(total)
		bar.Set64(min(done, total-1))
	}, func() { bar.Finish() }
}

// wide is the width from which a run's name fits beside the bar.
const wide = 100

// newBar is nil where none is shown.
func newBar(stderr io.Writer, wanted, timeLeft bool) *progressbar.ProgressBar {
	file, ok := stderr.(*os.File)
	if !wanted || !ok || !term.IsTerminal(int(file.Fd())) {
		return nil
	}
	return progressbar.NewOptions64(1, append(barStyle(terminalWidth(stderr)),
		progressbar.OptionSetWriter(file),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetElapsedTime(timeLeft),
		progressbar.OptionClearOnFinish(),
	)...)
}

// narrow is the width below which a bar with words and a time doesn't fit.
const narrow = 40

// barStyle is a full bar, or on a narrow terminal a short one of at most 18
// columns: the percentage and ten steps.
func barStyle(width int) []progressbar.Option {
	if width > 0 && width < narrow {
		return []progressbar.Option{progressbar.OptionSetWidth(min(10, max(1, width-8))), progressbar.OptionSetPredictTime(false)}
	}
	return []progressbar.Option{progressbar.OptionSetDescription("measuring"), progressbar.OptionFullWidth()}
}
