package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"humdiff/fft/fault"
	"humdiff/report/live"
	"humdiff/report/publish"
)

func init() {
	// cobra would turn away who starts a program by a double click.
	cobra.MousetrapHelpText = ""
}

// opening is the flags of open.
type opening struct{ noBrowser bool }

func openCommand(s screen) *cobra.Command {
	var f opening
	c := &cobra.Command{
		Use:   "open [FOLDER | SESSION]",
		Short: "A page at the bench: captures fall into the grid of a session, and the answer grows",
		Long: `open shows a page in the browser of this machine, and nowhere else. Drop captures
on it, or a folder of them: by their names they fall into a grid of cables and
conditions, and the answer grows as cells fill. The grid is a session, saved with
every change, which batch reads. Each new recording in FOLDER is taken as soon as it
is whole; in a planned session it is the run that comes next. Close the page to end.
A double click on the program opens it too.`,
		Example: `  humdiff open
  humdiff open "recordings"
  humdiff open "sitting/session.toml"`,
		Args: takes(0, 1, "folder", `humdiff open "FOLDER"`),
		RunE: func(c *cobra.Command, args []string) error {
			return f.run(c.Context(), s, append(args, "")[0])
		},
	}
	c.Flags().BoolVar(&f.noBrowser, "no-browser", false, "print the page's address, and leave opening it to you")
	return c
}

func (f opening) run(ctx context.Context, s screen, dir string) (err error) {
	dir, file := watched(dir)
	if err := watchable(dir); err != nil {
		return err
	}
	b, err := live.New(ctx, live.Options{Version: version(), Folder: dir, Session: file, Home: reportsHome()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	server, err := live.Serve(b)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.stderr, "The page is at %s\nThat address works once, in one browser of this machine. Close the page, or press Ctrl-C here, to end.\n", server.Address())
	if !f.noBrowser && openBrowser(ctx, server.File()) != nil {
		fmt.Fprintln(s.stderr, "No browser could be opened: copy the address into one.")
	}
	err = server.Run(ctx)
	if why := server.Why(); why != nil {
		fmt.Fprintf(s.stderr, "It has %v.\n", why)
	}
	return err
}

// watched is the folder to watch, and the session file in it where one was named.
func watched(arg string) (dir, file string) {
	if st, err := os.Stat(arg); err == nil && st.Mode().IsRegular() && strings.EqualFold(filepath.Ext(arg), ".toml") {
		return filepath.Dir(arg), filepath.Base(arg)
	}
	return arg, ""
}

// watchable refuses what is no folder.
func watchable(dir string) error {
	if dir == "" {
		return nil
	}
	_, err := os.ReadDir(dir)
	if err == nil {
		return nil
	}
	return &fault.Error{File: dir, What: "cannot be watched: " + publish.Reason(err), Err: err, Hint: "name the folder that the recorder writes into"}
}

// reportsHome is where reports go that were begun without a folder: the folder
// in which the program was started may be anywhere then.
func reportsHome() string {
	home, err := os.UserHomeDir()
	if err != nil {
		home = "."
	}
	return filepath.Join(home, "humdiff-reports")
}

// openBrowser opens a page by the system's own means. Anyone on the machine may read
// what is said here.
func openBrowser(ctx context.Context, page string) error {
	var c *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		c = exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", page)
	case "darwin":
		c = exec.CommandContext(ctx, "open", page)
	default:
		c = exec.CommandContext(ctx, "xdg-open", page)
	}
	if err := c.Start(); err != nil {
		return err
	}
	go c.Wait() // it may stay as long as the browser does
	return nil
}

// clicked says that the program was started by a double click: on Windows from
// the Explorer, elsewhere with no terminal anywhere but with a desktop. (macOS
// starts it in a terminal: the release has a file to click there.)
func clicked(args []string) bool {
	if len(args) > 0 {
		return false
	}
	if runtime.GOOS == "windows" {
		return mousetrap.StartedByExplorer()
	}
	for _, f := range []*os.File{os.Stdin, os.Stdout, os.Stderr} {
		if term.IsTerminal(int(f.Fd())) {
			return false
		}
	}
	return os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}
