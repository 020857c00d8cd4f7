package verify

import (
	"context"
	"slices"

	"humdiff/fft/capture"
	"humdiff/fft/likeness"
	"humdiff/report/batch"
	"humdiff/report/model"
	"humdiff/report/session"
)

// warnings compares what was noticed of the session's files and captures: leaving a
// warning out is how a bad capture would be hidden. Of files that aren't at hand it says
// nothing.
func (a *sessionAgain) warnings(ctx context.Context) error {
	file := a.file
	if file == nil {
		file = &session.File{Sitting: a.reported.Sitting}
	}
	noticed := make([][]model.Warning, len(a.reported.Runs))
	found := map[string]bool{}
	for _, c := range a.channels {
		found[batch.NameOf(*file, a.reported.Runs[c.run])] = c.found
		if len(noticed[c.run]) == 0 {
			noticed[c.run] = c.warned // of all channels that were measured with it
		}
	}
	if a.file != nil {
		if err := a.copies(ctx, noticed); err != nil {
			return err
		}
	}
	made := batch.Noticed(*file, noticed)
	said := slices.Clone(a.reported.Warnings)
	unknown := func(w model.Warning) bool {
		return w.File == "" || a.file == nil && (!found[w.File] || w.Code == model.PerhapsCopy)
	}
	return a.v.parts("warnings", slices.DeleteFunc(said, unknown), slices.DeleteFunc(made, unknown))
}

// copies adds that runs may be copies of others, as a batch does.
func (a *sessionAgain) copies(ctx context.Context, noticed [][]model.Warning) error {
	var list []likeness.Side
	var of []channel
	for _, c := range a.channels {
		r := a.reported.Runs[c.run]
		if c.idle || c.again == nil || c.again.Health.Silent || r.LeftOut != "" || r.Measured != "" {
			continue
		}
		file, err := capture.Open(c.address)
		if err == nil {
			file, err = file.Only(c.said.Channel)
		}
		if err != nil {
			return err
		}
		list, of = append(list, likeness.Side{Source: file, StartS: c.again.StartS, Mark: c.again.Mark()}), append(of, c)
	}
	found, err := likeness.Copies(ctx, list, func(i, j int) bool { return of[i].said.SHA256 == of[j].said.SHA256 })
	if err != nil {
		return err
	}
	for _, c := range found {
		first, second := of[c.Of], of[c.At]
		if c.Verdict == likeness.Same {
			a.v.differs("runs", exactly, "two recordings", "one: "+first.said.File+" and "+second.said.File)
			continue
		}
		noticed[second.run] = append(slices.Clone(noticed[second.run]), batch.Ask(c, first.said.File, *second.again))
	}
	return nil
}
