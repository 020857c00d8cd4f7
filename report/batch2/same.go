package batch

import (
	"errors"
	"fmt"

	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/session2"
)

// oneRecording refuses runs that are one recording: copies listed as repeats would
// bear witness to each other. Their files may differ: the samples decide. Digital
// silence is no recording.
func (b *Batch) oneRecording() error {
	var all []error
	for i, o := range b.runs {
		for j, before := range b.runs[:i] {
			if b.recorded(i) && b.recorded(j) && sameSamples(before.cable.Side, o.cable.Side) {
				all = append(all, b.twice(j, i))
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
	return a.Overlaps(b) || a.Decoded != "" && a.Decoded == b.Decoded && a.StartS < b.EndS && b.StartS < a.EndS
}

// twice says that two runs are one recording.
func (b *Batch) twice(first, second int) error {
	f, s := b.File.Sitting.Runs[first], b.File.Sitting.Runs[second]
	list := b.File.RunsFile
	if list == "" {
		list = b.File.Path
	}
	return &fault.Error{File: list, Hint: "list each recording once, or say under left_out why one of them isn't used",
		What: fmt.Sprintf("runs %d and %d (lines %d and %d: %s; %s) are one recording: %s and %s hold the same samples",
			f.Number, s.Number, f.Line, s.Line, session.Name(f), session.Name(s), nameOf(b.File, f), nameOf(b.File, s))}
}
