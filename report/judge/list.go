package judge

import (
	"humdiff/fft/note"
	"humdiff/report/model"
)

// list gathers warnings in the order in which they arise.
type list []model.Warning

func (l *list) add(at model.Side, code string, args ...any) {
	*l = append(*l, model.Warning{Note: note.New(code, args...), File: at.File, Channel: at.Channel})
}

// everything is the place of a warning that concerns all.
var everything = model.Side{}
