package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/note"
	"humdiff/report/batch"
	"humdiff/report/page"
	"humdiff/report/plan"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/table"
)

// cardRows fit on one page, if cables have short names.
const cardRows = 32

// sitting is what is to be recorded; no cables where none were named.
func (f planned) sitting() (s plan.Sitting, err error) {
	if f.cables == "" {
		return s, nil
	}
	if s.Cables, err = listed("cables", f.cables); err != nil {
		return s, err
	}
	if len(s.Cables) > mostCables {
		return s, misusedf("plan several sittings", "--cables names more than %d", mostCables)
	}
	if s.Exposures, err = listed("exposures", f.exposures); err != nil {
		return s, err
	}
	if s.Terminations, err = f.ends(); err != nil {
		return s, err
	}
	if s.Witness = strings.TrimSpace(f.witness); slices.Contains(s.Cables, s.Witness) {
		return s, misusedf("leave it out of --cables: the witness is a cable by itself", "the witness %q is among the cables", s.Witness)
	}
	s.Seed, err = f.lot()
	return s, err
}

// listed parts names at their commas.
func listed(flag, said string) (all []string, err error) {
	for name := range strings.SplitSeq(said, ",") {
		name = strings.TrimSpace(name)
		if name == "" || slices.Contains(all, name) {
			return nil, misusedf("list names, each once, parted by commas", "--%s %q", flag, said)
		}
		all = append(all, name)
	}
	return all, nil
}

func (f planned) ends() (all []float64, err error) {
	if f.terminations == "" {
		return []float64{math.NaN()}, nil
	}
	words, err := listed("terminations", f.terminations)
	if err != nil {
		return nil, err
	}
	for _, w := range words {
		ohms, err := farEnd(w)
		if err != nil {
			return nil, misused(err)
		}
		if slices.Contains(all, ohms) {
			return nil, misusedf("list each once", "--terminations %q has one twice", f.terminations)
		}
		all = append(all, ohms)
	}
	return all, nil
}

// lot is the seed, given or drawn; short enough to be typed.
func (f planned) lot() (uint64, error) {
	if f.seed == "" {
		return 1 + rand.Uint64N(999_999), nil
	}
	n, err := strconv.ParseUint(f.seed, 10, 53) // what JSON numbers hold
	if err != nil {
		return 0, misusedf("write a whole number, such as 7", "--seed %s is no number of up to 15 digits", f.seed)
	}
	return n, nil
}

// write puts the order into the result, and what is asked for into the folder.
// Nothing that is there already is written over: runs.csv is filled in by hand.
func (f planned) write(ctx context.Context, r *result.Plan, sit plan.Sitting, seconds float64) (err error) {
	for _, name := range []string{"card.html", "session.toml", "runs.csv", "key.toml"} {
		if _, err := os.Lstat(filepath.Join(f.out, name)); f.out != "" && err == nil {
			return &fault.Error{File: filepath.Join(f.out, name), What: "is there already", Hint: "give another folder: nothing is overwritten"}
		}
	}
	hash := ""
	if f.blind {
		key, err := f.letters(&sit)
		if err != nil {
			return err
		}
		hash = key.Hash
		defer func() {
			if err != nil {
				os.Remove(filepath.Join(f.out, "key.toml"))
			}
		}()
	}
	r.Order = f.order(sit, seconds)
	r.Order.KeySHA256 = hash
	if sit.Repeats%2 == 1 {
		r.Warnings = append(r.Warnings, warningOf(note.New("odd_repeats")))
	}
	if f.out == "" {
		return nil
	}
	if len(table.PlanCard(*r.Order).Groups[0].Rows) > cardRows {
		r.Warnings = append(r.Warnings, warningOf(note.New("card_long")))
	}
	card, err := page.Card(*r)
	if err != nil {
		return err
	}
	file, runs := f.session(*r.Order, sit).First()
	return publish.Hand(ctx, f.out, []publish.File{{Name: "card.html", Data: card}, {Name: "session.toml", Data: file}, {Name: "runs.csv", Data: runs}})
}

// letters puts letters for cables, the witness among them.
func (f planned) letters(sit *plan.Sitting) (batch.Key, error) {
	if err := os.MkdirAll(f.out, 0o777); err != nil {
		return batch.Key{}, &fault.Error{File: f.out, What: "the folder cannot be made", Err: err}
	}
	names := slices.Clone(sit.Cables)
	if sit.Witness != "" {
		names = append(names, sit.Witness)
	}
	key, err := batch.NewKey(filepath.Join(f.out, "key.toml"), names)
	if err != nil {
		return key, err
	}
	sit.Cables = nil
	for i := range names {
		letter := string(rune('A' + i))
		if key.Cables[letter] == sit.Witness {
			sit.Witness = letter
		} else {
			sit.Cables = append(sit.Cables, letter)
		}
	}
	return key, nil
}

// order numbers the steps and names their files.
func (f planned) order(sit plan.Sitting, seconds float64) *result.PlanOrder {
	o := &result.PlanOrder{Title: f.title, Seed: sit.Seed, Blind: f.blind, Witness: sit.Witness, Seconds: seconds, Cables: sit.Cables, Exposures: sit.Exposures}
	for i, s := range plan.Order(sit) {
		o.Runs = append(o.Runs, result.PlanRun{Number: i + 1, Block: s.Block, Condition: string(s.Condition), Cable: s.Cable,
			Termination: result.Of(s.Termination), Open: math.IsInf(s.Termination, 1), Exposure: s.Exposure, Repeat: s.Repeat,
			Replaced: s.Replaced, Plug: s.Plug, File: fmt.Sprintf("run%03d-%s.wav", i+1, s.Condition)})
	}
	return o
}

// session is the session of an order, to be filled in.
func (f planned) session(o result.PlanOrder, sit plan.Sitting) session.Session {
	s := session.Session{Path: filepath.Join(f.out, "session.toml"), Title: f.title, RunsFile: "runs.csv", Bench: session.BlankBench(), Playback: session.BlankPlayback(),
		Roles: session.Roles{Witness: o.Witness}}
	s.Bench.FullScale, s.Bench.Gain, s.Bench.Calibration = f.fullScale, f.gain, f.calibration
	s.Bench.MainsHz = map[string]float64{"50": 50, "60": 60}[f.mains.value]
	s.Bench.Notes = fmt.Sprintf("Run order shuffled with the seed %d.", o.Seed)
	for i, step := range plan.Order(sit) {
		file := o.Runs[i].File
		if step.Condition == plan.Calibration {
			if f.tone != "" {
				s.Bench.Calibration = append(s.Bench.Calibration, file+"="+f.tone)
			}
			continue
		}
		s.Runs = append(s.Runs, session.Run{Cable: step.Cable, Termination: step.Termination, Exposure: step.Exposure, Condition: step.Condition,
			Repeat: step.Repeat, Replaced: step.Replaced, Plug: step.Plug, LoadAmps: math.NaN(), Address: capture.Address{Path: file, End: math.Inf(1)}})
	}
	return s
}
