package likeness

import (
	"context"

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
func Read(ctx context.Context, src capture.Source) ([]Mark, error) {
	p := NewPass(src.Rate(), src.Frames(), src.Channels())
	if err := capture.Each(ctx, src, nil, p.Push); err != nil {
		return nil, err
	}
	return p.Marks(), nil
}
