package model

import (
	"slices"
	"time"

	"humdiff/fft/estimate"
)

// Session is a session: what its file states, what was measured in each run, what
// that means per cable, termination and exposure, and what follows. It holds
// everything that is needed to judge again. Runs are named by their number, which
// counts from 1 in the order of the session file; 0 is none.
type Session struct {
	Head
	Settings Settings `json:"settings"`
	File     string   `json:"file"`   // the session file's name
	Inputs   []Input  `json:"inputs"` // the session file, the list of runs that it names, the key of an opened one, and what of runs could not be measured
	Sitting
	ByTime bool `json:"by_time"` // runs are ordered by their start times; else as listed
	// OrderUnknown says that nobody has stated in which order the runs were made:
	// not even the list's counts.
	OrderUnknown bool `json:"order_unknown"`

	// Totals are over the harmonics 1 to Lines without LinesWithout, in every run.
	Lines        int   `json:"lines"`
	LinesWithout []int `json:"lines_without"`

	// Passport is what driven runs show of cables, a ground of claims; null: there are none.
	Passport *CableNumbers `json:"passport"`

	Cells     []Cell     `json:"cells"`
	Exposures []Exposure `json:"exposures"`
	Rankings  []Ranking  `json:"rankings"`
	Findings  []Finding  `json:"findings"`
	// Mechanisms is how the hum gets in; empty where the bench isn't stated.
	Mechanisms []SessionMechanism `json:"mechanisms"`
	Audible    []SessionAudible   `json:"audible"` // what each cable's hum is at the listener of Playback; empty where none is stated

	Objections []Objection `json:"objections"`
	Warnings   []Warning   `json:"warnings"`
}

// Referred says that some run has a reference channel.
func (s Session) Referred() bool {
	return slices.ContainsFunc(s.Runs, func(r Run) bool { return r.Reference > 0 })
}

// Input is a file that a result was made from, besides captures.
type Input struct {
	File   string `json:"file"` // its name
	SHA256 string `json:"sha256"`
}

// Sitting is one sitting as its file states it, the parts of Run and Claim that
// are found out later aside.
type Sitting struct {
	Title    string    `json:"title"`
	Blind    bool      `json:"blind"` // cables are letters
	Bench    Bench     `json:"bench"`
	Control  string    `json:"witness"`      // the positive control, a cable known to leak; empty: none
	Idle     int       `json:"idle_channel"` // whose input nothing was connected to; 0: none
	Playback *Playback `json:"playback"`     // nil: not stated
	Runs     []Run     `json:"runs"`
	Claims   []Claim   `json:"claims"`

	Drive  DriveBench `json:"-"` // how a known source is recorded: a passport has it
	Driven []Run      `json:"-"` // the rows in which one was on, numbered by themselves
}

// SessionAudible is a cable's hum at a listener, of its near run with the most.
type SessionAudible struct {
	Cable      string     `json:"cable"`
	Where      Where      `json:"where"`
	Run        int        `json:"run"`
	Audibility Audibility `json:"audibility"`
}

// Bench is the bench as the session states it.
type Bench struct {
	MainsVolts  Num      `json:"mains_volts"`
	MainsHz     Num      `json:"mains_hz"`
	FullScale   string   `json:"full_scale"`
	Gain        string   `json:"gain"`
	Calibration []string `json:"calibration"`
	InputOhms   Num      `json:"input_ohms"`
	InputFarads Num      `json:"input_farads"`
	Balanced    string   `json:"balanced"`
	SpacingMM   Num      `json:"spacing_mm"`
	ParallelMM  Num      `json:"parallel_mm"`
	Notes       string   `json:"notes"`
	Photos      []Photo  `json:"photos"`

	// What those values may be off by, either way, as a share of the value; null:
	// nothing was said of it.
	MainsVoltsWithin  Num `json:"mains_volts_within"`
	InputOhmsWithin   Num `json:"input_ohms_within"`
	InputFaradsWithin Num `json:"input_farads_within"`
}

// Within is a value with what it may be off by, as an estimate; without ends where
// nothing was said of that.
func Within(value, share Num) Estimate {
	v, off := value.Float(), value.Float()*share.Float()
	return estimate.Of(v, Digits(v-off, 7), Digits(v+off, 7))
}

// Photo is a picture of the bench, by its hash.
type Photo struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"` // empty: could not be read
}

// Termination is what a cable's far end is terminated in.
type Termination struct {
	Ohms Num  `json:"ohms"` // null: open, or not stated
	Open bool `json:"open"`
}

// Stated says that it was.
func (t Termination) Stated() bool { return t.Open || t.Ohms.Ok() }

