package words

import (
	"fmt"
	"strings"

	"humdiff/report/result"
)

// Audible says how hum at the input compares with a programme and with the
// threshold of hearing, always with what that assumes.
func Audible(a result.Audibility) []string {
	var out []string
	if !a.HumVolts.Hi.Ok() {
		out = append(out, "How strong the hum is at the input is unknown: without the input's full scale there are no volts.")
	} else {
		s := fmt.Sprintf("With the lead near, the hum at the input is %s rms", Between(a.HumVolts, "V"))
		if a.BelowProgrammeDB.Lo.Ok() {
			s += ", " + programme(a)
		}
		out = append(out, s+".")
	}
	if a.Verdict == result.NotPlayed {
		return out
	}
	return append(out, audibleVerdict(a), assumptions(a))
}

func programme(a result.Audibility) string {
	lo, hi := a.BelowProgrammeDB.Lo, a.BelowProgrammeDB.Hi
	of := "a programme of " + Volts(a.Playback.ProgrammeVolts)
	switch {
	case !hi.Ok():
		return fmt.Sprintf("at least %s below %s", DB(Down(lo)), of)
	case lo < 0 && hi > 0:
		return "about as strong as " + of
	case lo < 0:
		return fmt.Sprintf("%s above %s", DB(-hi), of)
	case Fixed(lo, 1) == Fixed(hi, 1):
		return fmt.Sprintf("%s below %s", DB(lo), of)
	}
	return fmt.Sprintf("%s dB below %s", DBRange(lo, hi), of)
}

// audibleVerdict is the plain sentence. It never says that hum can't be heard.
func audibleVerdict(a result.Audibility) string {
	m := a.Band.MarginDB
	which := ""
	if n := len(a.Band.Harmonics); n > 0 {
		list := make([]string, n)
		for i, h := range a.Band.Harmonics {
			list[i] = fmt.Sprint(h)
		}
		which = " (" + harmonicList(list) + ")"
	}
	switch {
	case a.Verdict == result.AboveThreshold:
		return fmt.Sprintf("Played that way it lies 10 dB or more above the threshold of hearing%s: most listeners would hear it in silence.", which)
	case a.Verdict == result.BelowThreshold:
		return fmt.Sprintf("Played that way, and under the assumptions that follow, it lies at least %s below the threshold of hearing%s: few listeners would hear it even in silence.", DB(Down(-m.Hi)), which)
	case len(a.Unjudged) > 0:
		return "Whether it could be heard played that way is not decided: some lines have neither a level nor a limit."
	case !m.Hi.Ok():
		return "Whether it could be heard played that way is not decided: no line has a level or a limit."
	case !m.Lo.Ok():
		return fmt.Sprintf("Whether it could be heard played that way is not decided: its limit lies %s%s.", aboveBelow(m.Hi), which)
	}
	return fmt.Sprintf("Whether it could be heard played that way is not decided: it lies %s%s, and listeners differ by as much as 10 dB.", aroundThreshold(m), which)
}

// aroundThreshold says where an interval lies, e.g. "3.0 dB below to 2.1 dB
// above the threshold of hearing".
func aroundThreshold(m result.Ends) string {
	switch {
	case m.Lo >= 0:
		return DBRange(m.Lo, m.Hi) + " dB above the threshold of hearing"
	case m.Hi < 0:
		return DBRange(-m.Hi, -m.Lo) + " dB below the threshold of hearing"
	}
	return DB(-m.Lo) + " below to " + DB(m.Hi) + " above the threshold of hearing"
}

func aboveBelow(v result.Num) string {
	if v < 0 {
		return DB(-v) + " below the threshold of hearing"
	}
	return DB(v) + " above the threshold of hearing"
}

// assumptions are those that any verdict stands on.
func assumptions(a result.Audibility) string {
	p := a.Playback
	chain := fmt.Sprintf("a headphone of %s SPL at 1 V, taken as if it were a free field", DB(p.SensitivityDB))
	if p.Kind == result.KindLoudspeaker {
		chain = fmt.Sprintf("%s of %s SPL at 2.83 V and 1 m, heard from %s in a free field", Count(max(1, p.Loudspeakers), "loudspeaker"), DB(p.SensitivityDB), Metres(p.DistanceMetres))
		if p.Loudspeakers > 1 {
			chain += ", adding up fully at most"
		}
	}
	s := fmt.Sprintf("Assumed: this cable in this place with this termination, %s of gain behind it, %s; no other sound; the median threshold of young listeners (ISO 389-7), lines within one critical band added up.", DB(p.GainDB), chain)
	if p.Kind == result.KindLoudspeaker {
		if p.MarginDB > 0 {
			return s + fmt.Sprintf(" A margin of %s is added for the room, which can raise low frequencies by 10 dB and more.", DB(result.Num(p.MarginDB)))
		}
		return s + " Nothing is added for the room, which can raise low frequencies by 10 dB and more."
	}
	if p.MarginDB > 0 {
		return s + fmt.Sprintf(" A margin of %s is added.", DB(result.Num(p.MarginDB)))
	}
	return s
}

// SessionAudible says of each cable at each place how its hum compares with a
// programme and with the threshold of hearing, and then what that assumes.
func SessionAudible(s result.Session) []string {
	var out []string
	assumed := ""
	for _, a := range s.Audible {
		said := Audible(a.Audibility)
		if a.Audibility.Verdict != result.NotPlayed {
			assumed = said[len(said)-1]
			said = said[:len(said)-1]
		}
		out = append(out, fmt.Sprintf("%s, %s (run %d): %s", Printable(a.Cable), Place(a.Where), a.Run, lowerFirst(strings.Join(said, " "))))
	}
	if assumed != "" {
		out = append(out, assumed)
	}
	return out
}
