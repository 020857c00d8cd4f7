package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"humdiff/fixtures/kit"
)

// demoHome is where the demo was run, if it was.
var demoHome string

// demonstrated is the folder that `humdiff demo` wrote, once for all tests: it takes
// longer than most of them.
var demonstrated = sync.OnceValues(func() (string, error) {
	home, err := os.MkdirTemp("", "demo")
	if err != nil {
		return "", err
	}
	demoHome = home
	dir := filepath.Join(home, "humdiff-demo")
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), []string{"demo", dir}, &stdout, &stderr); code != done || stderr.Len() > 0 {
		return "", fmt.Errorf("humdiff demo: exit code %d\n%s", code, &stderr)
	}
	return dir, os.WriteFile(dir+"-said", stdout.Bytes(), 0o666)
})

// theDemo is what the demo wrote, to be looked at and left as it is.
func theDemo(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("the demo takes its time")
	}
	return kit.Must(demonstrated())(t)
}

// demonstrate DIR copies what the demo wrote into a new folder, and what it said beside it.
func demonstrate(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: demonstrate DIR")
	}
	dir, err := demonstrated()
	ts.Check(err)
	ts.Check(os.CopyFS(ts.MkAbs(args[0]), os.DirFS(dir)))
	said, err := os.ReadFile(dir + "-said")
	ts.Check(errors.Join(err, os.WriteFile(ts.MkAbs(args[0]+"-said"), said, 0o666)))
}

// tidy runs tests and removes what they shared.
type tidy struct{ *testing.M }

func (t tidy) Run() int {
	code := t.M.Run()
	os.RemoveAll(demoHome) // nothing where it is ""
	return code
}
