package doc

import (
	"fmt"
	"math"
	"slices"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// sameTone is by how many hertz two readings of one tone may differ.
const sameTone = 0.5

// tonesOnce tells a tone in one warning, with all its places: that it lies on a line, that
// a digital bus makes it, that a total leaves its line out are one thing to a reader.
func tonesOnce(all []model.Warning) (out []model.Warning) {
	told := onLines(all)
	at := map[string]bool{} // places of tones told
	tell := func(n model.Note, w model.Warning) {
		if key := fmt.Sprint(n.Num("tone_hz"), " ", w.Channel, " ", w.File); !at[key] {
			at[key] = true
			out = append(out, model.Warning{Note: n, File: w.File, Channel: w.Channel})
		}
	}
	for _, w := range all {
		switch w.Code {
		case "tone_on_line":
			if t := toneAt(told, w.Num("tone_hz")); t != nil {
				tell(*t, w)
			} else {
				out = append(out, w)
			}
		case "lines_hidden":
			left := slices.DeleteFunc(slices.Clone(listOf(w, "harmonics")), func(h float64) bool {
				return slices.ContainsFunc(told, func(t model.Note) bool { return t.Num("harmonic") == h })
			})
			out = appendLeft(out, w, "harmonics", left)
		case "bus_tones":
			var left []float64
			for _, hz := range listOf(w, "tones_hz") {
				if t := toneAt(told, hz); t != nil {
					tell(*t, w)
				} else if !doubtfulLine(all, w, hz) {
					left = append(left, hz)
				}
			}
			out = appendLeft(out, w, "tones_hz", left)
		default:
			out = append(out, w)
		}
	}
	return out
}

// onLines are the tones on lines, each once, with all that is said of it anywhere.
func onLines(all []model.Warning) (told []model.Note) {
	for _, w := range all {
		hz, h := w.Num("tone_hz"), w.Num("harmonic")
		if w.Code != "tone_on_line" || toneAt(told, hz) != nil {
			continue
		}
		args := []any{"tone_hz", hz, "harmonic", h}
		for _, other := range all {
			switch {
			case other.Code == "bus_tones" && slices.ContainsFunc(listOf(other, "tones_hz"), func(x float64) bool { return math.Abs(x-hz) < sameTone }):
				args = append(args, "bus", true)
			case other.Code == "lines_hidden" && slices.Contains(listOf(other, "harmonics"), h):
				args = append(args, "left_out", true)
			}
		}
		told = append(told, note.New("tone_on_line", args...))
	}
	return told
}

func toneAt(told []model.Note, hz float64) *model.Note {
	for i, t := range told {
		if math.Abs(t.Num("tone_hz")-hz) < sameTone {
			return &told[i]
		}
	}
	return nil
}

// doubtfulLine says that a bus's tone is told already, as one that can't be told from a line.
func doubtfulLine(all []model.Warning, of model.Warning, hz float64) bool {
	return slices.ContainsFunc(all, func(w model.Warning) bool {
		return w.Code == "bus_or_mains" && w.File == of.File && w.Channel == of.Channel && math.Abs(w.Num("bus_hz")-hz) < sameTone
	})
}

func listOf(w model.Warning, name string) []float64 {
	list, _ := w.Get(name).([]float64)
	return list
}

// appendLeft appends a warning with what is left of its list, if anything is.
func appendLeft(out []model.Warning, w model.Warning, name string, left []float64) []model.Warning {
	if len(left) == 0 {
		return out
	}
	w.Note = note.New(w.Code, name, left)
	return append(out, w)
}
