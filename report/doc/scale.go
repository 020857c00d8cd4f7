package doc

import (
	"fmt"
	"strings"

	"humdiff/report/model"
)

// LevelOn writes what is known of a level of one side: as a voltage alone where
// the two captures are on two scales, since levels in dBFS can't be compared then.
func LevelOn(set model.Settings, side string, dbfs model.Estimate) string {
	scale, known := set.ScaleOf(side)
	switch {
	case !known:
		return Level(dbfs)
	case set.TwoScales():
		return Volts(scale.InVolts(dbfs))
	}
	volts := strings.TrimPrefix(Volts(scale.InVolts(dbfs)), "below ")
	return fmt.Sprintf("%s (%s)", Level(dbfs), volts)
}

// scaleSaid says what volts stand on where that isn't one known scale.
func scaleSaid(set model.Settings) []string {
	var said []string
	if set.TwoScales() {
		said = append(said, fmt.Sprintf("Quiet and near are on two scales: near's full scale is %s dB from quiet's at the input.", Signed(set.Step.DB)),
			"The delta is that at the input.")
	}
	if !set.Volts() {
		said = append(said, "Volts are unknown: the full scale of the input was not given.")
	}
	return said
}

func wouldScale(set model.Settings) []string {
	if set.Volts() {
		return nil
	}
	return []string{"For volts, give the input's full scale, for example --full-scale 2.0V, and the gain ahead of it."}
}

// Scales says what 0 dBFS is in volts: one phrase for each known scale.
func Scales(set model.Settings) []string {
	var said []string
	for _, s := range set.Scales {
		known := s
		if s.For == model.ForAll {
			known, _ = set.ScaleOf(model.ForAll)
		}
		if known.FullScaleVolts.Ok() {
			said = append(said, scaleIs(known))
		}
	}
	return said
}

// scaleIs says what 0 dBFS is in volts, how far that is known, and from what,
// e.g. "0 dBFS is 20.0 mV rms at the input, −33.98 dBV, −31.76 dBu, ±0.05 dB
// (2.0V ±0.5% less 40 dB of gain)".
func scaleIs(s model.Scale) string {
	of := ""
	if s.For == model.ForQuiet || s.For == model.ForNear {
		of = " of " + s.For
	}
	full := exactly(s.FullScaleVolts)
	said := fmt.Sprintf("0 dBFS%s is %s rms at the input, %s dBV, %s dBu", of, Volts(full),
		Fixed(value(model.DBV(full)), 2), Fixed(value(model.DBu(full)), 2))
	if s.U95DB.Ok() && s.U95DB > 0 {
		said += fmt.Sprintf(", ±%s dB", Fixed(s.U95DB, 2))
	}
	var notes []string
	if s.Said != "" {
		notes = append(notes, Printable(s.Said))
	}
	if missing := unstated(s); missing != "" {
		notes = append(notes, "what the "+missing+" may be off by was not given, and is in no interval")
	}
	if s.DriftDB.Ok() {
		notes = append(notes, "drift between the calibrations "+Signed(s.DriftDB)+" dB")
	}
	if len(notes) > 0 {
		said += " (" + strings.Join(notes, "; ") + ")"
	}
	return said
}

// unstated names what of a scale the user stated no limits for, e.g. "full
// scale and the gain"; empty where all is stated.
func unstated(s model.Scale) string {
	var names []string
	for _, p := range s.Parts {
		if !p.UDB.Ok() {
			names = append(names, p.What)
		}
	}
	return strings.Join(names, " and the ")
}