// Same compares terminations; those not stated are alike.
func (t Termination) Same(o Termination) bool {
	return t.Open == o.Open && (t.Ohms == o.Ohms || !t.Ohms.Ok() && !o.Ohms.Ok())
}

// Answers to a question a session may leave open: yes, no, or empty.
const (
	Yes = "yes"
	No  = "no"
	// ClassTwo is how a far device is tied to the mains' earth that is neither bonded to
	// it nor isolated from it: double-insulated, whose leakage flows in signal cables.
	ClassTwo = "class_ii"
)

// Run is one capture with its conditions, and what was measured in it, spectra
// and cycles left out.
type Run struct {
	Number      int         `json:"run"`  // from 1
	Line        int         `json:"line"` // in the file that lists it
	Cable       string      `json:"cable"`
	Termination Termination `json:"termination"`
	Exposure    string      `json:"exposure"`  // empty for quiet runs that serve every exposure
	Condition   string      `json:"condition"` // Quiet, Near, Unplugged or Residual
	Repeat      int         `json:"repeat"`    // from 1
	Replaced    bool        `json:"replaced"`  // the lead was taken away and put back since the repeat before
	Plug        int         `json:"plug"`      // orientation 1 or 2; 0: not stated
	Loaded      string      `json:"loaded"`    // the lead feeds a load: Yes, No or empty
	LoadAmps    Num         `json:"load_amps"`
	Bonded      string      `json:"bonded"`    // the far device is bonded to the mains' earth: Yes, ClassTwo, No (on battery or behind a transformer) or empty
	Address     string      `json:"address"`   // as written
	Reference   int         `json:"reference"` // channel of the same file that records the field; 0: none
	Measured    string      `json:"measured"`  // a measurement's JSON taken in the capture's place; empty: none
	Start       time.Time   `json:"start"`     // zero: unknown
	Note        string      `json:"note"`
	LeftOut     string      `json:"left_out"` // why the run is not to be used, in the user's words; empty: it is used
	Guessed     []string    `json:"guessed"`  // keys that nobody has confirmed
	Drive       string      `json:"-"`        // what a known source drove: one of Drives. Such rows are no runs of a sitting: session.File has them

	// Found out:
	Used        bool     `json:"used"`
	Unused      Note     `json:"unused"`  // why it isn't used, where that isn't the user's word; no code: nothing
	Failed      bool     `json:"failed"`  // it could not be measured
	Against     []int    `json:"against"` // the quiet runs that a near or unplugged run is compared with
	Capture     *Capture `json:"capture"` // of the cable's channel; nil: not measured
	IdleCapture *Capture `json:"idle"`    // of the idle channel; nil: none
}

// WithLead says that the lead was there.
func (r *Run) WithLead() bool { return r.Condition == Near || r.Condition == Unplugged }

// SameBench says that two runs differ in the lead alone.
func (r *Run) SameBench(o *Run) bool {
	return r.Cable == o.Cable && r.Termination.Same(o.Termination) &&
		(r.Exposure == o.Exposure || r.Exposure == "" || o.Exposure == "") &&
		(r.Bonded == o.Bonded || r.Bonded == "" || o.Bonded == "")
}

// Where is the place that a run belongs to.
func (r *Run) Where() Where { return Where{r.Termination, r.Exposure, r.Loaded, r.Bonded} }

// Conditions of a run. What files call unplugged is "dead".
const (
	Quiet     = "quiet"
	Near      = "near"
	Unplugged = "dead"
	Residual  = "residual"
	Driven    = "driven" // a known source on: of a row that is no run of a sitting
)

// StartKey is the key of a run's start time. Among what was guessed it says that
// nobody has confirmed the time; or where there is none, that the run's place in
// the list isn't known to be the one in which it was made.
const StartKey = "start"

// Where is one exposure at one termination, lead loaded or not, far device
// bonded or not.
type Where struct {
	Termination Termination `json:"termination"`
	Exposure    string      `json:"exposure"`
	Loaded      string      `json:"loaded"`
	Bonded      string      `json:"bonded"`
}

// Same compares places.
func (w Where) Same(o Where) bool {
	return w.Termination.Same(o.Termination) && w.Exposure == o.Exposure && w.Loaded == o.Loaded && w.Bonded == o.Bonded
}

