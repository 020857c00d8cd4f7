package live

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/model"
)

// step is one run of the plan.
type step struct {
	Number  int
	Text    string
	Done    bool
	Guessed bool // its capture was taken for it because its turn had come
	Next    bool
}

// steps are the plan's runs in their order, and how many of them are open; none where
// nothing was planned. The lock is held.
func (b *Bench) steps() (all []step, open int) {
	if b.sitting.file.Seconds == 0 && len(b.planned()) == 0 {
		return nil, 0
	}
	for i, r := range b.sitting.runs {
		if r.auto || r.LeftOut != "" {
			continue
		}
		s := step{Number: i + 1, Text: b.todo(r.Run), Done: !b.expected(r), Guessed: slices.Contains(r.Guessed, fileKey)}
		if !s.Done {
			s.Next = open == 0
			open++
		}
		all = append(all, s)
	}
	return all, open
}

// todo is what to do at the bench for a run.
func (b *Bench) todo(r model.Run) string {
	parts := []string{}
	if cable := doc.Printable(r.Cable); cable != "" {
		parts = append(parts, cable)
	}
	if end := endOf(r.Termination); end != "" {
		parts = append(parts, endSaid(end))
	}
	switch r.Condition {
	case model.Quiet:
		parts = append(parts, "quiet: the lead away")
	case model.Near:
		how := "near: the live lead " + doc.Printable(r.Exposure)
		if r.Replaced {
			how += ", taken away and put back"
		}
		parts = append(parts, how)
	case model.Unplugged:
		parts = append(parts, "unplugged: the lead "+doc.Printable(r.Exposure)+" as it lies, its plug pulled")
	case model.Residual:
		parts = append(parts, "residual: the input shorted at its connector")
	}
	if r.Plug > 0 {
		parts = append(parts, fmt.Sprintf("plug way %d", r.Plug))
	}
	return strings.Join(parts, ", ")
}

// next is the one thing to do now. The lock is held.
func (b *Bench) next(v shown) string {
	var odd []chip
	for _, row := range v.Rows {
		for _, c := range row.Cells {
			odd = append(odd, slices.DeleteFunc(slices.Clone(c.Chips), func(c chip) bool { return c.State != "odd" })...)
		}
	}
	switch {
	case v.Captures == 0 && v.Open == 0:
		return "Drop the folder with your captures on this page."
	case len(v.Loose) > 0:
		return fmt.Sprintf("Say what %s is: drag it into its cell, or choose it and type.", v.Loose[0].Text)
	case len(v.Inputs) > 0:
		return "Say on which channel the cable was: the captures have several."
	case len(odd) > 0:
		return fmt.Sprintf("Look at %s: %s.", odd[0].Name, strings.TrimSuffix(odd[0].Odd[0], "."))
	case v.Open > 0:
		return b.record(v)
	case v.Guesses > 0:
		return fmt.Sprintf("Check what was guessed of %s, and confirm it.", doc.Count(v.Guesses, "run"))
	case v.Unplaced > 0:
		return "Say whether the lead was taken away and put back for each repeat: repeats without count as one placement."
	case b.outcome.judged == nil && b.outcome.compare == nil && !v.Measuring:
		return "Record a quiet capture, the lead away, and a near one, the live lead beside the cable."
	case v.NotWhole == "" && b.sitting.file.Sitting.Bench.FullScale == "" && len(b.sitting.file.Sitting.Bench.Calibration) == 0:
		return "Say what full scale is, so that there are volts; or save the report in decibels."
	case v.NotWhole == "":
		return "Read what was found, and save the report."
	}
	return "Wait until all is measured."
}

// record says which run to record next. The lock is held.
func (b *Bench) record(v shown) string {
	if tone := b.toneDue(); tone != "" {
		return "Record the calibration tone first, as " + tone + ", or name its capture under calibration."
	}
	for _, s := range v.Plan {
		if s.Next {
			how := ""
			if seconds := b.sitting.file.Seconds; seconds > 0 {
				how = ", for " + doc.Seconds(seconds)
			}
			return fmt.Sprintf("Record run %d of %d next%s: %s.", s.Number, len(v.Plan), how, s.Text)
		}
	}
	return ""
}
