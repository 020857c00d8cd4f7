package assemble

import (
	"cmp"
	"context"
	"errors"
	"runtime"

	"golang.org/x/sync/errgroup"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/health"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/report/result"
)

// Checked is one file looked at, as far as that went.
type Checked struct {
	Path     string
	Info     capture.Info // empty where the file can't be opened
	Hash     string       // empty where it can't be read
	Channels []Channel
	Warnings []note.Note
	Err      error // why it can't be used
}

// Check looks at captures, several at a time: what each is, and what its samples
// say. One that can't be used doesn't stop the others; only ctx's end does. They come
// in the order of the addresses.
func Check(ctx context.Context, captures []capture.Address, opt mains.Options) ([]Checked, error) {
	r := reader{opt: opt, tally: &tally{report: opt.Progress}}
	all := make([]Checked, len(captures))
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, addr := range captures {
		work.Go(func() error {
			all[i] = r.check(ctx, addr)
			return nil
		})
	}
	work.Wait()
	return all, ctx.Err()
}

// check opens, hashes and measures one file; a fault of one of them leaves what
// the others found.
func (r reader) check(ctx context.Context, addr capture.Address) Checked {
	c := Checked{Path: addr.Path}
	file, err := capture.Open(addr)
	if err != nil {
		c.Err = err
		return c
	}
	c.Info = file.Info()
	file.HashInPassing()
	measured, err := r.measure(ctx, file, r.opt)
	var unhashed error
	c.Hash, unhashed = file.Hash(ctx)
	c.Err = cmp.Or(err, unhashed)
	if c.Err == nil {
		for i, m := range measured {
			c.Channels = append(c.Channels, Channel{Side: sideOf(c.Info, i, c.Hash), Measurement: m})
		}
	}
	if err != nil && ctx.Err() == nil && file.Channels() <= mostUnmeasured {
		c.Channels = unmeasured(ctx, file, c)
	}
	c.Warnings = file.Warnings()
	return c
}

// mostUnmeasured is how many channels of a file that can't be measured are looked
// at: more than recorders have, and few enough for a header that claims as many as
// it has bytes to cost nothing.
const mostUnmeasured = 128

// unmeasured is what the samples of a file say that can't be measured, being too
// short, say; nothing where they can't be read.
func unmeasured(ctx context.Context, file *capture.File, c Checked) []Channel {
	all, err := health.Of(ctx, file)
	if err != nil {
		return nil
	}
	var channels []Channel
	for i, facts := range all {
		m := mains.Measurement{Warnings: facts.Warnings()}
		m.Health.Facts = facts
		channels = append(channels, Channel{Side: sideOf(c.Info, i, c.Hash), Measurement: m})
	}
	return channels
}

// CheckResult states what was found.
func CheckResult(version string, all []Checked) result.Check {
	r := result.Check{Schema: result.CheckSchema, Tool: result.Tool{Version: version}, Files: []result.CheckedFile{}}
	var w warnings
	for _, c := range all {
		r.Files = append(r.Files, c.file())
		w.pass(result.Side{File: c.Path}, c.Warnings)
		for _, channel := range c.Channels {
			w.channel(channel)
		}
	}
	r.Warnings = w.list()
	return r
}

func (c Checked) file() result.CheckedFile {
	f := result.CheckedFile{File: c.Path, SHA256: c.Hash, Metadata: metadata(c.Info.Metadata), Channels: []result.CheckedChannel{},
		RateHz: result.None, Bits: result.None, Count: result.None, Frames: result.None,
		FileS: result.None, StartS: result.None, EndS: result.None}
	if i := c.Info; i.Rate > 0 {
		f.Container, f.Format, f.Float = i.Container, i.Format, i.Float
		f.RateHz, f.Bits, f.Count = result.Num(i.Rate), result.Num(i.Bits), result.Num(i.Channels)
		f.Frames, f.FileS = result.Num(i.FileFrames), result.Num(float64(i.FileFrames)/float64(i.Rate))
		f.StartS, f.EndS = result.Num(i.StartS), result.Num(i.EndS)
	}
	for _, channel := range c.Channels {
		f.Channels = append(f.Channels, result.CheckedChannel{Channel: channel.Channel, Mains: captureMains(channel.Mains), Health: healthOf(channel.Health)})
	}
	if c.Err != nil {
		f.Problem = problem(c.Err)
	}
	return f
}

// problem is an error without the file's name.
func problem(err error) result.Problem {
	var e *fault.Error
	if errors.As(err, &e) {
		return result.Problem{What: e.What, Hint: e.Hint}
	}
	return result.Problem{What: err.Error()}
}

func metadata(m capture.Metadata) result.Metadata {
	out := result.Metadata{Source: m.Source, Texts: []result.Text{}}
	if !m.Recorded.IsZero() {
		layout := "2006-01-02T15:04:05"
		if m.DayOnly {
			layout = "2006-01-02"
		}
		out.Recorded = m.Recorded.Format(layout)
	}
	for _, t := range m.Texts {
		out.Texts = append(out.Texts, result.Text(t))
	}
	return out
}
