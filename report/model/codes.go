package model

// The codes of a judged session. A sentence is made of each in package doc.

// Codes that more than one stage gives.
const (
	NotMeasured   = "not_measured"   // why a run isn't used; error says what was wrong, hint what to do: without them nobody said why
	PerhapsCopy   = "perhaps_copy"   // correlation, other
	SameRecording = "same_recording" // lag_s, gain_db (0: also not told), inverted, correlation, seconds, other (quiet, or a file): it has at t what other has at t + lag_s
)

// Codes of findings.
const (
	DeadAsHigh     = "dead_as_high"    // DB: dead's largest pickup less near's smallest
	DeadRises      = "dead_rises"      // DB: the same
	IdleRises      = "idle_rises"      // DB: the idle channel's rise, dB
	BelowQuiet     = "below_quiet"     // DB: near minus quiet
	InBlocks       = "in_blocks"       // all runs of one cable together
	QuietMoved     = "quiet_moved"     // DB: last quiet minus first
	DriftUnknown   = "drift_unknown"   // Count: near runs with quiet on one side only
	PickupMoves    = "pickup_moves"    // DB: last placement minus first, over all cells
	GainChanged    = "gain_changed"    // DB: noise, near minus quiet
	OnePlacement   = "one_placement"   // a cell that was placed once
	PlugDiffers    = "plug_differs"    // cables of one place with different plug orientations
	QuietClose     = "quiet_close"     // Count: repeats in which quiet lies within 20 dB of near
	ReferenceMoves = "reference_moves" // DB: the reference in near runs over quiet ones, mean; below_db: of the room's hum, below which no pickup is to be trusted; Count
	NoDifference   = "no_difference"   // an exposure that raised no cable
	LinesLeftOut   = "lines_left_out"  // Count: harmonics that are in no total
	WitnessMissing = "witness_missing" // an exposure under which the witness wasn't recorded
	WitnessDidNot  = "witness_did_not" // an exposure that did not raise the witness
	NoQuiet        = "no_quiet"        // near runs of a cable that no quiet run is left to hold against
	NoOrder        = "no_order"        // nobody has said in which order the runs were made
	Guessed        = "guessed"         // Count: runs with conditions that nobody has confirmed
)

// NoBound is why a cable isn't ranked whose pickup has no upper end; another is
// OnePlacement.
const NoBound = "no_bound"

// Reasons why a verdict is not more than it is.
const (
	NoRuns       = "no_runs"       // nothing speaks to the claim
	NotDelivered = "not_delivered" // the exposure raised no cable
	ScaleUnknown = "scale_unknown" // volts are unknown
	NoWitness    = "no_witness"    // nothing shows that the exposure was delivered
	NoResidual   = "no_residual"   // nothing shows how quiet the bench could be
	NoisyBench   = "noisy_bench"   // quiet lies far above the residual
	// WitnessElsewhere takes no verdict back.
	WitnessElsewhere = "witness_elsewhere"
	PlacementBeyond  = "placement_beyond"  // one placement by itself breaks the claim
	NoisyRefutes     = "noisy_refutes"     // quiet lies far above the residual, DB; that takes no refutation back
	Straddles        = "straddles"         // the interval holds what is claimed
	Unbounded        = "unbounded"         // nothing was measured on one side
	NoPassport       = "no_passport"       // no run with a known source tells the number
	PlacedWireOnce   = "placed_wire_once"  // cable: a wire or coil was laid beside it once
	PassportPredicts = "passport_predicts" // ohms, volts, lo_volts, hi_volts, against (below, above, both): it takes no verdict back
)

// What would decide a claim.
const (
	MorePlacements = "more_placements"
	LowerQuiet     = "lower_quiet"
	LowerFloor     = "lower_floor"
	GiveScale      = "give_scale"
	RecordWitness  = "record_witness"
	RecordResidual = "record_residual"
	QuieterBench   = "quieter_bench"
	SteadierBench  = "steadier_bench"
	FindQuiet      = "find_quiet" // no hum was found in quiet, so a rise has no upper end
	ExplainDead    = "explain_dead"
	StrongerLead   = "stronger_exposure"
	RecordRuns     = "record_runs"
)

