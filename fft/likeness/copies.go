package likeness

import (
	"context"
	"errors"
	"io"

	"humdiff/fft/capture"
)

// Copy is a capture of a list that is one recording with an earlier one, or may be.
type Copy struct {
	Of, At int // places in the list: the earlier, and the copy
	Answer     // Same or Ask
}

// Copies are the copies in a list of captures, each told once: with the first that is
// surely the same, else with the first that may be. Pairs that skip says are left out.
// Errors are the sources' and ctx's.
func Copies(ctx context.Context, list []Side, skip func(i, j int) bool) ([]Copy, error) {
	marks := make([]Mark, len(list))
	for i, s := range list {
		marks[i] = s.Mark
	}
	var found []Copy
	for _, p := range Suspects(marks) {
		last := len(found) - 1
		told := last >= 0 && found[last].At == p.Second
		if skip(p.First, p.Second) || told && found[last].Verdict == Same {
			continue
		}
		answer, err := Compare(ctx, list[p.First], list[p.Second])
		if err != nil {
			return nil, err
		}
		one := Copy{p.First, p.Second, answer}
		switch {
		case told && answer.Verdict == Same:
			found[last] = one
		case !told && (answer.Verdict == Same || answer.Verdict == Ask):
			found = append(found, one)
		}
	}
	return found, nil
}

// Read takes the marks of a source, one a channel, in a pass of its own.
func Read(ctx context.Context, src capture.Source) (marks []Mark, err error) {
	r, err := src.Open(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	p := NewPass(src.Rate(), src.Frames(), src.Channels())
	buffer, frames := make([][]float64, src.Channels()), make([][]float64, src.Channels())
	for c := range buffer {
		buffer[c] = make([]float64, 8192)
	}
	for {
		n, err := r.Read(buffer)
		if err == io.EOF {
			return p.Marks(), nil
		}
		if err != nil {
			return nil, err
		}
		for c, x := range buffer {
			frames[c] = x[:n]
		}
		p.Push(frames)
	}
}
