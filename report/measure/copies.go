package measure

import (
	"context"

	"humdiff/fft/likeness"
	"humdiff/fft/note"
	"humdiff/report/model"
)

// copies says of each pair's near what of quiet is in it. Where the first pair that has
// noise to compare is of two recordings, so are the others. It finds no copy that runs at
// another speed: that would take ten times as long.
func copies(ctx context.Context, pairs []channels, all []Sides) error {
	for i, p := range pairs {
		q, n := p.quiet, p.near
		if q.Decoded == n.Decoded || q.Overlaps(n.Side) {
			continue // that shows by itself
		}
		if len(likeness.Suspects([]likeness.Mark{q.Mark(), n.Mark()})) == 0 {
			if q.Sketch.Data != nil && n.Sketch.Data != nil {
				return nil
			}
			continue
		}
		answer, err := compareRecordings(ctx, q, n)
		if err != nil {
			return err
		}
		said, same := copySaid(answer, model.Quiet)
		all[i].OneRecording = same
		all[i].Warnings = append(all[i].Warnings, at(n.Side, said...)...)
	}
	return nil
}

// compareRecordings says whether two channels are one recording.
func compareRecordings(ctx context.Context, a, b channel) (likeness.Answer, error) {
	p, err := a.side()
	if err != nil {
		return likeness.Answer{}, err
	}
	q, err := b.side()
	if err != nil {
		return likeness.Answer{}, err
	}
	return likeness.Compare(ctx, p, q)
}

func (c channel) side() (likeness.Side, error) {
	source, err := c.source.Only(c.Channel)
	return likeness.Side{Source: source, Mark: c.Mark(), StartS: c.StartS}, err
}

// copySaid is what is to be said of an answer; other is the first capture.
func copySaid(a likeness.Answer, other string) (said []note.Note, same bool) {
	switch a.Verdict {
	case likeness.Same:
		said = append(said, note.New(model.SameRecording, "lag_s", model.Places(a.LagS, 6), "gain_db", model.Places(a.GainDB, 1), "inverted", a.Inverted, "correlation", model.Places(a.Correlation, 3),
			"seconds", model.Places(a.OverlapS, 3), "other", other))
	case likeness.Ask:
		said = append(said, note.New(model.PerhapsCopy, "correlation", model.Places(a.Correlation, 3), "other", other))
	}
	return said, a.Verdict == likeness.Same
}
