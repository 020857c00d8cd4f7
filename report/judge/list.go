package judge

import (
	"fmt"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// list gathers warnings in the order in which they arise, each once.
type list struct {
	said []model.Warning
	seen map[string]bool
}

func (l *list) add(at model.Side, code string, args ...any) {
	l.once(model.Warning{Note: note.New(code, args...), File: at.File, Channel: at.Channel})
}

// once adds what hasn't been said yet.
func (l *list) once(all ...model.Warning) {
	for _, w := range all {
		key := fmt.Sprintf("%q %d %v", w.File, w.Channel, w.Note) // numbers that aren't there never equal themselves
		if l.seen[key] {
			continue
		}
		if l.seen == nil {
			l.seen = map[string]bool{}
		}
		l.seen[key] = true
		l.said = append(l.said, w)
	}
}

func (l *list) all() []model.Warning { return append([]model.Warning{}, l.said...) }

// everything is the place of a warning that concerns all.
var everything = model.Side{}
