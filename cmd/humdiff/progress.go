package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows on a terminal how far the captures are read. Its second
// result takes the bar away; the first is nil where none is shown.
func progress(stderr io.Writer, wanted bool) (report func(done, total int64), end func()) {
	file, ok := stderr.(*os.File)
	if !wanted || !ok || !term.IsTerminal(int(file.Fd())) {
		return nil, func() {}
	}
	bar := progressbar.NewOptions64(1,
		progressbar.OptionSetWriter(file),
		progressbar.OptionSetDescription("measuring"),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetElapsedTime(false),
		progressbar.OptionFullWidth(),
		progressbar.OptionClearOnFinish(),
	)
	return func(done, total int64) {
		bar.ChangeMax64(total)
		bar.Set64(min(done, total-1)) // the end takes it away
	}, func() { bar.Finish() }
}
