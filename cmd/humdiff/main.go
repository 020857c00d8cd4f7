// Command humdiff compares two captures of an audio bench, one quiet and one
// with a live mains lead near the cable: what hum the lead added, line by
// line, with its uncertainty. The command reads its words and prints results;
// everything it says is calculated elsewhere.
package main

import (
	"context"
	"io"
	"log"
	"os"
	"os/signal"
	"syscall"
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
