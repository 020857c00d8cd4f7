package measure

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
	"humdiff/report/model"
)

// Check looks at captures, several at a time: what each is, and what its samples
// say. One that can't be used doesn't stop the others, and its Problem says why;
// only ctx's end does. They come in the order of the addresses.
func Check(ctx context.Context, captures []capture.Address, opt Options) ([]model.CheckedFile, []model.Warning, error) {
	r := newReader(opt)
	files, said := make([]model.CheckedFile, len(captures)), make([][]model.Warning, len(captures))
	var all shelf
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for i, addr := range captures {
		work.Go(func() error {
			var read []channel
			files[i], said[i], read = r.check(ctx, addr)
			all.put(i, read)
			return nil
		})
	}
	_ = work.Wait() // of faults each file tells its own
	said = append(said, all.copies(ctx), oddOnes(files))
	return files, model.Once(said...), ctx.Err()
}

// check opens, hashes and measures one file; a fault of one of them leaves what
// the others found.
func (r reader) check(ctx context.Context, addr capture.Address) (model.CheckedFile, []model.Warning, []channel) {
	file, err := capture.Open(addr)
	if err != nil {
		return Unusable(fault.In(addr.Path, err)), nil, nil
	}
	f := checked(file.Info())
	channels, err := r.channels(ctx, file)
	hash, unhashed := file.Hash(ctx)
	f.SHA256 = hash
	if err != nil && ctx.Err() == nil && file.Channels() <= mostUnmeasured {
		channels = r.unmeasured(ctx, file)
	}
	said := at(model.Side{File: addr.Path}, file.Warnings()...)
	for _, c := range channels {
		f.Channels = append(f.Channels, model.CheckedChannel{Channel: c.Channel, Mains: c.Mains, Health: c.Health})
		said = append(said, c.warnings...)
	}
	if err := cmp.Or(err, unhashed); err != nil {
		f.Problem = problem(err)
	}
	return f, said, channels
}

// mostUnmeasured is how many channels of a file that can't be measured are looked
// at: more than recorders have, and few enough for a header that claims as many as
// it has bytes to cost nothing.
const mostUnmeasured = 128

// unmeasured is what the samples of a file say that can't be measured, being too
// short, say; nothing where they can't be read.
func (r reader) unmeasured(ctx context.Context, file *capture.File) []channel {
	all, err := health.Of(ctx, file)
	if err != nil {
		return nil
	}
	var channels []channel
	for i, facts := range all {
		m := mains.Measurement{Warnings: facts.Warnings()}
		m.Health.Facts = facts
		channels = append(channels, r.channel(sideOf(file.Info(), i, ""), m))
	}
	return channels
}

// Unusable is a file, or a folder, of which nothing is known but why it can't be
// used: err, a *fault.Error that names it.
func Unusable(err error) model.CheckedFile {
	none := model.None
	f := model.CheckedFile{Metadata: model.Metadata{Texts: []model.Text{}}, Channels: []model.CheckedChannel{}, Problem: problem(err),
		RateHz: none, Bits: none, Count: none, Frames: none, FileS: none, StartS: none, EndS: none}
	var e *fault.Error
	if errors.As(err, &e) {
		f.File = e.File
	}
	return f
}

// checked is what a file's header says.
func checked(i capture.Info) model.CheckedFile {
	return model.CheckedFile{
		File: i.Path, Container: i.Container, Format: i.Format, Float: i.Float,
		RateHz: model.Num(i.Rate), Bits: model.Num(i.Bits), Count: model.Num(i.Channels),
		Frames: model.Num(i.FileFrames), FileS: model.Of(float64(i.FileFrames) / float64(i.Rate)),
		StartS: model.Of(i.StartS), EndS: model.Of(i.EndS),
		Metadata: metadata(i.Metadata), Channels: []model.CheckedChannel{},
	}
}

// problem is an error without the file's name.
func problem(err error) model.Problem {
	var e *fault.Error
	if errors.As(err, &e) {
		return model.Problem{What: e.What, Hint: e.Hint}
	}
	return model.Problem{What: err.Error()}
}

func metadata(m capture.Metadata) model.Metadata {
	out := model.Metadata{Source: m.Source, Texts: []model.Text{}}
	if !m.Recorded.IsZero() {
		layout := "2006-01-02T15:04:05"
		if m.DayOnly {
			layout = "2006-01-02"
		}
		out.Recorded = m.Recorded.Format(layout)
	}
	for _, t := range m.Texts {
		out.Texts = append(out.Texts, model.Text(t))
	}
	return out
}
