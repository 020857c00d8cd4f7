package words

import (
	"fmt"
	"strings"

	"humdiff/report/result"
)

// scale says what volts stand on where that isn't one known scale.
func scale(set result.Settings) []string {
	var said []string
	if set.TwoScales() {
		said = append(said, fmt.Sprintf("Quiet and near are on two scales: near's full scale is %s dB from quiet's at the input, and the delta is that at the input.",
			Signed(set.Step.DB)))
	}
	if !set.Volts() {
		said = append(said, "Volts are unknown: the full scale of the input was not given.")
	}
	return said
}

func wouldScale(set result.Settings) []string {
	if set.Volts() {
		return nil
	}
	return []string{"For volts, give the input's full scale, for example --full-scale 2.0V, and the gain ahead of it."}
}

// Signed writes decibels with their sign, e.g. "+20.00".
func Signed(db result.Num) string {
	if db > 0 {
		return "+" + Fixed(db, 2)
	}
	return Fixed(db, 2)
}

// Scales says what 0 dBFS is in volts: one sentence for each scale.
func Scales(set result.Settings) []string {
	scales := set.Scales
	if len(scales) == 0 {
		one, _ := set.ScaleOf(result.ForAll)
		scales = []result.Scale{one}
	}
	var said []string
	for _, s := range scales {
		if s.FullScaleVolts.Ok() {
			said = append(said, Scale(s))
		}
	}
	return said
}

// Scale says what 0 dBFS is in volts, how far that is known, and from what,
// e.g. "0 dBFS is 20.0 mV rms at the input, -33.98 dBV, -31.76 dBu, ±0.05 dB
// (2.0V ±0.5% less 40 dB of gain)".
func Scale(s result.Scale) string {
	of := ""
	if s.For == result.ForQuiet || s.For == result.ForNear {
		of = " of " + s.For
	}
	said := fmt.Sprintf("0 dBFS%s is %s rms at the input", of, Volts(s.FullScaleVolts))
	if v := float64(s.FullScaleVolts); v > 0 {
		dbv := result.DB(v * v)
		said += fmt.Sprintf(", %s dBV, %s dBu", Fixed(dbv, 2), Fixed(dbv-result.DB(0.6), 2))
	}
	var notes []string
	if s.U95DB.Ok() && s.U95DB > 0 {
		said += fmt.Sprintf(", ±%s dB", Fixed(s.U95DB, max(2, Decimals(0, s.U95DB))))
	}
	if missing := Unstated(s); missing != "" {
		notes = append(notes, "what the "+missing+" may be off by was not given, and is in no interval")
	}
	if s.DriftDB.Ok() {
		notes = append(notes, "drift between the calibrations "+Signed(s.DriftDB)+" dB")
	}
	if s.Said != "" {
		notes = append([]string{Printable(s.Said)}, notes...)
	}
	if len(notes) > 0 {
		said += " (" + strings.Join(notes, "; ") + ")"
	}
	return said
}

// Unstated names what of a scale the user stated no limits for, e.g. "full
// scale and the gain"; empty where all is stated.
func Unstated(s result.Scale) string {
	var names []string
	for _, p := range s.Parts {
		if !p.UDB.Ok() {
			names = append(names, p.What)
		}
	}
	return strings.Join(names, " and the ")
}