// Cell is one quantity of one cable under one exposure at one termination,
// lead loaded or not, far device bonded or not: what was repeated.
type Cell struct {
	Cable string `json:"cable"`
	Where
	Quantity Quantity `json:"quantity"`

	Repeats    []Repeat `json:"repeats"`
	Placements int      `json:"placements"` // repeats whose lead wasn't replaced count once
	// Means over placements, dB and dB re full scale; without ends where there is
	// only one placement.
	Delta  Estimate `json:"delta_db"`
	Pickup Estimate `json:"pickup_dbfs" est:"dbfs"`
	// SD is the standard deviation of one placement, dB of pickup; null where
	// there is only one, or where a pickup has no value.
	SD   Num  `json:"sd_db"`
	Rose bool `json:"rose"` // every placement lies above quiet
	// Budget is the pickup's, in volts; without parts where it has no value.
	Budget Budget `json:"budget"`
}

// Quantity is the hum that is judged: one harmonic, or where that is 0 the
// total, A-weighted or not.
type Quantity struct {
	Harmonic  int  `json:"harmonic"`
	AWeighted bool `json:"a_weighted"`
}

// Repeat is one near run against the quiet runs around it.
type Repeat struct {
	Run       int      `json:"run"`
	Before    int      `json:"quiet_before"`
	After     int      `json:"quiet_after"`
	Against   []int    `json:"against"` // all quiet runs it is held against: those two, or where the order is unknown, any
	Repeat    int      `json:"repeat"`
	Placement int      `json:"placement"` // counts from 1
	Plug      int      `json:"plug"`
	Delta     Estimate `json:"delta_db"` // near minus quiet; ends hold recording noise and drift
	Pickup    Estimate `json:"pickup_dbfs" est:"dbfs"`
	Drift     Num      `json:"drift_db"`  // quiet after minus before
	Spread    Num      `json:"spread_db"` // added to both ends for quiet on one side only
}

// Exposure is what one exposure did at one termination.
type Exposure struct {
	Where
	Rose    []string `json:"rose"`    // cables whose hum total rose in every placement
	Others  []string `json:"others"`  // cables recorded, whose didn't
	Witness string   `json:"witness"` // Yes: it rose; No: it didn't; empty: not recorded
	// WitnessElsewhere says that the witness's answer is from another termination.
	WitnessElsewhere bool `json:"witness_elsewhere"`
}

// Ranking is the cables under one exposure at one termination, least pickup
// first. Exposures that raise no cable have none.
type Ranking struct {
	Where
	Quantity Quantity   `json:"quantity"`
	Places   []Place    `json:"places"`
	Pairs    []Contrast `json:"pairs"`
	// Groups are the largest sets of cables of which no two are told apart; a
	// cable may be in several.
	Groups  [][]string `json:"groups"`
	LeftOut []Excluded `json:"left_out"`
	Settled bool       `json:"settled"` // every two are told apart
}

// Place is one cable's place in a ranking.
type Place struct {
	Cable  string   `json:"cable"`
	Pickup Estimate `json:"pickup_dbfs" est:"dbfs"`
	// AgainstWitness is its pickup less the witness's, dB; nulls without one.
	AgainstWitness Estimate `json:"against_witness_db"`
	Placements     int      `json:"placements"`
	Doubts         []string `json:"doubts"` // codes of findings that stand against it
}

// Excluded is a cable that isn't ranked.
type Excluded struct {
	Cable string `json:"cable"`
	Why   string `json:"why"` // a code: OnePlacement or NoBound
}

// Contrast is b's pickup less a's.
type Contrast struct {
	A string `json:"a"`
	B string `json:"b"`
	// DB has the interval of this pair by itself.
	DB    Estimate `json:"db"`
	P     Num      `json:"p"`      // two-sided
	HolmP Num      `json:"holm_p"` // adjusted over all pairs of the ranking
	Apart bool     `json:"apart"`  // told apart, at most 5 % of rankings wrong anywhere
}

// Finding is something that the runs say beside the numbers.
type Finding struct {
	Note
	Cable string `json:"cable"`
	Where
	Runs []int `json:"runs"`
}

// Verdicts on a claim.
const (
	Supported = "supported"
	Refuted   = "refuted"
	Undecided = "undecided"
)

// Kinds of claims.
const (
	ClaimLess  = "less"  // picks up at least DB less than the cable Than
	ClaimBelow = "below" // pickup below Volts
	ClaimRise  = "rise"  // near at most DB above quiet
	ClaimSame  = "same"  // picks up within DB of what the cable Than does
	// ClaimCoupling is that one of a cable's own numbers, or the pickup that they predict, is
	// at most Limit: its ground is a passport.
	ClaimCoupling = "coupling"
)

// ClaimKinds are all of them.
var ClaimKinds = []string{ClaimLess, ClaimBelow, ClaimRise, ClaimSame, ClaimCoupling}

