// Command humdiff compares two captures of an audio bench, one quiet and one
// with a live mains lead near the cable: what hum the lead added, line by
// line, with its uncertainty. The command reads its words and prints results;
// everything it says is calculated elsewhere.
package main

import (
	"context"
	"fmt"
	"io"
	"log"
	"os"
	"os/signal"
	"syscall"

	"golang.org/x/term"

	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
)

func main() {
	boundMemory()
	log.SetOutput(io.Discard) // mewkiz/flac notes there which rates it has no tests for
	ends := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // as nohup has it
		ends = append(ends, syscall.SIGHUP) // the terminal was closed
	}
	ctx, stop := signal.NotifyContext(context.Background(), ends...)
	context.AfterFunc(ctx, stop) // a second interrupt ends at once
	args := os.Args[1:]
	if clicked(args) {
		args = []string{"open"}
	}
	os.Exit(run(ctx, args, os.Stdout, os.Stderr))
}

// Exit codes.
const (
	done   = 0
	failed = 1 // the captures, or the work
	wrong  = 2 // the command's words
	broken = 3 // a claim, on request
)

// run does what the command line says and returns the exit code.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	printed := &remembering{w: stdout}
	root := newRoot(screen{printed, stderr, terminalWidth(stdout), terminalWidth(stderr)})
	root.SetArgs(args)
	err := singleDashes(root, args)
	if err == nil {
		err = root.ExecuteContext(ctx)
	}
	if err == nil {
		err = printed.err // help is printed by those who don't ask
	}
	switch {
	case err == nil:
		return done
	case ctx.Err() != nil:
		fmt.Fprintln(stderr, "humdiff: interrupted; nothing was left half-written")
		if _, kept := err.(resumable); kept {
			fmt.Fprintln(stderr, "hint: the same command goes on from there: what was measured is kept")
		}
		return failed
	case err == errClaim:
		return broken
	case report.IsMisuse(err):
		complain(stderr, err)
		return wrong
	default:
		complain(stderr, err)
		return failed
	}
}

// resumable is an error of work that the same command goes on with.
type resumable struct{ error }

func (r resumable) Unwrap() error { return r.error }

// remembering keeps the first error of writing: what can't be printed wasn't done.
type remembering struct {
	w   io.Writer
	err error
}

func (r *remembering) Write(b []byte) (int, error) {
	n, err := r.w.Write(b)
	if err != nil && r.err == nil {
		r.err = fmt.Errorf("the result can't be printed: %w", err)
	}
	return n, err
}

// complain prints an error and what to do about it; of several, each.
func complain(stderr io.Writer, err error) {
	if several, ok := err.(interface{ Unwrap() []error }); ok {
		for _, each := range several.Unwrap() {
			complain(stderr, each)
		}
		return
	}
	fmt.Fprintf(stderr, "humdiff: %s\n", doc.Printable(err.Error()))
	if hint := fault.Hint(err); hint != "" {
		fmt.Fprintf(stderr, "hint: %s\n", doc.Printable(hint))
	}
}

// screen is where a command prints.
type screen struct {
	stdout, stderr  io.Writer
	width, errWidth int // columns of each; 0 where it is no terminal
}

// terminalWidth is how many columns a terminal has; 0 where w is none.
func terminalWidth(w io.Writer) int {
	file, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(file.Fd())) {
		return 0
	}
	width, _, err := term.GetSize(int(file.Fd()))
	if err != nil {
		return 0
	}
	return width
}

// misused marks an error as one of the command's words, not of the work.
func misused(err error) error {
	if err == nil {
		return nil
	}
	return report.Misused{Err: err}
}

// misusedf is a new such error, with its hint.
func misusedf(hint, format string, args ...any) error {
	return misused(fault.New(hint, format, args...))
}
