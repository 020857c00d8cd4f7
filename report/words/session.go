package words

import (
	"fmt"
	"slices"
	"strings"

	"humdiff/report/result"
)

// Run writes a run's number as it is cited everywhere.
func Run(n int) string { return fmt.Sprintf("run %d", n) }

// Runs cites runs, successive ones as a range, e.g. "runs 3, 5 to 9".
func Runs(list []int) string {
	sorted := slices.Compact(slices.Sorted(slices.Values(list)))
	switch len(sorted) {
	case 0:
		return "no run"
	case 1:
		return Run(sorted[0])
	}
	var spans []string
	for i := 0; i < len(sorted); {
		j := i
		for j+1 < len(sorted) && sorted[j+1] == sorted[j]+1 {
			j++
		}
		switch j - i {
		case 0:
			spans = append(spans, fmt.Sprint(sorted[i]))
		case 1:
			spans = append(spans, fmt.Sprint(sorted[i]), fmt.Sprint(sorted[j]))
		default:
			spans = append(spans, fmt.Sprintf("%d to %d", sorted[i], sorted[j]))
		}
		i = j + 1
	}
	return "runs " + strings.Join(spans, ", ")
}

// RunIs says which run of a session one is, e.g. "run 5, dead: Grebe, laid beside,
// 20 Ω, repeat 1; held against runs 2 and 6".
func RunIs(r result.SessionRun) string {
	said := upperFirst(Run(r.Number)) + ", " + Printable(r.Condition)
	var of []string
	if r.Cable != "" {
		of = append(of, Printable(r.Cable))
	}
	if r.Exposure != "" {
		of = append(of, Printable(r.Exposure))
	}
	if r.Cable != "" {
		of = append(of, Termination(r.Termination), fmt.Sprintf("repeat %d", r.Repeat))
	}
	if len(of) > 0 {
		said += ": " + strings.Join(of, ", ")
	}
	switch {
	case !r.Used:
		said += "; not used: " + LeftOut(r)
	case len(r.Against) > 0:
		said += "; held against quiet, " + Runs(r.Against)
	}
	return said + "."
}

// Termination writes what a far end is closed with, e.g. "20 Ω", "open".
func Termination(t result.Termination) string {
	switch {
	case t.Open:
		return "open"
	case !t.Ohms.Ok():
		return "termination not stated"
	}
	p := PrefixFor(t.Ohms)
	return trimZeros(p.Digits(t.Ohms)) + " " + p.Name + "Ω"
}

// Place writes an exposure at a termination, e.g. "beside, 20 Ω, lead loaded".
func Place(w result.Where) string {
	out := []string{Exposure(w.Exposure), Termination(w.Termination)}
	switch w.Loaded {
	case result.Yes:
		out = append(out, "lead loaded")
	case result.No:
		out = append(out, "lead unloaded")
	}
	switch w.Bonded {
	case result.Yes:
		out = append(out, "far device bonded")
	case result.No:
		out = append(out, "far device isolated")
	}
	return strings.Join(out, ", ")
}

// Exposure writes an exposure's name.
func Exposure(name string) string {
	if name == "" {
		return "exposure not named"
	}
	return Printable(name)
}

// Quantity names what is judged.
func Quantity(q result.Quantity) string {
	switch {
	case q.Harmonic > 0:
		return fmt.Sprintf("harmonic %d", q.Harmonic)
	case q.AWeighted:
		return "A-weighted hum"
	}
	return "hum"
}

// And joins names, e.g. "Heron, Plover and Rail".
func And(names []string) string {
	var out []string
	for _, n := range names {
		out = append(out, Printable(n))
	}
	if len(out) < 2 {
		return strings.Join(out, "")
	}
	return strings.Join(out[:len(out)-1], ", ") + " and " + out[len(out)-1]
}

// DBInterval writes a value in dB with its interval or what there is of it, e.g.
// "14.2 dB (13.1 to 15.3)", "at most 3.1 dB".
func DBInterval(i result.Interval) string {
	switch {
	case i.Lo.Ok() && i.Hi.Ok() && i.Value.Ok():
		return fmt.Sprintf("%s (%s to %s)", DB(i.Value), Fixed(i.Lo, 1), Fixed(i.Hi, 1))
	case i.Lo.Ok() && i.Hi.Ok():
		return fmt.Sprintf("%s to %s", Fixed(i.Lo, 1), DB(i.Hi))
	case i.Lo.Ok():
		return "at least " + DB(Down(i.Lo))
	case i.Hi.Ok():
		return "at most " + DB(Up(i.Hi))
	case i.Value.Ok():
		return DB(i.Value) + ", without an interval"
	}
	return "not known"
}

