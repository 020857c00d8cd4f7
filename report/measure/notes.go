package measure

import (
	"fmt"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// notes gathers warnings in the order in which they arise, each once.
type notes struct {
	said []model.Warning
	seen map[string]bool
}

// take takes in what hasn't been said yet.
func (n *notes) take(warnings ...model.Warning) {
	if n.seen == nil {
		n.seen = map[string]bool{}
	}
	for _, w := range warnings {
		key := fmt.Sprintf("%q %d %s %v", w.File, w.Channel, w.Code, w.Args)
		if !n.seen[key] {
			n.seen[key] = true
			n.said = append(n.said, w)
		}
	}
}

// list is what was said; never nil.
func (n *notes) list() []model.Warning { return append([]model.Warning{}, n.said...) }

func (n *notes) add(at model.Side, code string, namesAndValues ...any) {
	n.take(model.Warning{Note: note.New(code, namesAndValues...), File: at.File, Channel: at.Channel})
}

// at places notes.
func at(place model.Side, list []note.Note) []model.Warning {
	placed := make([]model.Warning, len(list))
	for i, said := range list {
		placed[i] = model.Warning{Note: said, File: place.File, Channel: place.Channel}
	}
	return placed
}

// fileOf is the place of what concerns a whole file.
func fileOf(s model.Side) model.Side { return model.Side{File: s.File} }

// mostFilled is the share of the noise band that may be interpolated unsaid.
const mostFilled = 0.5

// interpolated says where lines and tones leave little of the noise to be read.
func interpolated(filled float64) []note.Note {
	if filled <= mostFilled {
		return nil
	}
	return []note.Note{note.New("noise_interpolated", "share", model.Digits(filled, 3))}
}
