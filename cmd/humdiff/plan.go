package main

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/fault"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/batch"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/plan"
	"humdiff/report/publish"
	"humdiff/report/unit"
)

// planned is the flags of plan.
type planned struct {
	measuring
	showing
	report.Planned
	cables, terminations, exposures, control string
	seed, tone                               string
	blind                                    bool
	out                                      string
}

func planCommand(s screen) *cobra.Command {
	var f planned
	c := &cobra.Command{
		Use:   "plan",
		Short: "What to record: how long, how many repeats, in which order",
		Long: `plan says how long to record to see hum of a given level on a given floor, how
many repeats tell two cables apart, and in which order to record. --out writes a card
to print, a list of runs to fill in and the session file that batch reads. --tones
writes the signal of a known source (see humdiff help bench). Work near mains can
kill: the card has the safety rules.`,
		Example: `  humdiff plan --see -150dBFS --floor -140dBFS/Hz
  humdiff plan --see 1uV --floor-of "quiet.wav" --mains 50 --full-scale 2.0V --gain 40dB
  humdiff plan --tones "tones.wav" --drive 7.75V --floor 20nV/rtHz --see 0.1pF
  humdiff plan --difference 3dB --spread 2dB --cables "Grebe,Rail,Plover"
  humdiff plan --cables "Grebe,Rail" --terminations 20ohm,2kohm --exposures beside,wrapped --witness "Old wire" --out "sitting"`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return misusedf("captures go behind --floor-of, cables behind --cables", "plan takes no %q", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c.Context(), s) },
	}
	f.measuring.add(c)
	f.showing.addForms(c, "text", "markdown", "csv", "json")
	fl := c.Flags()
	fl.StringVar(&f.See, "see", "", "the `LEVEL` of a hum line to be seen, such as -150dBFS or 1uV")
	fl.StringVar(&f.Floor, "floor", "", "the noise `DENSITY` per hertz, such as -140dBFS/Hz or 20nV/rtHz")
	fl.StringVar(&f.FloorOf, "floor-of", "", "instead, the noise in a `CAPTURE`, or in the JSON of humdiff measure")
	fl.StringVar(&f.Harmonic, "harmonic", "1", "with --floor-of: the `NUMBER` of the line beside which the noise counts")
	fl.StringVar(&f.Difference, "difference", "", "`RATIO` between two cables that is to be told, such as 3dB; needs --spread")
	fl.StringVar(&f.Same, "same", "", "`RATIO` within which two cables are to be shown the same, such as 1dB; needs --spread")
	fl.StringVar(&f.Spread, "spread", "", "`RATIO` by which repeats of one cable spread (standard deviation), such as 2dB")
	fl.StringVar(&f.cables, "cables", "", "`NAMES` of the cables, such as \"Grebe,Rail\"")
	fl.StringVar(&f.terminations, "terminations", "", "`IMPEDANCES` at the far end, such as 20ohm,2kohm,open")
	fl.StringVar(&f.exposures, "exposures", "beside", "`NAMES` of how the lead is brought near, such as beside,wrapped")
	fl.StringVar(&f.Repeats, "repeats", "", "`NUMBER` of repeats (default: what --spread asks for, or six)")
	fl.StringVar(&f.control, "witness", "", "positive control: `NAME` of a cable known to leak, recorded first and last")
	fl.StringVar(&f.Record, "record", "", "`TIME` of each capture, such as 60s (default: what --see asks for, or a minute)")
	fl.StringVar(&f.Tones, "tones", "", "write the signal of a known source into `FILE.wav`")
	fl.StringVar(&f.Drive, "drive", "", "with --tones: rms `VOLTAGE` at the wire of a full-scale sine, such as 7.75V")
	fl.StringVar(&f.tone, "tone", "", "`VOLTAGE` of the calibration tone, such as \"1.0V ±0.5%\", for the session file")
	fl.StringVar(&f.Title, "title", "", "`TITLE` of the session")
	fl.StringVar(&f.seed, "seed", "", "`NUMBER` that decides the order (default: drawn by lot, and printed)")
	fl.BoolVar(&f.blind, "blind", false, "letters for cables; key.toml says which is which")
	fl.StringVar(&f.out, "out", "", "write card, list of runs and session file into the folder `DIR`")
	return c
}

func (f planned) run(ctx context.Context, s screen) (err error) {
	if err := f.goTogether(); err != nil {
		return err
	}
	if f.Sitting, err = f.sitting(); err != nil {
		return err
	}
	r := f.request()
	f.Channel, r.Scaling.Channel = int(f.channel), 0
	if r, err = r.Scaled(ctx); err != nil {
		return err
	}
	if err := f.nothingThere(); err != nil {
		return err
	}
	if f.blind {
		key, failed := f.letters()
		if failed != nil {
			return failed
		}
		defer func() {
			if err != nil {
				os.Remove(key)
			}
		}()
	}
	var p model.Plan
	if p, err = during(s, f.noProgress, &r, func() (model.Plan, error) { return report.Plan(ctx, r, f.Planned) }); err != nil {
		return err
	}
	if f.out != "" {
		if err = f.write(ctx, r, p); err != nil {
			return err
		}
	}
	if p.Tones != nil {
		if err = f.playable(*p.Tones); err != nil {
			return err
		}
	}
	if err = f.show(s, &p); err != nil || f.out == "" {
		return err
	}
	_, err = fmt.Fprintf(s.stderr, "Card, list of runs and session file are in %s\n", doc.Printable(filepath.Clean(f.out)))
	return err
}

