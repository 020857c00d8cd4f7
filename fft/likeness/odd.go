package likeness

import (
	"math"

	"humdiff/fft/note"
)

// Facts are what is known of a file in a folder of captures.
type Facts struct {
	Name           string
	Rate           int // Hz
	Bits           int
	Channels       int
	Seconds        float64
	NoiseDBFSPerHz float64 // its noise floor where hum doesn't reach; NaN: not known
}

// Codes of odd ones out, each with files, their values, and the value usual in the
// folder.
const (
	oddRate     = "odd_rate"     // files, rates_hz, usual_hz
	oddBits     = "odd_bits"     // files, bits, usual_bits
	oddChannels = "odd_channels" // files, channels, usual_channels
	oddLength   = "odd_length"   // files, seconds, usual_s: half as long as usual or less, or twice or more
	oddFloor    = "odd_floor"    // files, off_db, usual_dbfs_hz: another gain, or another device
)

const (
	leastFiles = 4       // for anything to be usual
	usualShare = 2.0 / 3 // of the files
	// floorDB is a step in floor that no cable makes between two runs: a turn of a knob.
	floorDB = 6.0
)

// OddOnes names the files of a folder that are unlike two thirds of the others.
func OddOnes(files []Facts) []note.Note {
	var notes []note.Note
	add := func(code, values, usual string, value func(Facts) float64, odd func(x, middle float64) (shown float64, is bool)) {
		if n, found := oddOnes(files, code, values, usual, value, odd); found {
			notes = append(notes, n)
		}
	}
	other := func(x, middle float64) (float64, bool) { return x, x != middle }
	add(oddRate, "rates_hz", "usual_hz", func(f Facts) float64 { return float64(f.Rate) }, other)
	add(oddBits, "bits", "usual_bits", func(f Facts) float64 { return float64(f.Bits) }, other)
	add(oddChannels, "channels", "usual_channels", func(f Facts) float64 { return float64(f.Channels) }, other)
	add(oddLength, "seconds", "usual_s", func(f Facts) float64 { return f.Seconds },
		func(x, middle float64) (float64, bool) { return x, x <= middle/2 || x >= 2*middle })
	add(oddFloor, "off_db", "usual_dbfs_hz", func(f Facts) float64 { return f.NoiseDBFSPerHz },
		func(x, middle float64) (float64, bool) { return x - middle, math.Abs(x-middle) >= floorDB })
	return notes
}

// oddOnes is a note of the files whose value is odd beside the median, where that is
// usual: not odd in two thirds of the files that have one.
func oddOnes(files []Facts, code, values, usual string, value func(Facts) float64, odd func(x, middle float64) (float64, bool)) (note.Note, bool) {
	var known []float64
	for _, f := range files {
		if x := value(f); !math.IsNaN(x) {
			known = append(known, x)
		}
	}
	if len(known) < leastFiles {
		return note.Note{}, false
	}
	all := sorted(known)
	middle := all[len(all)/2] // a value that there is
	var names []string
	var shown []float64
	for _, f := range files {
		x := value(f)
		if math.IsNaN(x) {
			continue
		}
		if show, is := odd(x, middle); is {
			names, shown = append(names, f.Name), append(shown, show)
		}
	}
	if len(names) == 0 || float64(len(known)-len(names)) < usualShare*float64(len(known)) {
		return note.Note{}, false
	}
	return note.New(code, "files", names, values, shown, usual, middle), true
}