// Claim is a statement to be tested, written before the runs were seen, and what
// the runs say about it.
type Claim struct {
	Line        int         `json:"line"` // in the session file
	Name        string      `json:"name"`
	Says        string      `json:"says"` // in the claimant's own words
	By          string      `json:"by"`
	Written     time.Time   `json:"written"` // zero: not dated
	Kind        string      `json:"kind"`
	Cable       string      `json:"cable"`
	Than        string      `json:"than"` // the other cable, for ClaimLess and ClaimSame
	DB          Num         `json:"db"`   // for all but ClaimBelow
	Volts       Num         `json:"volts"`
	Limit       Limit       `json:"limit"`       // for ClaimCoupling
	Termination Termination `json:"termination"` // neither ohms nor open: every one
	Exposure    string      `json:"exposure"`    // empty: every one
	Quantity    Quantity    `json:"quantity"`

	ClaimFound
}

// ClaimFound is what the runs say of a claim.
type ClaimFound struct {
	Late string `json:"late"` // LateYes, LateNo or LateUnknown: written after the first run began
	// P is the least chance of a wrong verdict at which this one still comes out;
	// null where undecided. A verdict is given at 2.5 % at most.
	P Num `json:"p"`
	// Together says that the verdict also stands when all claims of the session
	// are to be right together in 95 % of sessions (Holm).
	Together bool        `json:"together"`
	Verdict  string      `json:"verdict"`
	Parts    []ClaimPart `json:"parts"`
	Reasons  []Note      `json:"reasons"` // that concern no part alone
}

// Limit is what a number of a cable is claimed to be at most: of its unit "F" or "F/m" the
// capacitance, "H" or "H/m" the inductance, "Ω" or "Ω/m" the transfer impedance at Hz (the
// lowest tone where that is null), "V" the pickup that they predict of a lead, at the
// claim's termination; the lead's frequency and voltage, and the input, are the bench's
// where they are null. No unit: nothing is claimed.
type Limit struct {
	Value      Num    `json:"value"`
	Unit       string `json:"unit"`
	Hz         Num    `json:"hz"`
	MainsVolts Num    `json:"mains_volts"`
	InputOhms  Num    `json:"input_ohms"`
}

// NoLimit is none.
func NoLimit() Limit { return Limit{Value: None, Hz: None, MainsVolts: None, InputOhms: None} }

// Whether a claim was written after the runs began.
const (
	LateYes     = "yes"
	LateNo      = "no"
	LateUnknown = "unknown"
)

// ClaimPart is a claim under one exposure at one termination.
type ClaimPart struct {
	Where
	Verdict string `json:"verdict"`
	// Value is in dB for less and same (than's pickup less the cable's; the interval of same
	// is of 90 %) and rise (near minus quiet), in volts for below, in the limit's unit for
	// coupling.
	Value Estimate `json:"value"`
	Unit  string   `json:"unit"`
	Runs  []int    `json:"runs"` // the evidence; for coupling the passport's runs
	P     Num      `json:"p"`
	// GuardBand is how far on its own side of the limit a value has to lie for support, in Unit
	// (JCGM 106: guarded acceptance); null where there is no value.
	GuardBand Num    `json:"guard_band"`
	Reasons   []Note `json:"reasons"` // why the verdict is not more than it is
	Decide    []Note `json:"decide"`  // what would decide it
}

// How an objection stands.
const (
	Answered  = "answered"   // runs speak against the objection
	Open      = "open"       // runs speak to it and don't settle it
	Upheld    = "upheld"     // runs speak for the objection
	NotTested = "not_tested" // no run speaks to it
)

// Objection is what a hostile reader would raise, and the runs that answer.
type Objection struct {
	Code  string `json:"code"`
	State string `json:"state"`
	Notes []Note `json:"notes"` // what the runs say, each with its numbers
}

// SessionMechanism is how hum gets into one cable under one exposure, read off
// the fundamental of its cells.
type SessionMechanism struct {
	Cable    string `json:"cable"`
	Exposure string `json:"exposure"`
	Mechanism
	Parts []MechanismPart `json:"parts"`
}

// MechanismPart is what is known of one cell.
type MechanismPart struct {
	Where
	Runs    []int    `json:"runs"` // near runs
	Verdict string   `json:"verdict"`
	How     string   `json:"how"`   // proved or explains; empty where not decided
	Needs   []string `json:"needs"` // what a run that would decide has to change
	Pickup  Estimate `json:"pickup_volts"`
	// Farads is the capacitance behind the electric part that two terminations tell.
	Farads Estimate `json:"capacitance_farads"`
}
