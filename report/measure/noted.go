package measure

import (
	"humdiff/fft/capture"
	"humdiff/fft/note"
)

// noted is what the samples and the file say, as notes.
func noted(list []capture.Warning) []note.Note {
	out := make([]note.Note, len(list))
	for i, w := range list {
		out[i] = note.New(w.Code, "message", w.Message)
	}
	return out
}
