package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"humdiff/fixtures/flacfile"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
)

// What a malformed file of less than 1 MiB may cost, in all: five times the processor's
// time that a sound WAV file of 110 s takes on this machine, and 64 MiB. No malformed
// file decodes to more samples, but FLAC's are dearer, and read twice.
const (
	mostTimes  = 5
	mostMemory = 64 << 10 // KiB
)

// Whatever a file claims, checking it ends soon, in little memory, with a result
// or with an error that names it and never with a crash.
func TestMalformedFilesCostLittle(t *testing.T) {
	kit.Unraced(t)
	dir := t.TempDir()
	status := filepath.Join(dir, "status")
	path := filepath.Join(dir, "a.wav")
	check := func() (*exec.Cmd, time.Duration) {
		c := exec.Command("humdiff", "check", path, "--format", "json")
		c.Env = append(os.Environ(), "GOMAXPROCS=2", "HUMDIFF_STATUS="+status)
		c.Stdout, c.Stderr = new(bytes.Buffer), new(bytes.Buffer)
		c.Run()
		return c, c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	r := rand.New(rand.NewPCG(3, 4))
	sound := make([]float64, 110*48000)
	for i := range sound {
		sound[i] = 1e-5 * r.NormFloat64()
	}
	kit.OK(t, wavfile.Write(path, wavfile.Format{Rate: 48000, Bits: 24}, sound))
	_, usual := check()
	files := wavfile.Malformed()
	for name, file := range flacfile.Malformed() {
		files["FLAC, "+name] = file
	}
	for name, file := range files {
		t.Run(name, func(t *testing.T) {
			if len(file) >= 1<<20 {
				t.Fatalf("%d bytes: not below 1 MiB", len(file))
			}
			kit.OK(t, os.WriteFile(path, file, 0o666))
			c, took := check()
			stdout, stderr := fmt.Sprint(c.Stdout), fmt.Sprint(c.Stderr)
			if code := c.ProcessState.ExitCode(); code != done && code != failed || !strings.HasPrefix(stdout, `{"schema":"humdiff/check/3"`) {
				t.Fatalf("exit %d\n%s%s", code, stdout, stderr)
			} else if code == failed && !strings.Contains(stderr, "humdiff: "+path+": ") {
				t.Errorf("the file is not named: %s", stderr)
			}
			if took > mostTimes*usual {
				t.Errorf("%v of processor time; a sound file takes %v", took, usual)
			}
			if kib := peak(t, status); kib > mostMemory {
				t.Errorf("%d KiB", kib)
			}
		})
	}
}

// peak is the most memory that a process held, KiB, by the status that it left. (What
// its parent is told when it ends counts the parent's own memory too.)
func peak(t *testing.T, status string) int {
	t.Helper()
	text := kit.Must(os.ReadFile(status))(t)
	kit.OK(t, os.Remove(status))
	found := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(text)
	if found == nil {
		t.Fatalf("no peak in %s", text)
	}
	return kit.Must(strconv.Atoi(string(found[1])))(t)
}

// What has no end isn't read: a device or a pipe in place of a result or a session,
// named by the user, by a session or by a report.
func TestEndlessFiles(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe.json")
	kit.OK(t, syscall.Mkfifo(pipe, 0o600))
	session := filepath.Join(dir, "session.toml")
	kit.OK(t, os.WriteFile(session, []byte("runs = \"/dev/zero\"\n"), 0o600))
	for _, file := range []string{"/dev/zero", pipe} {
		for _, args := range [][]string{{"verify", file}, {"figure", file}, {"coupling", file, "--mains-voltage", "230V", "--input", "100kohm"}, {"batch", file}, {"batch", session}, {"bundle", file},
			{"batch", session, "--key", file}, {"plan", "--see", "-150dBFS", "--floor-of", pipe}} {
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			c := exec.CommandContext(ctx, "humdiff", args...)
			said, err := c.CombinedOutput()
			if err == nil || ctx.Err() != nil || !strings.Contains(string(said), "hint: ") {
				t.Errorf("%v: %v: %s", args, err, said)
			}
			cancel()
			if kib := c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss; kib > 3*mostMemory { // its parent's memory counts too
				t.Errorf("%v: %d KiB", args, kib)
			}
		}
	}
}

// Whenever an interrupt comes, or the terminal is closed, there is the whole report or
// nothing of it.
func TestInterruptedWhileWriting(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	ends := []os.Signal{os.Interrupt, syscall.SIGHUP, syscall.SIGTERM}
	outcomes := map[int]int{}
	// On a busy machine the program may take longer than that to begin.
	for wait := 5 * time.Millisecond; wait < 400*time.Millisecond || outcomes[failed] == 0 && wait < 10*time.Second; wait = wait * 3 / 2 {
		top := t.TempDir()
		c := exec.Command("humdiff", "compare", quiet, near, "--out", filepath.Join(top, "a", "report"))
		var stderr bytes.Buffer
		c.Stderr = &stderr
		kit.OK(t, c.Start())
		time.Sleep(wait)
		c.Process.Signal(ends[0])
		ends = append(ends[1:], ends[0])
		c.Wait()
		code := c.ProcessState.ExitCode()
		outcomes[code]++
		_, page := os.Stat(filepath.Join(top, "a", "report", "report.html"))
		_, numbers := os.Stat(filepath.Join(top, "a", "report", "compare.json"))
		above := kit.Must(os.ReadDir(top))(t)
		switch {
		case page == nil && numbers == nil: // it came too late
			hidden, err := filepath.Glob(filepath.Join(top, "a", ".*"))
			if err != nil || len(hidden) > 0 {
				t.Errorf("after %v: %v is left", wait, hidden)
			}
		case len(above) > 0:
			t.Errorf("after %v, exit %d: %v is left: %s", wait, code, above, &stderr)
		case code == failed && !strings.Contains(stderr.String(), "interrupted; nothing was left half-written"):
			t.Errorf("after %v: %s", wait, &stderr)
		}
	}
	if outcomes[failed] == 0 {
		t.Errorf("none was interrupted at work: exit codes %v", outcomes)
	}
}

// A file and a channel at a time: 64 channels with a report, and ten thousand files,
// within 96 MiB. HUMDIFF_MANY tries so many; else it is an eighth of the channels, and
// some of the files.
func TestManyInLittleMemory(t *testing.T) {
	kit.Unraced(t)
	channels, seconds, files := 8, 4, 100
	if os.Getenv("HUMDIFF_MANY") != "" {
		channels, seconds, files = 64, 20, 10_005
	}
	dir := t.TempDir()
	r := rand.New(rand.NewPCG(1, 2))
	samples := make([][]float64, channels)
	for _, name := range []string{"quiet", "near"} {
		for c := range samples {
			samples[c] = make([]float64, seconds*48000)
			for i := range samples[c] {
				samples[c][i] = 1e-3*math.Sin(2*math.Pi*50.01*float64(i)/48000+float64(c)) + 1e-5*r.NormFloat64()
			}
		}
		kit.OK(t, wavfile.Write(filepath.Join(dir, name+".wav"), wavfile.Format{Rate: 48000, Bits: 24}, samples...))
	}
	many := filepath.Join(dir, "many")
	kit.OK(t, os.Mkdir(many, 0o755))
	for i := range files {
		short := samples[0][:2000]
		for j := range short {
			short[j] = 1e-3 * r.NormFloat64()
		}
		kit.OK(t, wavfile.Write(filepath.Join(many, fmt.Sprintf("%d.wav", i)), wavfile.Format{Rate: 1000, Bits: 16}, short))
	}
	status := filepath.Join(dir, "status")
	for _, args := range [][]string{
		{"compare", filepath.Join(dir, "quiet.wav"), filepath.Join(dir, "near.wav"), "--up-to", "500Hz", "--out", filepath.Join(dir, "report")},
		{"check", many},
	} {
		c := exec.Command("humdiff", args...)
		c.Env = append(os.Environ(), "GOMAXPROCS=2", "HUMDIFF_STATUS="+status)
		var stderr bytes.Buffer
		c.Stderr = &stderr
		begin := time.Now()
		if err := c.Run(); err != nil {
			t.Errorf("%s: %v: %s", args[0], err, stderr.Bytes()[:min(300, stderr.Len())])
		}
		kib := peak(t, status)
		t.Logf("%s: %d KiB, %v", args[0], kib, time.Since(begin).Round(time.Second))
		if kib > 96<<10 {
			t.Errorf("%s: %d KiB", args[0], kib)
		}
	}
}
