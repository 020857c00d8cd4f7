package wire

import "humdiff/report/model"

// says is a note's sentence.
func says(n model.Note) string { return n.Code }