// VoltsInterval writes a voltage with its interval, or what there is of it.
func VoltsInterval(i result.Interval) string {
	switch {
	case i.Lo.Ok() && i.Hi.Ok() && i.Value.Ok() && i.Lo > 0:
		return fmt.Sprintf("%s (%s)", Volts(i.Value), VoltsRange(i.Lo, i.Hi))
	case i.Hi.Ok() && i.Lo.Ok() && i.Lo > 0:
		return VoltsRange(i.Lo, i.Hi)
	case i.Hi.Ok():
		return "at most " + Volts(i.Hi)
	case i.Lo.Ok() && i.Lo > 0:
		return "at least " + Volts(i.Lo)
	case i.Value.Ok():
		return Volts(i.Value) + ", without an interval"
	}
	return "not known"
}

// PickupInterval writes a pickup in volts where the scale is known, else in dB
// re full scale.
func PickupInterval(dbfs, volts result.Interval) string {
	if volts.Hi.Ok() || volts.Value.Ok() {
		return VoltsInterval(volts)
	}
	return strings.ReplaceAll(DBInterval(dbfs), " dB", " dBFS")
}

// SessionTitle is a session's conclusion in one sentence: the claims' verdicts
// where there are any, else the ranking.
func SessionTitle(s result.Session) string {
	if len(s.Claims) > 0 {
		var said []string
		for _, v := range []string{result.Supported, result.Refuted, result.Undecided} {
			if n := verdicts(s, v); n > 0 {
				said = append(said, fmt.Sprintf("%d %s", n, v))
			}
		}
		return fmt.Sprintf("Of %s: %s.", Count(len(s.Claims), "claim"), strings.Join(said, ", "))
	}
	if len(s.Rankings) > 0 {
		return rankingSentence(s.Rankings[0])
	}
	return "No exposure raised the hum of any cable: the session shows no difference."
}

func verdicts(s result.Session, verdict string) (n int) {
	for _, c := range s.Claims {
		if c.Verdict == verdict {
			n++
		}
	}
	return n
}

// SessionFound is what a session says besides its title, the most important first.
func SessionFound(s result.Session) []string {
	var out []string
	for _, c := range s.Claims {
		out = append(out, ClaimVerdict(c))
	}
	for i, r := range s.Rankings {
		if i > 0 || len(s.Claims) > 0 { // else it is the title
			out = append(out, rankingSentence(r))
		}
	}
	for _, e := range s.Exposures {
		if len(e.Rose) == 0 {
			out = append(out, fmt.Sprintf("%s raised no cable: it shows no difference between them, and no claim stands on it.", upperFirst(Place(e.Where))))
		}
	}
	for _, f := range s.Findings {
		if slices.Contains(grave, f.Code) {
			out = append(out, Finding(f))
		}
	}
	return append(out, sessionStandsOn(s)...)
}

// grave are the findings that belong beside the conclusion.
var grave = []string{result.DeadAsHigh, result.IdleRises, result.BelowQuiet, result.InBlocks, result.NoOrder, result.QuietMoved, result.GainChanged, result.WitnessDidNot}

