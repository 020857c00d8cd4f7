package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/valid"
	"humdiff/fixtures/wavfile"
)

func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){"humdiff": checkedMain})
}

// checkedMain is main, but a result printed as JSON that its schema doesn't allow
// ends it with an exit code of its own.
func checkedMain() {
	if !slices.Contains(os.Args, "json") && os.Getenv("HUMDIFF_STATUS") == "" {
		main()
	}
	boundMemory()
	var printed bytes.Buffer
	code := run(context.Background(), os.Args[1:], io.MultiWriter(os.Stdout, &printed), os.Stderr)
	if bytes.HasPrefix(printed.Bytes(), []byte(`{"schema":`)) {
		if err := valid.Result(printed.Bytes()); err != nil {
			fmt.Fprintf(os.Stderr, "against its schema: %v\n", err)
			code = 70
		}
	}
	if to := os.Getenv("HUMDIFF_STATUS"); to != "" {
		status, _ := os.ReadFile("/proc/self/status") // elsewhere than on Linux there is none
		os.WriteFile(to, status, 0o666)
	}
	os.Exit(code)
}

// validFiles holds every result that a script left against its schema.
func validFiles(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".json" || !d.Type().IsRegular() {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil || !bytes.HasPrefix(data, []byte(`{"schema":"humdiff/`)) || bytes.HasPrefix(data, []byte(`{"schema":"humdiff/demo/`)) {
			return err
		}
		if err := valid.Result(data); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		return nil
	})
}

func TestScripts(t *testing.T) {
	kit.Unraced(t)
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"record":      record,
			"tone":        tone,
			"survey":      survey,
			"exits":       exits,
			"empty":       empty,
			"tear":        tear,
			"demonstrate": demonstrate,
		},
		Setup: func(env *testscript.Env) error {
			env.Setenv("ESC", "\x1b")
			env.Defer(func() {
				if err := validFiles(env.WorkDir); err != nil {
					t.Error(err)
				}
			})
			return nil
		},
	})
}

// record FILE HZ DBFS... simulates ten seconds of a bench at 8 kHz, one channel
// for each level: hum of the first three harmonics at the level, 0 and 6 and
// 20 dB down, in white noise of -130 dBFS/Hz. A level of "none" is noise alone,
// "zero" is digital silence.
func record(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: record FILE HZ DBFS...")
	}
	f0, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	var channels [][]float64
	for i, level := range args[2:] {
		channels = append(channels, recorded(ts, f0, level, seedOf(args[0], i)))
	}
	ts.Check(wavfile.Write(ts.MkAbs(args[0]), wavfile.Format{Rate: 8000, Bits: 24}, channels...))
}

// seedOf gives every channel of every file its own noise.
func seedOf(file string, channel int) int64 {
	h := fnv.New64a()
	fmt.Fprint(h, file, channel)
	return int64(h.Sum64() >> 1)
}

func recorded(ts *testscript.TestScript, f0 float64, level string, seed int64) []float64 {
	if level == "zero" {
		return make([]float64, 80000)
	}
	c := bench.Comb{Rate: 8000, Seconds: 10, Track: bench.Steady(f0), FloorDBFSHz: -130, Seed: seed}
	if level != "none" {
		dBFS, err := strconv.ParseFloat(level, 64)
		ts.Check(err)
		for i, down := range []float64{0, 6, 20} {
			c.Lines = append(c.Lines, bench.LineSpec{Harmonic: i + 1, PowerDBFS: dBFS - down, Phase: float64(i)})
		}
	}
	made, err := c.Make()
	ts.Check(err)
	return made.Samples
}

// tone FILE HZ DBFS simulates three seconds of a tone at 8 kHz.
func tone(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: tone FILE HZ DBFS")
	}
	hz, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	dBFS, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	c := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: 1,
		Tones: []bench.ToneSpec{{Hz: hz, PowerDBFS: dBFS}}}
	made, err := c.Make()
	ts.Check(err)
	ts.Check(wavfile.Write(ts.MkAbs(args[0]), wavfile.Format{Rate: 8000, Bits: 24}, made.Samples))
}

// survey FILE DBFS... simulates ten seconds of hum at each level, one after the
// other, at 8 kHz.
func survey(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: survey FILE DBFS...")
	}
	var x []float64
	for i, level := range args[1:] {
		x = append(x, recorded(ts, 50.02, level, seedOf(args[0], i))...)
	}
	ts.Check(wavfile.Write(ts.MkAbs(args[0]), wavfile.Format{Rate: 8000, Bits: 24}, x))
}

// exits CODE COMMAND ARGS... runs a command and checks its exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND ARGS...")
	}
	code := 0
	err := ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		code = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if strconv.Itoa(code) != args[0] {
		ts.Fatalf("exit code %d, want %s", code, args[0])
	}
}

// empty DIR... checks that folders hold no file, with "!" that they hold some.
func empty(ts *testscript.TestScript, neg bool, args []string) {
	for _, dir := range args {
		found, err := filepath.Glob(filepath.Join(ts.MkAbs(dir), "*"))
		ts.Check(err)
		if (len(found) == 0) == neg {
			ts.Fatalf("%s holds %s", dir, strings.Join(found, ", "))
		}
	}
}

// tear DIR cuts off the end of every file in a folder.
func tear(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: tear DIR")
	}
	found, err := filepath.Glob(filepath.Join(ts.MkAbs(args[0]), "*"))
	ts.Check(err)
	for _, path := range found {
		st, err := os.Stat(path)
		ts.Check(err)
		ts.Check(os.Truncate(path, st.Size()/2))
	}
}