// goTogether refuses flags that say nothing without another, or contradict one.
func (f planned) goTogether() error {
	switch {
	case f.Floor != "" && f.FloorOf != "":
		return misusedf("leave one of them out", "--floor and --floor-of are two floors")
	case f.See != "" && f.Floor == "" && f.FloorOf == "": // a capacitance needs it as well
		return misusedf("give --floor -140dBFS/Hz, or --floor-of \"quiet.wav\"", "--see needs the noise that the line lies in")
	case f.Difference != "" && f.Same != "":
		return misusedf("leave one of them out", "--difference and --same are two questions")
	case (f.Difference+f.Same == "") != (f.Spread == ""):
		return misusedf("give both: --difference 3dB --spread 2dB", "--difference, or --same, and --spread say nothing without each other")
	case f.Drive != "" && f.Tones == "":
		return misusedf("name the file to write: --tones \"tones.wav\"", "--drive says nothing without --tones")
	case f.cables == "" && f.Tones == "" && f.terminations != "" || f.cables == "" && f.control+f.seed+f.out+f.Title+f.tone != "" || f.cables == "" && f.blind:
		return misusedf("name the cables: --cables \"Grebe,Rail\"", "without cables there is no order to record in")
	case f.blind && f.out == "":
		return misusedf("name the folder with --out", "--blind has nowhere to put the key")
	case f.tone != "" && f.FullScale+f.Gain != "":
		return misusedf("leave --full-scale and --gain out: the tone comes through both", "--tone says what full scale is already")
	case f.cables == "" && f.Tones == "" && f.Floor == "" && f.FloorOf == "" && f.Difference+f.Same == "":
		return misusedf("for example: humdiff plan --see -150dBFS --floor -140dBFS/Hz, or humdiff plan --cables \"Grebe,Rail\"", "there is nothing to plan")
	}
	return nil
}

// sitting is what is to be recorded; no cables where none were named.
func (f planned) sitting() (s plan.Sitting, err error) {
	if f.cables == "" {
		s.Terminations, err = f.ends() // of a known source
		return s, err
	}
	if s.Cables, err = listed("cables", f.cables); err != nil {
		return s, err
	}
	if len(s.Cables) > plan.MostCables {
		return s, misusedf("plan several sittings", "--cables names more than %d", plan.MostCables)
	}
	if s.Exposures, err = listed("exposures", f.exposures); err != nil {
		return s, err
	}
	if s.Terminations, err = f.ends(); err != nil {
		return s, err
	}
	if s.Control = strings.TrimSpace(f.control); slices.Contains(s.Cables, s.Control) {
		return s, misusedf("leave it out of --cables: the positive control is a cable by itself", "the positive control %q is among the cables", s.Control)
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

func (f planned) ends() (all []model.Termination, err error) {
	if f.terminations == "" {
		return []model.Termination{{Ohms: model.None}}, nil
	}
	words, err := listed("terminations", f.terminations)
	if err != nil {
		return nil, err
	}
	for _, w := range words {
		t := model.Termination{Ohms: model.None, Open: w == "open"}
		if !t.Open {
			ohms, err := unit.Ohms.Number(w)
			if err != nil {
				return nil, misused(err)
			}
			t.Ohms = model.Num(ohms)
		}
		if slices.ContainsFunc(all, func(o model.Termination) bool { return o.Open && t.Open || o.Ohms == t.Ohms }) {
			return nil, misusedf("list each once", "--terminations %q has one twice", f.terminations)
		}
		all = append(all, t)
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

// playable writes a known source's signal, over nothing that is there.
func (f planned) playable(p model.PlanTones) error {
	if _, err := os.Lstat(f.Tones); err == nil {
		return &fault.Error{File: f.Tones, What: "is there already", Hint: "give another name: nothing is overwritten"}
	}
	signal := plan.Signal(plan.Tones(p.RateHz), report.ToneRate, p.Seconds)
	if err := wavfile.Write(f.Tones, wavfile.Format{Rate: report.ToneRate, Bits: 24}, signal); err != nil {
		return &fault.Error{File: f.Tones, What: "cannot be written: " + publish.Reason(err), Hint: "check the folder, and that there is room", Err: err}
	}
	return nil
}

// nothingThere refuses to write over what is filled in by hand.
func (f planned) nothingThere() error {
	for _, name := range []string{"card.html", "session.toml", "runs.csv", "key.toml"} {
		if _, err := os.Lstat(filepath.Join(f.out, name)); f.out != "" && err == nil {
			return &fault.Error{File: filepath.Join(f.out, name), What: "is there already", Hint: "give another folder: nothing is overwritten"}
		}
	}
	return nil
}

// letters puts letters for the sitting's cables, the control among them, and writes
// which is which to a file, whose path it gives. Who plans this way doesn't want to
// know.
func (f *planned) letters() (path string, err error) {
	if err := os.MkdirAll(f.out, 0o777); err != nil {
		return "", &fault.Error{File: f.out, What: "the folder cannot be made", Err: err}
	}
	names := slices.Clone(f.Sitting.Cables)
	if f.Sitting.Control != "" {
		names = append(names, f.Sitting.Control)
	}
	path = filepath.Join(f.out, "key.toml")
	key, err := batch.NewKey(path, names)
	if err != nil {
		return "", err
	}
	f.KeyHash, f.Sitting.Cables = key.Hash, nil
	for _, letter := range slices.Sorted(maps.Keys(key.Cables)) {
		if key.Cables[letter] == f.Sitting.Control {
			f.Sitting.Control = letter
		} else {
			f.Sitting.Cables = append(f.Sitting.Cables, letter)
		}
	}
	return path, nil
}

// write writes what a sitting is recorded by.
func (f planned) write(ctx context.Context, r report.Request, p model.Plan) error {
	files, err := report.SittingFiles(r, p, filepath.Join(f.out, "session.toml"), f.tone)
	if err != nil {
		return err
	}
	return publish.Hand(ctx, f.out, files)
}