func upperFirst(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

func rankingSentence(r result.Ranking) string {
	at := upperFirst(Place(r.Where))
	if len(r.Places) == 0 {
		return fmt.Sprintf("%s: no cable can be ranked, since each was placed once only.", at)
	}
	least := r.Places[0]
	name := Printable(least.Cable)
	if len(r.Places) == 1 {
		return fmt.Sprintf("%s: %s picks up %s; no other cable can be held against it.", at, name, PickupInterval(least.Pickup, least.Volts))
	}
	with := alikeWith(r, least.Cable)
	most := r.Places[len(r.Places)-1]
	switch {
	case len(with) == len(r.Places)-1:
		return fmt.Sprintf("%s: %s can't be told apart from any other cable.", at, name)
	case len(with) == 0:
		return fmt.Sprintf("%s: %s picks up least, %s; %s picks up %s more.", at, name,
			PickupInterval(least.Pickup, least.Volts), Printable(most.Cable), between(r, least.Cable, most.Cable))
	}
	return fmt.Sprintf("%s: %s picks up least, but can't be told apart from %s; %s picks up %s more than %s.", at, name, And(with),
		Printable(most.Cable), between(r, least.Cable, most.Cable), name)
}

// alikeWith are the cables that one can't be told apart from.
func alikeWith(r result.Ranking, cable string) []string {
	var out []string
	for _, p := range r.Pairs {
		switch {
		case p.Apart:
		case p.A == cable:
			out = append(out, p.B)
		case p.B == cable:
			out = append(out, p.A)
		}
	}
	return out
}

func between(r result.Ranking, a, b string) string {
	for _, p := range r.Pairs {
		if p.A == a && p.B == b {
			return DBInterval(p.DB)
		}
	}
	return "not known"
}

func sessionStandsOn(s result.Session) []string {
	used, nears, placements := 0, 0, 0
	for _, r := range s.Runs {
		if r.Used {
			used++
			if r.Condition == "near" {
				nears++
			}
		}
	}
	for _, c := range s.Cells {
		if c.Quantity == (result.Quantity{}) {
			placements += c.Placements
		}
	}
	out := []string{fmt.Sprintf("This stands on %d of %s, %d of them near, with the lead placed %s.", used, Count(len(s.Runs), "run"), nears, times(placements))}
	n := 0
	for _, r := range s.Rankings {
		n += min(1, len(r.Pairs)) // where one cable is ranked alone nothing is told apart
	}
	if n > 0 {
		said := fmt.Sprintf("In each ranking any two cables are wrongly told apart with a chance of at most %s", Percent(1-s.Settings.Confidence))
		if n > 1 {
			said += fmt.Sprintf("; in all %d together, of at most %s", n, Percent(min(1, float64(n)*(1-s.Settings.Confidence))))
		}
		out = append(out, said+".")
	}
	out = append(out, claimsTogether(s)...)
	if len(s.Rankings)+len(s.Claims) > 0 {
		out = append(out, ChancesHold)
	}
	return out
}

// ChancesHold is the condition of every chance of error that a session states.
const ChancesHold = "The chances of error given hold if each placement is an independent, random draw, scattered evenly in decibels: if the lead was put back each time without regard to what it did, and no run was chosen by what it shows."

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// claimsTogether says what the confidence of one claim means for all of them.
func claimsTogether(s result.Session) []string {
	n := len(s.Claims)
	if n == 0 {
		return nil
	}
	tail := (1 - s.Settings.Confidence) / 2
	out := []string{fmt.Sprintf("A verdict by itself is wrong with a chance of at most %s.", Percent(tail))}
	if n == 1 {
		return out
	}
	var falls []string
	for _, c := range s.Claims {
		if c.Verdict != result.Undecided && !c.Together {
			falls = append(falls, ClaimName(c))
		}
	}
	said := fmt.Sprintf("That any of %d is wrong has a chance of at most %s. Held to %s for all claims together, ",
		n, Percent(min(1, float64(n)*tail)), Percent(s.Settings.Confidence))
	if len(falls) == 0 {
		return append(out, said+"every verdict given stands.")
	}
	return append(out, said+"these would be undecided: "+And(falls)+".")
}

// ClaimName is how a claim is cited.
func ClaimName(c result.ClaimResult) string {
	if c.Name != "" {
		return Printable(c.Name)
	}
	return "the claim in line " + fmt.Sprint(c.Line)
}

// ClaimMeans is a claim as it is tested.
func ClaimMeans(c result.ClaimResult) string {
	return claimCore(c) + ", " + claimWhere(c)
}

// claimWhere is where a claim is tested.
func claimWhere(c result.ClaimResult) string {
	given := c.Termination.Open || c.Termination.Ohms.Ok()
	switch {
	case c.Exposure != "" && given:
		return fmt.Sprintf("under exposure %s at %s", Printable(c.Exposure), Termination(c.Termination))
	case c.Exposure != "":
		return "under exposure " + Printable(c.Exposure)
	case given:
		return "at " + Termination(c.Termination)
	}
	return "wherever it was recorded and the exposure raised any cable"
}

func claimCore(c result.ClaimResult) string {
	cable := Printable(c.Cable)
	switch c.Kind {
	case "less":
		return fmt.Sprintf("%s picks up at least %s less %s than %s", cable, DB(c.DB), Quantity(c.Quantity), Printable(c.Than))
	case "below":
		return fmt.Sprintf("%s picks up less than %s of %s", cable, Volts(c.Volts), Quantity(c.Quantity))
	}
	return fmt.Sprintf("%s of %s rises by at most %s above quiet", Quantity(c.Quantity), cable, DB(c.DB))
}

// ClaimVerdict is a claim's verdict in one sentence. The claimant's own words may
// not say which hum is meant: a verdict on less than the total says so itself.
func ClaimVerdict(c result.ClaimResult) string {
	said := fmt.Sprintf("%s is %s: “%s”", upperFirst(ClaimName(c)), c.Verdict, ClaimSays(c))
	if c.Quantity != (result.Quantity{}) {
		said += ", tested on " + Quantity(c.Quantity)
	}
	if len(c.Parts) == 1 {
		said += "; measured " + PartValue(c.Parts[0])
	}
	return said + "."
}

// ClaimSays is the claimant's own words, or ours where there are none.
func ClaimSays(c result.ClaimResult) string {
	if c.Says != "" {
		return strings.TrimRight(Printable(c.Says), ".")
	}
	return claimCore(c)
}

// ClaimDated says when a claim was written, against the runs.
func ClaimDated(c result.ClaimResult) string {
	by := ""
	if c.By != "" {
		by = " by " + Printable(c.By)
	}
	if c.Written == "" {
		return "Not dated" + by + ": it may have been written after the runs were seen."
	}
	said := "Written " + day(c.Written) + by
	switch c.Late {
	case result.LateYes:
		return said + ": after the runs began, so it may have been made to fit them."
	case result.LateUnknown:
		return said + ": it can't be told whether that was before the runs."
	}
	return said + ", before the runs."
}

// PartValue is what was measured of a claim's part.
func PartValue(p result.ClaimPart) string {
	if p.Unit == "V" {
		return VoltsInterval(p.Value)
	}
	return DBInterval(p.Value)
}

// Reason says why a verdict is not more than it is.
func Reason(n result.Note) string {
	cable := Printable(n.Cable)
	switch n.Code {
	case result.OnePlacement:
		return fmt.Sprintf("The lead was placed beside %s once only.", cable)
	case result.NoRuns:
		return "No runs speak to it."
	case result.NotDelivered:
		return "The exposure raised no cable, so it shows no difference."
	case result.ScaleUnknown:
		return "Volts are unknown."
	case result.NoWitness:
		return "No witness shows that the exposure was delivered."
	case result.WitnessElsewhere:
		return "The witness rose under the same exposure at another termination, not at this one."
	case result.WitnessDidNot:
		return "The witness's hum did not rise, so nothing shows that the exposure was delivered."
	case result.NoResidual:
		return "No residual run shows how quiet the bench could be, and a noisy bench hides any rise."
	case result.NoisyBench:
		return fmt.Sprintf("Quiet may lie %s above the residual: a noisy bench hides any rise.", DB(Up(n.DB)))
	case result.DeadAsHigh:
		return fmt.Sprintf("The unplugged lead raised %s as high as the live one (%s): its voltage isn't the cause.", cable, Runs(n.Runs))
	case result.NoisyRefutes:
		bench := "How quiet the bench could be isn't known, as there is no residual run"
		if n.DB.Ok() {
			bench = fmt.Sprintf("Quiet may lie %s above the residual", DB(Up(n.DB)))
		}
		return bench + ". A noisy bench can hide a rise, but makes none larger: on a quieter one the hum would have risen by more, so the refutation stands."
	case result.PlacementBeyond:
		return "The mean of all placements is within the claim, but one placement by itself is not."
	case result.Straddles:
		return "The interval reaches to both sides of what is claimed."
	case result.Unbounded:
		return "What was measured bounds nothing."
	}
	return n.Code
}

// Decide says what would decide a claim.
func Decide(n result.Note) string {
	of := ""
	if n.Cable != "" {
		of = " of " + Printable(n.Cable)
	}
	switch n.Code {
	case result.MorePlacements:
		if n.Count > 0 {
			return fmt.Sprintf("%d placements%s in all, with the lead taken away and put back, if they scatter as those there are.", n.Count, of)
		}
		return "More placements" + of + ", with the lead taken away and put back."
	case result.LowerQuiet:
		return fmt.Sprintf("Quiet hum%s lower by %s or more: the phase between it and the pickup is unknown, and no number of repeats changes that.", of, DB(Up(n.DB)))
	case result.LowerFloor:
		return fmt.Sprintf("A detection limit%s lower by %s, by less noise, or by recording about %s times as long.", of, DB(Up(n.DB)), Fixed(n.Times, 0))
	case result.GiveScale:
		return "The voltage scale: full scale and gain, or a capture of a known tone."
	case result.RecordWitness:
		return "A witness: a cable known to leak, recorded under the same exposure."
	case result.RecordResidual:
		return "A residual run: the input shorted at its connector."
	case result.QuieterBench:
		return fmt.Sprintf("A bench whose quiet hum lies lower by %s or more.", DB(Up(n.DB)))
	case result.SteadierBench:
		return "A bench whose quiet hum stays the same: it changed by too much between runs."
	case result.FindQuiet:
		return "Longer quiet runs, in which hum is found: where none is, a rise above it has no upper end."
	case result.ExplainDead:
		return "Finding out why the unplugged lead, or the hand that puts it there, raises " + Printable(n.Cable) + "."
	case result.StrongerLead:
		return "An exposure that raises the witness, or another cable."
	case result.RecordRuns:
		return "Longer runs, or a stronger exposure."
	}
	return n.Code
}

// Finding says a finding.
func Finding(f result.Finding) string {
	at := upperFirst(Place(f.Where))
	cable := Printable(f.Cable)
	runs := " (" + Runs(f.Runs) + ")"
	switch f.Code {
	case result.DeadAsHigh:
		return fmt.Sprintf("%s: the unplugged lead raised %s as high as the live one: the lead's voltage isn't the cause%s.", at, cable, runs)
	case result.DeadRises:
		return fmt.Sprintf("%s: the unplugged lead raised %s too, to at most %s below the live one: that part isn't the voltage's%s.", at, cable, DB(-f.DB.Value), runs)
	case result.IdleRises:
		return fmt.Sprintf("%s: the idle channel rose together with %s, by at least %s: the recorder picks up too%s.", at, cable, DB(Down(f.DB.Value)), runs)
	case result.BelowQuiet:
		return fmt.Sprintf("%s: near lies below quiet with %s, by at least %s: the lead's hum cancels what was there, or the bench changed%s. It is no sign that the cable picks up nothing.", at, cable, DB(Down(-f.DB.Hi)), runs)
	case result.InBlocks:
		if f.AsListed {
			return fmt.Sprintf("All runs of each of %d cables are listed together, one cable after the other. If they were made in that order, what changed with time can't be told from what changed with the cable.", f.Count)
		}
		return fmt.Sprintf("All runs of each of %d cables were made together, one cable after the other: what changed with time can't be told from what changed with the cable.", f.Count)
	case result.QuietMoved:
		return fmt.Sprintf("Quiet of %s changed by %s from the first run to the last%s%s.", cable, DBInterval(f.DB), asListed(f.AsListed), runs)
	case result.DriftUnknown:
		said := fmt.Sprintf("%s with quiet on one side only%s%s: ", Count(f.Count, "near run"), asListed(f.AsListed), runs)
		if f.DB.Value.Ok() {
			return said + fmt.Sprintf("for what quiet may have done on the other, the largest step from one quiet run of a cable to its next was allowed for, %s.", DB(Up(f.DB.Value)))
		}
		return said + "how far quiet drifts is unknown, and was not allowed for."
	case result.PickupMoves:
		return fmt.Sprintf("Pickups changed over the repeats, by %s from the first placement to the last%s, over %d sets of repeats: something drifted with time.", DBInterval(f.DB), asListed(f.AsListed), f.Count)
	case result.GainChanged:
		return fmt.Sprintf("%s, %s: noise without hum differs by %s between quiet and near%s, which points to another gain.", at, cable, DB(f.DB.Value), runs)
	case result.OnePlacement:
		return fmt.Sprintf("%s: the lead was placed beside %s once only%s, so nothing is known of its spread, and %s isn't ranked.", at, cable, runs, cable)
	case result.PlugDiffers:
		return fmt.Sprintf("%s: cables were recorded with different orientations of the plug%s.", at, runs)
	case result.QuietClose:
		return fmt.Sprintf("Quiet lies within 20 dB of near in %s%s: as the phase between them is unknown, their pickup is known as a wide range only.", Count(f.Count, "near run"), runs)
	case result.NoDifference:
		return fmt.Sprintf("%s raised no cable: it shows no difference, and isn't ranked%s.", at, runs)
	case result.LinesLeftOut:
		return fmt.Sprintf("%s in no total, because tones hide them in %s.", countAre(f.Count, "harmonic"), Runs(f.Runs))
	case result.WitnessMissing:
		return fmt.Sprintf("%s: the witness %s was not recorded.", at, cable)
	case result.WitnessDidNot:
		return fmt.Sprintf("%s: the witness %s did not rise, though other cables did.", at, cable)
	case result.NoOrder:
		return "Nobody has said in which order the runs were made: the list was made from file names, and no start times are known. So each near run was held against every quiet run of its cable, and nothing is said of order or drift."
	case result.NoQuiet:
		return fmt.Sprintf("Near without quiet with %s%s: nothing follows from these.", cable, runs)
	case result.Guessed:
		return fmt.Sprintf("%s with conditions that were guessed from file names, and that nobody has confirmed%s.", Count(f.Count, "run"), runs)
	}
	return f.Code
}

// asListed says that an order is the list's, where nobody knows start times.
func asListed(yes bool) string {
	if yes {
		return ", as listed"
	}
	return ""
}

func countWas(n int, noun string) string {
	if n == 1 {
		return Count(n, noun) + " was"
	}
	return Count(n, noun) + " were"
}

func countAre(n int, noun string) string {
	if n == 1 {
		return Count(n, noun) + " is"
	}
	return Count(n, noun) + " are"
}

// Objects asks what a hostile reader would ask.
func Objects(code string) string {
	return map[string]string{
		result.ObjectBench:       "The bench changed, or the lead did nothing.",
		result.ObjectInput:       "The recorder picks this up, not the cable.",
		result.ObjectPlacement:   "It is luck where the lead lay.",
		result.ObjectVoltage:     "It is the hand or the metal of the lead, not its voltage.",
		result.ObjectLoop:        "It is an earth loop through the far device.",
		result.ObjectPlug:        "It depends on which way round the plug was.",
		result.ObjectOrder:       "It is the order in which the cables were recorded.",
		result.ObjectGain:        "The gain was changed.",
		result.ObjectCalibration: "The volts are wrong.",
		result.ObjectSelection:   "The runs were picked to please.",
	}[code]
}

// WouldSettle is what to record, for an objection that no run has settled.
func WouldSettle(code string) string {
	return map[string]string{
		result.ObjectBench:       "Record quiet first and last, and a cable known to leak under every exposure.",
		result.ObjectInput:       "Record a residual, the input shorted at its connector, and a channel with nothing connected.",
		result.ObjectPlacement:   "Repeat with the lead taken away and put back.",
		result.ObjectVoltage:     "Record dead runs: the same lead in the same place, unplugged.",
		result.ObjectLoop:        "Record with the far device bonded, and isolated as a battery-powered one is.",
		result.ObjectPlug:        "Repeat with the plug turned round.",
		result.ObjectOrder:       "Let the cables take turns, and note start times.",
		result.ObjectGain:        "Record again with the gain locked, quiet and near alike.",
		result.ObjectCalibration: "Record a known tone through the same input at the same gain.",
		result.ObjectSelection:   "Publish every run, date the claims before the first, and record again what was left out.",
	}[code]
}

// ObjectionState says how an objection stands.
func ObjectionState(state string) string {
	return map[string]string{result.Answered: "Answered", result.Open: "Not settled", result.Upheld: "The runs speak for it", result.NotTested: "Not tested"}[state]
}

// Answer says what runs say to an objection.
func Answer(n result.Note) string {
	cable, runs := Printable(n.Cable), " ("+Runs(n.Runs)+")"
	switch n.Code {
	case result.QuietSteady:
		return fmt.Sprintf("Between any two quiet runs of one cable and termination, hum changed by at most %s (largest: %s).", DB(Up(n.DB)), Runs(n.Runs))
	case result.QuietUnsteady:
		return fmt.Sprintf("Between two quiet runs of one cable and termination, hum changed by up to %s (largest: %s).", DB(Up(n.DB)), Runs(n.Runs))
	case result.QuietSteps:
		return fmt.Sprintf("From one to the next%s, by at most %s (largest: %s).", asListed(n.AsListed), DB(Up(n.DB)), Runs(n.Runs))
	case result.QuietSilent:
		return fmt.Sprintf("Hum was found in no quiet run%s: what it may have changed by below the detection limits is in every interval.", runs)
	case result.QuietOnce:
		return "No cable has two quiet runs in which hum was found, so how steady quiet was isn't known."
	case result.WitnessRose:
		return fmt.Sprintf("The witness rose under each exposure it was recorded under%s.", runs)
	case result.WitnessFailed:
		return fmt.Sprintf("The witness did not rise under %s%s.", Count(n.Count, "exposure"), runs)
	case result.WitnessNone:
		return "No witness was recorded."
	case result.ResidualBelow:
		return fmt.Sprintf("With the input shorted, hum lies at least %s below any that rose%s.", DB(Down(n.DB)), runs)
	case result.ResidualClose:
		return fmt.Sprintf("With the input shorted, hum isn't surely further below what rose than %s%s.", DB(Down(n.DB)), runs)
	case result.ResidualNone:
		return "No residual run was held against anything that rose."
	case result.IdleSilent:
		return fmt.Sprintf("The idle channel did not rise%s.", runs)
	case result.IdleRose:
		return fmt.Sprintf("The idle channel rose too%s.", runs)
	case result.IdleNone:
		return "No idle channel was recorded."
	case result.Placements:
		if !n.DB.Ok() {
			return fmt.Sprintf("The lead was taken away and put back: at least %s each%s.", Count(n.Count, "placement"), runs)
		}
		return fmt.Sprintf("The lead was taken away and put back: at least %s each, and the largest spread of one is %s%s.", Count(n.Count, "placement"), DB(n.DB), runs)
	case result.PlacedOnce:
		return fmt.Sprintf("%s of repeats with one placement only%s.", Count(n.Count, "set"), runs)
	case result.DeadSilent:
		return fmt.Sprintf("The unplugged lead in the same place did not raise hum%s.", runs)
	case result.DeadRose:
		return fmt.Sprintf("The unplugged lead raised hum too, to at most %s below the live one%s.", DB(-n.DB), runs)
	case result.DeadReaches:
		return fmt.Sprintf("The unplugged lead raised hum as high as the live one%s.", runs)
	case result.DeadMissing:
		if n.Count == 0 {
			return "Nothing rose that an unplugged lead could be held against."
		}
		return fmt.Sprintf("%s of repeats that rose without a dead run.", Count(n.Count, "set"))
	case result.BondSame:
		return fmt.Sprintf("Bonding the far device changed %s by %s only%s.", cable, DB(n.DB), runs)
	case result.BondDiffers:
		return fmt.Sprintf("Bonding the far device changed %s by %s%s.", cable, DB(n.DB), runs)
	case result.BondIsolated:
		return fmt.Sprintf("All far devices were isolated%s.", runs)
	case result.PlugSame:
		return fmt.Sprintf("Turning the plug changed %s by %s only%s.", cable, DB(n.DB), runs)
	case result.PlugMatters:
		return fmt.Sprintf("Turning the plug changed %s by %s%s.", cable, DB(n.DB), runs)
	case result.OrderMixed:
		return fmt.Sprintf("The cables took turns%s%s.", asListed(n.AsListed), runs)
	case result.OrderInBlocks:
		if n.AsListed {
			return fmt.Sprintf("All runs of a cable are listed together%s.", runs)
		}
		return fmt.Sprintf("All runs of a cable were made together%s.", runs)
	case result.OrderInParts:
		return fmt.Sprintf("The cables took turns in part only%s: %d %% of the spread of their runs over the sitting lies between cables%s.", asListed(n.AsListed), n.Count, runs)
	case result.OrderAsListed:
		return "Start times are not known of all runs: the order of the list was taken for theirs."
	case result.OrderGuessed:
		return fmt.Sprintf("%s with a start time that was guessed and that nobody has confirmed%s.", Count(n.Count, "run"), runs)
	case result.OrderUnknown:
		return "Nobody has said in which order the runs were made."
	case result.PickupsMoved:
		return fmt.Sprintf("Pickups changed by %s from the first placement to the last%s%s.", DB(n.DB), asListed(n.AsListed), runs)
	case result.NoiseSame:
		return fmt.Sprintf("Noise without hum differs by at most %s between near and quiet.", DB(Up(n.DB)))
	case result.NoiseDiffers:
		return fmt.Sprintf("Noise without hum differs by up to %s between near and quiet.", DB(Up(n.DB)))
	case result.ToneGiven:
		return "The scale comes from a capture of a known tone."
	case result.ScaleStated:
		return "The scale is as stated, not measured."
	case result.ScaleMissing:
		return "No scale was given, and no volts are claimed."
	case result.RatiosFree:
		return "Differences between cables, and rises, need no scale."
	case result.AllUsed:
		return fmt.Sprintf("All %s listed are used.", Count(n.Count, "run"))
	case result.SomeLeftOut:
		return fmt.Sprintf("%s not used, each with its reason%s.", countAre(n.Count, "run"), runs)
	case result.SameWithThem:
		return "With those that were measured, all verdicts and rankings are the same."
	case result.OtherWithThem:
		return "With those that were measured, verdicts or rankings are other ones."
	case result.UnknownWith:
		return fmt.Sprintf("Of these, %d could not be measured.", n.Count)
	case result.ClaimsDatedNot:
		return fmt.Sprintf("Of the claims, %d may have been written after the runs began.", n.Count)
	case result.ClaimsLate:
		return fmt.Sprintf("%s written after the runs began.", countWas(n.Count, "claim"))
	case result.ClaimsBefore:
		return "All claims were written before the runs."
	}
	return n.Code
}

// Answers is what the runs say to an objection, after how it stands.
func Answers(o result.Objection) string {
	var said []string
	for _, n := range o.Notes {
		said = append(said, Answer(n))
	}
	return strings.Join(append([]string{ObjectionState(o.State) + "."}, said...), " ")
}

// LeftOut is why a run is not used; empty where it is.
func LeftOut(r result.SessionRun) string {
	if r.Used {
		return ""
	}
	switch r.LeftOut {
	case "clipped":
		return "samples are clipped"
	case "silent":
		return "nothing was recorded"
	case "":
		return "it was not measured"
	}
	return Printable(r.LeftOut)
}

// WithoutUnit takes a unit out of a text whose column names it.
func WithoutUnit(s, unit string) string { return strings.ReplaceAll(s, " "+unit, "") }

// P writes a p value: to two digits, and never as zero.
func P(p result.Num) string {
	switch {
	case !p.Ok():
		return unknown
	case p < 0.0001:
		return "below 0.0001"
	case p < 0.01:
		return Fixed(p, 4)
	}
	return Fixed(p, 2)
}

// Alike names the cables that one can't be told apart from.
func Alike(r result.Ranking, cable string) string {
	if len(r.Places) < 2 {
		return ""
	}
	if with := alikeWith(r, cable); len(with) > 0 {
		return And(with)
	}
	return "none"
}

// Doubts says what stands against a place in a ranking.
func Doubts(p result.Place) string {
	var out []string
	for _, d := range p.Doubts {
		out = append(out, map[string]string{
			result.DeadAsHigh: "the unplugged lead does as much",
			result.DeadRises:  "the unplugged lead raises it too",
			result.IdleRises:  "the idle channel rises too",
			result.BelowQuiet: "near lies below quiet",
		}[d])
	}
	return strings.Join(out, "; ")
}

// Unranked says why a cable isn't ranked.
func Unranked(x result.Excluded) string {
	if x.Why == result.OnePlacement {
		return Printable(x.Cable) + " isn't ranked: the lead was placed once only."
	}
	return Printable(x.Cable) + " isn't ranked: nothing bounds its pickup."
}

// day is a time without what a date alone doesn't have.
func day(rfc3339 string) string {
	return Printable(strings.TrimSuffix(rfc3339, "T00:00:00Z"))
}
