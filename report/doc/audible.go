package doc

import (
	"fmt"

	"humdiff/report/model"
)

// AudibleSaid says how hum at the input compares with a programme and with the
// threshold of hearing, always with what that assumes.
func AudibleSaid(a model.Audibility) []string {
	var out []string
	if _, ok := a.HumVolts.Upper(); !ok {
		out = append(out, "How strong the hum is at the input is unknown: without the input's full scale there are no volts.")
	} else {
		said := "With the lead near, the hum at the input is " + Volts(a.HumVolts) + " rms"
		if lo, _ := ends(a.BelowProgrammeDB); lo.Ok() {
			said += ", " + programme(a)
		}
		out = append(out, said+".")
	}
	if a.Verdict == model.NotPlayed {
		return out
	}
	return append(append(out, audibleVerdict(a)), Assumptions(a)...)
}

func programme(a model.Audibility) string {
	lo, hi := ends(a.BelowProgrammeDB)
	of := "a programme of " + SI(a.Playback.ProgrammeVolts, "V")
	switch {
	case !hi.Ok():
		return fmt.Sprintf("at least %s below %s", DB(down(lo)), of)
	case lo < 0 && hi > 0:
		return "about as strong as " + of
	case lo < 0:
		return fmt.Sprintf("%s above %s", DB(-hi), of)
	}
	return fmt.Sprintf("%s dB below %s", dbRange(lo, hi), of)
}

// audibleVerdict is the plain sentence. It never says that hum can't be heard.
func audibleVerdict(a model.Audibility) string {
	lo, hi := ends(a.Band.MarginDB)
	which := ""
	if len(a.Band.Harmonics) > 0 {
		which = " (" + harmonics(a.Band.Harmonics) + ")"
	}
	const open = "Whether it could be heard played that way is not decided: "
	switch {
	case a.Verdict == model.AboveThreshold:
		return fmt.Sprintf("Played that way it lies 10 dB or more above the threshold of hearing%s: most listeners would hear it in silence.", which)
	case a.Verdict == model.BelowThreshold:
		return fmt.Sprintf("Under the assumptions below it lies at least %s below the threshold of hearing%s: few listeners would hear it even in silence.", DB(down(-hi)), which)
	case len(a.Unjudged) > 0:
		return open + "some lines have neither a level nor a limit."
	case !hi.Ok():
		return open + "no line has a level or a limit."
	case !lo.Ok():
		return open + "its limit lies " + fromThreshold(hi) + which + "."
	}
	return open + "it lies " + aroundThreshold(lo, hi) + which + ". Listeners differ by as much as 10 dB."
}

// aroundThreshold says where an interval lies, e.g. "3.0 dB below to 2.1 dB
// above the threshold of hearing".
func aroundThreshold(lo, hi model.Num) string {
	switch {
	case lo >= 0:
		return dbRange(lo, hi) + " dB above the threshold of hearing"
	case hi < 0:
		return dbRange(-hi, -lo) + " dB below the threshold of hearing"
	}
	return DB(-lo) + " below to " + DB(hi) + " above the threshold of hearing"
}

func fromThreshold(v model.Num) string {
	if v < 0 {
		return DB(-v) + " below the threshold of hearing"
	}
	return DB(v) + " above the threshold of hearing"
}

// Assumptions are those that any verdict stands on.
func Assumptions(a model.Audibility) []string {
	p := a.Playback
	out := []string{
		fmt.Sprintf("Assumed: this cable in this place with this termination, %s of gain behind it, no other sound.", DB(p.GainDB)),
	}
	room := ""
	if p.Kind == model.KindLoudspeaker {
		said := fmt.Sprintf("Played by %s of %s SPL at 2.83 V and 1 m, heard from %s in a free field", Count(max(1, p.Loudspeakers), "loudspeaker"), DB(p.SensitivityDB), Metres(p.DistanceMetres))
		if p.Loudspeakers > 1 {
			said += "; they add up fully at most"
		}
		out, room = append(out, said+"."), " for the room, which can raise low frequencies by 10 dB and more"
	} else {
		out = append(out, fmt.Sprintf("Played by a headphone of %s SPL at 1 V, taken as if it were a free field.", DB(p.SensitivityDB)))
	}
	out = append(out, "Compared with the median threshold of young listeners (ISO 389-7), lines within one critical band added up.")
	switch {
	case p.MarginDB > 0:
		return append(out, fmt.Sprintf("A margin of %s is added%s.", DB(model.Num(p.MarginDB)), room))
	case room != "":
		return append(out, "Nothing is added"+room+".")
	}
	return out
}
