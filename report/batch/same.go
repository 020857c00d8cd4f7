package batch

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"humdiff/fft/fault"
	"humdiff/fft/likeness"
	"humdiff/fft/note"
	"humdiff/report/model"
	"humdiff/report/session"
)

// oneRecording refuses runs that are one recording: copies listed as repeats would
// bear witness to each other. Their files may differ: the samples decide. Digital
// silence is no recording.
func (b *Batch) oneRecording() error {
	var all []error
	for i, o := range b.runs {
		for j, before := range b.runs[:i] {
			if b.recorded(i) && b.recorded(j) && sameSamples(before.cable.Side, o.cable.Side) {
				all = append(all, b.twice(j, i, "hold the same samples"))
				break
			}
		}
	}
	return errors.Join(all...)
}

func (b *Batch) recorded(i int) bool {
	c := b.runs[i].cable
	return c != nil && !c.Health.Silent && b.File.Sitting.Runs[i].LeftOut == ""
}

// sameSamples says whether two sides share samples, whatever files hold them.
func sameSamples(a, b model.Side) bool {
	return a.Overlaps(b) || a.Decoded != "" && a.Decoded == b.Decoded
}

// copies refuses runs that are one recording saved again: trimmed, softer, in another
// format. Such files share no sample, but their noise is the same. What only may be a
// copy is asked about.
func (b *Batch) copies(ctx context.Context) error {
	var list []likeness.Side
	var runs []int
	for i, o := range b.runs {
		if side, ok := b.side(i); ok && b.recorded(i) && o.kept {
			list, runs = append(list, side), append(runs, i)
		}
	}
	shared := func(i, j int) bool { return b.runs[runs[i]].cable.SHA256 == b.runs[runs[j]].cable.SHA256 }
	found, err := likeness.Copies(ctx, list, shared)
	if err != nil {
		return err
	}
	var all []error
	for _, c := range found {
		first, second := runs[c.Of], runs[c.At]
		if c.Verdict == likeness.Same {
			all = append(all, b.twice(first, second, fmt.Sprintf("hold the same noise, the second from %.2f s of the first on", c.LagS)))
			continue
		}
		o := &b.runs[second]
		o.warnings = append(slices.Clone(o.warnings), Ask(c, NameOf(b.File, b.File.Sitting.Runs[first]), *o.cable))
	}
	return errors.Join(all...)
}

// Ask is the warning that a run's capture may be a copy of another.
func Ask(c likeness.Copy, other string, of model.Capture) model.Warning {
	n := note.New(model.PerhapsCopy, "correlation", model.Places(c.Correlation, 3), "other", other)
	return model.Warning{Note: n, File: of.File, Channel: of.Channel}
}

// side is a run's channel as it is compared; not ok where it can't be read any more.
func (b *Batch) side(i int) (likeness.Side, bool) {
	c := b.runs[i].cable
	if c == nil {
		return likeness.Side{}, false
	}
	file, err := b.open(b.File.Sitting.Runs[i])
	if err == nil {
		file, err = file.Only(c.Channel)
	}
	return likeness.Side{Source: file, StartS: c.StartS, Mark: c.Mark()}, err == nil
}

// Copy says why a session can't be judged: two of its runs, which count from 1, are one
// recording.
type Copy struct {
	First, Second int
	why           error
}

func (c Copy) Error() string { return c.why.Error() }

// Unwrap gives what to do about it.
func (c Copy) Unwrap() error { return c.why }

// Copies are those that an error of Measure tells of.
func Copies(err error) (all []Copy) {
	var one Copy
	if many, is := err.(interface{ Unwrap() []error }); is {
		for _, e := range many.Unwrap() {
			all = append(all, Copies(e)...)
		}
	} else if errors.As(err, &one) {
		all = append(all, one)
	}
	return all
}

// twice says that two runs are one recording, by what they have in common.
func (b *Batch) twice(first, second int, by string) error {
	f, s := b.File.Sitting.Runs[first], b.File.Sitting.Runs[second]
	list := b.File.RunsFile
	if list == "" {
		list = b.File.Path
	}
	return Copy{first + 1, second + 1, &fault.Error{File: list, Hint: "list each recording once, or say under left_out why one of them isn't used",
		What: fmt.Sprintf("runs %d and %d (lines %d and %d: %s; %s) are one recording: %s and %s %s",
			f.Number, s.Number, f.Line, s.Line, session.Name(f), session.Name(s), NameOf(b.File, f), NameOf(b.File, s), by)}}
}
