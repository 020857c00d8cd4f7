package model

// Mechanisms, and the two ways of not naming one.
const (
	Electric   = "electric"
	Shield     = "shield" // current that the lead's voltage drives into the shield
	Magnetic   = "magnetic"
	Loop       = "loop"
	Mixed      = "mixed"
	NotDecided = "not_decided"
)

// How a mechanism was told.
const (
	// Proved: whatever the phases, the other parts together are below a third of
	// it (mixed: no part can be left out).
	Proved = "proved"
	// Explains: it alone explains the pickup within half a decibel; another
	// part as large would have to be turned against it just so.
	Explains = "explains"
)

// Kinds of controlled change, which are also what a run that would decide has
// to change.
const (
	ByTermination = "termination"
	ByLoad        = "load"
	ByBond        = "bond"
	NeedCloser    = "closer" // the runs there are, with narrower intervals
	NeedRepeat    = "repeat" // the runs contradict each other: something else changed
)

// What a change of pickup fits.
const (
	FitsPart = "part"    // all of it is the part that was changed
	FitsRest = "rest"    // none of it is
	Between  = "between" // some of it is
	Outside  = "outside" // it fell or rose more than either: parts in opposition, or a changed bench
	FitsBoth = "both"    // the intervals are too wide to tell
)

// Why a coupling has no number.
const (
	WhyBalanced       = "balanced"        // pickup depends on the difference between the legs
	WhyNoVolts        = "no_volts"        // the pickup in volts isn't known
	WhyNoMains        = "no_mains"        // the mains voltage or frequency isn't known
	WhyNoImpedance    = "no_impedance"    // the source's or the input's impedance isn't known
	WhyNoCurrent      = "no_current"      // the lead's current isn't known, or there is none
	WhyOpenEnd        = "open_end"        // no loop that a magnetic field could drive
	WhyOneTermination = "one_termination" // two terminations have not told the electric field from the rest
	WhyOneLoad        = "one_load"        // nor a loaded and an unloaded lead the magnetic field
	WhyContradict     = "contradict"      // the runs contradict each other
	WhyTooMuch        = "too_much"        // more than the lead's voltage could drive through any capacitance
)

// Coupling is what pickups say of how the hum gets in, and what to expect.
type Coupling struct {
	Head
	Geometry  Geometry      `json:"geometry"`
	Runs      []CouplingRun `json:"runs"`
	Mechanism Mechanism     `json:"mechanism"`
	Expected  []Expected    `json:"expected"`
	Audible   []*Audibility `json:"audibility"` // of each of Runs; empty where no playback was given
	Warnings  []Warning     `json:"warnings"`
}

// Geometry is where the lead lay, as stated.
type Geometry struct {
	SpacingMetres  Num `json:"spacing_metres"`
	ParallelMetres Num `json:"parallel_metres"`
}

// BenchConditions are those a pickup is read against.
type BenchConditions struct {
	Hz          Num      `json:"hz"`
	MainsVolts  Estimate `json:"mains_volts"`
	SourceOhms  Estimate `json:"source_ohms"` // null where FarEndOpen
	FarEndOpen  bool     `json:"far_end_open"`
	InputOhms   Estimate `json:"input_ohms"`
	CableFarads Estimate `json:"cable_farads"` // null: not stated, taken as 0 to 1 nF
	Balanced    bool     `json:"balanced"`
}

// CouplingRun is one pickup with what follows from it.
type CouplingRun struct {
	File     string `json:"file"`
	Channel  int    `json:"channel"`
	Harmonic int    `json:"harmonic"`
	BenchConditions
	Loaded   string   `json:"loaded"` // "yes", "no" or ""
	LeadAmps Estimate `json:"lead_amps"`
	Bonded   string   `json:"bonded"` // "yes", "no", "class_ii" or ""
	Plug     int      `json:"plug"`   // 1 or 2; 0: not stated
	Quoted   bool     `json:"quoted"` // no other plug orientation of the same run has the larger pickup

	PickupVolts        Estimate `json:"pickup_volts"`
	CapacitanceFarads  Estimate `json:"capacitance_farads"` // of what two terminations leave for the electric field
	InductanceHenries  Estimate `json:"inductance_henries"` // of what a loaded and an unloaded lead leave for the magnetic field
	ThermalVoltsRootHz Num      `json:"thermal_volts_per_root_hz"`

	Mechanism RunMechanism `json:"mechanism"`
}

// RunMechanism is the mechanism of one run.
type RunMechanism struct {
	Verdict       string   `json:"verdict"` // electric, shield, magnetic, loop, mixed or not_decided
	How           string   `json:"how"`     // proved, explains; empty where not decided
	ElectricVolts Estimate `json:"electric_volts"`
	ShieldVolts   Estimate `json:"shield_volts"`
	VoltageVolts  Estimate `json:"by_voltage_volts"` // electric and shield together: phases tell both from all else
	MagneticVolts Estimate `json:"magnetic_volts"`
	LoopVolts     Estimate `json:"loop_volts"`
	OtherVolts    Estimate `json:"not_electric_volts"` // the other three together
	Needs         []string `json:"needs"`
}

// Mechanism is the verdict on all runs, with the evidence.
type Mechanism struct {
	Verdict  string     `json:"verdict"`
	Evidence []Evidence `json:"evidence"`
}

// Evidence is what two runs that differ in one thing say, or in a session two of a cable's
// parts; either counts from 0.
type Evidence struct {
	Kind   string   `json:"kind"` // what differs: termination, load or bond
	RunA   int      `json:"run_a"`
	RunB   int      `json:"run_b"`
	DB     Estimate `json:"db"`      // pickup of b over a
	IfDB   Num      `json:"if_db"`   // were all of it the part that was changed; null: no bound
	ElseDB Num      `json:"else_db"` // were none of it
	Speaks string   `json:"speaks"`  // part, rest, between, outside or both
}

// Expected is the pickup that a cable's numbers would bring at one far end; what isn't known
// of them is left out.
type Expected struct {
	BenchConditions
	CapacitanceFarads  Estimate `json:"capacitance_farads"`
	ShieldDrop         Estimate `json:"shield_drop_farad_ohms"`
	InductanceHenries  Estimate `json:"inductance_henries"` // counts where the lead's current is known
	LeadAmps           Estimate `json:"lead_amps"`
	PickupVolts        Estimate `json:"pickup_volts"`
	ThermalVoltsRootHz Num      `json:"thermal_volts_per_root_hz"`
	ThermalVolts       Num      `json:"thermal_volts"` // 20 Hz to 20 kHz
	MicrovoltFarads    Num      `json:"microvolt_farads"`
}
