// Package session reads what a reviewer writes down of one sitting at the bench,
// a session file and the list of runs it names, and writes it again; from the
// names of captures it makes a first one. It knows captures by their addresses
// only: it measures nothing and judges nothing.
package session

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// File is a session as its file states it. Files are named in it as it names
// them; Locate says where they are.
type File struct {
	Path     string
	RunsFile string  // the CSV that lists the runs, as written; empty: the session file does
	Seconds  float64 // how long each capture is to be; 0: nobody said
	Sitting  model.Sitting
	Warnings []model.Warning // noticed while reading

	Moved map[string]string // where files lie that aren't where their names say, by these
}

// Locate is where a file is that the session names: relative names count from
// the session file's folder. What an address or a calibration has behind it stays.
func (f File) Locate(name string) string {
	longest := ""
	for file := range f.Moved {
		if behind, ok := strings.CutPrefix(name, file); ok && (behind == "" || strings.Contains("#=", behind[:1])) && len(file) > len(longest) {
			longest = file
		}
	}
	if longest != "" {
		return f.Moved[longest] + name[len(longest):]
	}
	name = filepath.FromSlash(name)
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(f.Path), name)
}

// Capture is the address of a run's capture as it can be opened; of one that has
// none, an error. What looks like a fragment is part of the name where a file of
// the whole name is there.
func (f File) Capture(r model.Run) (capture.Address, error) {
	return capture.ParseAddress(f.Locate(r.Address))
}

// Named is the file of a run's capture as the session names it, without channel
// and span.
func (f File) Named(r model.Run) string {
	at, err := f.Capture(r)
	if err != nil || r.Address == "" {
		return r.Address
	}
	return f.named(r.Address, at)
}

// named is the file of what the session says, which lies at an address.
func (f File) named(said string, at capture.Address) string {
	return strings.TrimSuffix(said, f.Locate(said)[len(at.Path):])
}

// Tones are the bench's calibrations, their captures as they can be opened.
func (f File) Tones() (all []unit.Tone, err error) {
	for _, said := range f.Sitting.Bench.Calibration {
		tone, err := unit.ParseTone(f.Locate(said))
		if err != nil {
			return nil, err
		}
		tone.Name = f.named(said, tone.Address)
		all = append(all, tone)
	}
	return all, nil
}

// Cables are the cables of some runs, each once, in the order in which they come.
func Cables(runs []model.Run) []string {
	return each(runs, func(r model.Run) string { return r.Cable })
}

// Exposures are theirs.
func Exposures(runs []model.Run) []string {
	return each(runs, func(r model.Run) string { return r.Exposure })
}

func each(runs []model.Run, of func(model.Run) string) (all []string) {
	for _, r := range runs {
		if v := of(r); v != "" && !slices.Contains(all, v) {
			all = append(all, v)
		}
	}
	return all
}

// Name tells a run from others, for messages: "Grebe, 20 ohms, beside, near, repeat 2".
func Name(r model.Run) string {
	end := ""
	switch {
	case r.Termination.Open:
		end = "open"
	case r.Termination.Ohms.Ok():
		end = unit.Decimal(float64(r.Termination.Ohms)) + " ohms"
	}
	parts := []string{r.Cable, end, r.Exposure, r.Condition, fmt.Sprintf("repeat %d", r.Repeat)}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}

// What nobody stated.

// Blank is a sitting of which nothing is stated.
func Blank() model.Sitting {
	none := model.None
	return model.Sitting{Runs: []model.Run{}, Claims: []model.Claim{},
		Drive: model.DriveBench{ShuntOhms: none, ShuntWithin: none, CableFarads: none, CableWithin: none, LeadAmps: none, LeadWithin: none},
		Bench: model.Bench{MainsVolts: none, MainsHz: none, InputOhms: none, InputFarads: none, SpacingMM: none, ParallelMM: none,
			MainsVoltsWithin: none, InputOhmsWithin: none, InputFaradsWithin: none, Calibration: []string{}, Photos: []model.Photo{}}}
}

// BlankRun is a run of which nothing is stated.
func BlankRun() model.Run {
	return model.Run{Termination: model.Termination{Ohms: model.None}, Repeat: 1, LoadAmps: model.None, Guessed: []string{}, Against: []int{}}
}

func blankClaim() model.Claim {
	return model.Claim{DB: model.None, Volts: model.None, Limit: model.NoLimit(), Termination: model.Termination{Ohms: model.None},
		ClaimFound: model.ClaimFound{P: model.None, Parts: []model.ClaimPart{}, Reasons: []model.Note{}}}
}