// Objections, in the order in which they are listed.
const (
	ObjectBench       = "bench"       // the bench changed, or nothing was delivered
	ObjectInput       = "input"       // the recorder, not the cable
	ObjectPlacement   = "placement"   // luck in where the lead lay
	ObjectVoltage     = "voltage"     // a hand or the metal, not the voltage
	ObjectLoop        = "loop"        // a loop through the far device
	ObjectPlug        = "plug"        // which way round the plug was
	ObjectOrder       = "order"       // which cable came when
	ObjectGain        = "gain"        // another gain
	ObjectCalibration = "calibration" // volts that aren't
	ObjectSelection   = "selection"   // runs picked to please
)

// What runs say to an objection.
const (
	QuietSteady    = "quiet_steady"     // DB: the largest change between any two quiet runs of one bench
	QuietSteps     = "quiet_steps"      // DB: the largest from one quiet run to the next
	QuietUnsteady  = "quiet_unsteady"   // DB: the same, too large
	QuietOnce      = "quiet_once"       // no bench has two quiet runs with hum to compare
	QuietSilent    = "quiet_silent"     // no hum was found in any quiet run, and some bench has two
	WitnessRose    = "witness_rose"     // Count: exposures that raised it
	WitnessFailed  = "witness_failed"   // Count: exposures that did not
	WitnessNone    = "witness_none"     // no witness
	ResidualBelow  = "residual_below"   // DB: near above residual, at least
	ResidualClose  = "residual_close"   // DB: the same, too little
	ResidualNone   = "residual_none"    // no residual run
	IdleSilent     = "idle_silent"      // the idle channel did not rise
	IdleRose       = "idle_rose"        // it did
	IdleNone       = "idle_none"        // no idle channel
	Placements     = "placements"       // Count: placements, fewest per cell; DB: largest spread of one
	PlacedOnce     = "placed_once"      // Count: cells placed once
	DeadSilent     = "dead_silent"      // dead does not rise
	DeadRose       = "dead_rose"        // it does, below near
	DeadReaches    = "dead_reaches"     // as high as near
	DeadMissing    = "dead_missing"     // Count: cells that rose, without a dead run
	BondSame       = "bond_same"        // Cable; DB: bonded minus isolated
	BondDiffers    = "bond_differs"     // the same, apart
	BondIsolated   = "bond_isolated"    // all far devices isolated
	BondClassTwo   = "bond_class_ii"    // far devices of class II, and none isolated to hold them against
	PlugSame       = "plug_same"        // Cable; DB: orientation 2 minus 1
	PlugMatters    = "plug_matters"     // the same, above movedDB
	OrderMixed     = "order_mixed"      // cables took turns
	OrderInBlocks  = "order_in_blocks"  // they did not
	OrderInParts   = "order_in_parts"   // in part; Count: percent of the order's spread that lies between cables
	OrderAsListed  = "order_as_listed"  // times unknown: the list's order is taken
	OrderGuessed   = "order_guessed"    // Count: start times that nobody has confirmed
	OrderUnknown   = "order_unknown"    // not even the list's order is known to be theirs
	PickupsMoved   = "pickups_moved"    // DB: last minus first placement
	NoiseSame      = "noise_same"       // DB: the largest difference of noise, near against quiet
	NoiseDiffers   = "noise_differs"    // the same, above gainDB
	ToneGiven      = "tone_given"       // a capture of a known tone
	ScaleStated    = "scale_stated"     // full scale as stated, not measured
	ScaleMissing   = "scale_missing"    // no volts: ratios only
	RatiosFree     = "ratios_free"      // differences between cables need no scale
	AllUsed        = "all_used"         // Count: runs
	SomeLeftOut    = "some_left_out"    // Count: runs not used
	SameWithThem   = "same_with_them"   // verdicts and rankings don't change when they are used
	OtherWithThem  = "other_with_them"  // they do
	UnknownWith    = "unknown_with"     // Count: left out and not measured
	ClaimsDatedNot = "claims_not_dated" // Count
	ClaimsLate     = "claims_late"      // Count
	ClaimsBefore   = "claims_before"    // Count
)
