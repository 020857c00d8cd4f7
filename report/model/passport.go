package model

// What a known source drives.
const (
	DriveWire   = "wire"   // laid along the cable, open at its end
	DriveCoil   = "coil"   // whose current is known
	DriveShield = "shield" // a known current along the cable's shield
)

// Drives are all of them.
var Drives = []string{DriveWire, DriveCoil, DriveShield}

// DriveBench is how a known source is recorded, as the session states it.
type DriveBench struct {
	FullScale   string `json:"full_scale"` // such as "10V ±1%", of the channel that records the drive
	ShuntOhms   Num    `json:"shunt_ohms"`
	CableFarads Num    `json:"cable_farads"`

	LeadAmps Num `json:"lead_amps"` // of a loaded lead whose pickup is to be predicted, at the mains frequency

	ShuntWithin Num `json:"shunt_ohms_within"` // share; null: nothing was said
	CableWithin Num `json:"cable_farads_within"`
	LeadWithin  Num `json:"lead_amps_within"`
}

// Passport is what a known source shows of cables: their own numbers, and what those make
// of a lead.
type Passport struct {
	Head
	File   string  `json:"file"`   // the session file's name
	Inputs []Input `json:"inputs"` // the session file, and the list of runs that it names
	Title  string  `json:"title"`
	Bench  Bench   `json:"bench"`
	CableNumbers
	Claims   []Claim   `json:"claims"` // of the kind coupling
	Warnings []Warning `json:"warnings"`
}

// CableNumbers are driven runs, and what they show of each cable.
type CableNumbers struct {
	Drive  DriveBench      `json:"drive"`
	Scale  DriveScale      `json:"scale"`
	Runs   []DrivenRun     `json:"runs"`
	Cables []CablePassport `json:"cables"`
}

// DriveScale is what full scale is in both channels, V rms of a sine, and standard
// uncertainties, dB; null: not stated.
type DriveScale struct {
	InputVolts Num `json:"input_full_scale_volts"`
	DriveVolts Num `json:"drive_full_scale_volts"`
	InputUDB   Num `json:"input_u_db"`
	DriveUDB   Num `json:"drive_u_db"`
}

// DrivenRow is what a session says of a run with a known source on.
type DrivenRow struct {
	Number int    `json:"run"` // from 1, among these
	Line   int    `json:"line"`
	Cable  string `json:"cable"`     // empty of a residual
	Drive  string `json:"drive"`     // one of Drives
	Cond   string `json:"condition"` // Driven or Residual
	Ohms   Num    `json:"termination_ohms"`
	Repeat int    `json:"repeat"`
	Day    string `json:"day"` // of its start, as 2026-05-31; empty: unknown
}

// DrivenRun is one capture with a known source on, and its ratios.
type DrivenRun struct {
	DrivenRow
	Side
	DriveChannel int          `json:"drive_channel"`
	ClockPPM     Num          `json:"clock_ppm"` // by which the output's clock runs faster; null: other tones than plan's
	Clipped      int          `json:"clipped"`   // samples of either channel
	Tones        []DrivenTone `json:"tones"`
}

// DrivenTone is the ratio of the cable's channel to the drive's at one tone.
type DrivenTone struct {
	Hz   Num `json:"hz"` // by the recorder's clock
	DBFS Num `json:"dbfs"`
	Re   Num `json:"re"`
	Im   Num `json:"im"`
	U    Num `json:"u"` // standard uncertainty of either part, from recording noise
	// Steps is by how much the converter's steps may put either part off, alike at all tones.
	Steps Num `json:"u_steps"`
}

// CablePassport is one cable's numbers.
type CablePassport struct {
	Cable     string      `json:"cable"`
	Couplings []Quotient  `json:"couplings"`
	Frequency []AtTone    `json:"frequency"`
	Predicted []Predicted `json:"predicted"`
	Missing   []Note      `json:"missing"`
}

// Quantities of a passport.
const (
	OfCapacitance = "capacitance" // C_t, wire to signal conductor
	OfShieldDrop  = "shield_drop" // wire to shield, farads times ohms: what its current drops along the shield
	OfInductance  = "inductance"  // M, coil to loop
	OfTransfer    = "transfer"    // Z_t at the lowest tone
)

// Quotient is one number of a cable, with its budget of uncertainty.
type Quotient struct {
	Quantity string   `json:"quantity"`
	Unit     string   `json:"unit"` // "F", "F·Ω", "H" or "Ω"
	Value    Estimate `json:"value"`
	PerMetre Estimate `json:"per_metre"`
	Hz       Num      `json:"hz"` // where it holds; null: over all tones
	// Slope is the power of frequency by which the coupling rises, 1 where it is all of one
	// capacitance or inductance; Follows, that the tones fit that.
	Slope   Estimate `json:"slope"`
	Follows bool     `json:"follows"`
	Budget  Budget   `json:"budget"`
	Runs    []int    `json:"runs"`
}

// Budget is one budget of uncertainty (GUM), in dB.
type Budget struct {
	Parts      []BudgetPart `json:"parts"`
	UDB        Num          `json:"u_db"`
	DOF        Num          `json:"dof"` // effective; null: as good as infinite
	K          Num          `json:"k"`   // by which u is multiplied, for 95 %
	Placements int          `json:"placements"`
	Days       int          `json:"days"`
	// Standard deviations of one placement, and of one day, in dB; null where the session
	// has no second one.
	PlacementDB Num `json:"placement_db"`
	DayDB       Num `json:"day_db"`
}

// Parts of a budget.
const (
	PartRecording = "recording"
	PartScale     = "scale"
	PartBench     = "bench" // impedances as stated, and terminations of 1 %
	PartPlacement = "placement"
	PartDay       = "day"
	PartFit       = "fit"   // tones differ by more than noise
	PartPhase     = "phase" // between old and new hum, unknown
)

// BudgetPart is one contribution.
type BudgetPart struct {
	What string `json:"what"`
	UDB  Num    `json:"u_db"`
	DOF  Num    `json:"dof"` // null: as good as infinite
}

// AtTone is what couples at one tone.
type AtTone struct {
	Drive string   `json:"drive"`
	Hz    Num      `json:"hz"`
	Size  Estimate `json:"size"` // wire: V/V at Ohms; coil: V/A; shield: Ω, per ampere
	Phase Num      `json:"phase_deg"`
	Ohms  Num      `json:"termination_ohms"` // of wire; null: any
}

// Predicted is the pickup that a lead would bring where the wire lay, and one that was
// measured. Of a loaded lead, which lay where the coil did too, it is a range: its load decides
// the phase between what its voltage and its current bring.
type Predicted struct {
	BenchConditions
	LeadAmps Estimate `json:"lead_amps"`         // null: what its voltage brings
	Volts    Estimate `json:"pickup_volts"`      // in the middle of placements
	Once     Estimate `json:"once_pickup_volts"` // of a lead laid there once; null: placements were not repeated
	Run      int      `json:"near_run"`          // of the session; 0: none was recorded
	Measured Estimate `json:"measured_volts"`
	Agrees   string   `json:"agrees"` // Yes, No or empty
	Quiet    *Side    `json:"quiet"`  // what that was measured in
	Near     *Side    `json:"near"`
}
