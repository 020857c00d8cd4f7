// Package session holds what a reviewer writes down of one sitting at the bench:
// the bench itself, the runs that were recorded, which of them are controls, and
// the claims to be tested. It comes before everything that measures: it knows
// files by their addresses only, and calculates nothing.
package session

import (
	"math"
	"path/filepath"
	"time"

	"humdiff/fft/capture"
)

// Session is one sitting, as written in its file. Files are named in it as its
// file names them; Locate says where they are.
type Session struct {
	Path     string // of the session file
	Title    string
	RunsFile string // the CSV that lists the runs, as written; empty: the session file does
	Bench    Bench
	Roles    Roles
	Playback Playback
	Runs     []Run
	Claims   []Claim
}

// Locate is where a file is that the session names: relative names count from
// the session file's folder.
func (s Session) Locate(name string) string { return locate(s.Path, name) }

func locate(sessionFile, name string) string {
	name = filepath.FromSlash(name)
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(sessionFile), name)
}

// In is the address of a run's capture as it can be opened.
func (s Session) In(a capture.Address) capture.Address {
	a.Path = s.Locate(a.Path)
	return a
}

// Bench is what stays the same over a session. NaN: not stated.
type Bench struct {
	MainsVolts  float64 // rms
	MainsHz     float64 // 50 or 60; 0: whichever is found
	FullScale   string  // as in --full-scale; empty: unknown
	Gain        string  // as in --gain
	Calibration []string
	InputOhms   float64
	InputFarads float64
	Balanced    Tri
	SpacingMM   float64 // lead to cable
	ParallelMM  float64 // length over which they run beside each other
	Notes       string
	Photos      []string // paths; the report holds their hashes
}

// Roles names the controls that concern the whole session.
type Roles struct {
	Witness string // a cable known to leak; empty: none
	// Idle is the channel, counted from 1, whose input nothing was connected to;
	// 0: none.
	Idle int
}

// Condition is what was on the bench during a run.
type Condition string

// Conditions.
const (
	Quiet    Condition = "quiet"
	Near     Condition = "near"
	Dead     Condition = "dead"
	Residual Condition = "residual"
)

// Open is the termination of a cable whose far end is open, ohms.
var Open = math.Inf(1)

// Run is one capture with its conditions.
type Run struct {
	Line int // in the file that lists it; for messages

	Cable       string
	Termination float64 // ohms at the far end; Open, or NaN where not stated
	Exposure    string  // empty for quiet runs that serve every exposure
	Condition   Condition
	Repeat      int  // from 1
	Replaced    bool // the lead was taken away and put back since the repeat before
	Plug        int  // orientation 1 or 2; 0: not stated
	Loaded      Tri  // the lead feeds a load
	LoadAmps    float64
	Bonded      Tri // the far device is bonded to the mains' earth
	Address     capture.Address
	Measured    string    // a file of humdiff measure's JSON in the capture's place; empty: none
	Start       time.Time // zero: unknown
	Note        string
	LeftOut     string   // why the run is not to be used; empty: it is used
	Guessed     []string // keys that nobody has confirmed: see Guess
}

// StartKey is the key of a run's start time. Among what was guessed it says that
// nobody has confirmed the time; or where there is none, that the run's place in
// the list isn't known to be the one in which it was made.
const StartKey = "start"

// Tri is yes, no, or not stated.
type Tri int8

// The three.
const (
	Unstated Tri = iota
	No
	Yes
)

// Claim is a statement to be tested, written before the runs were seen.
type Claim struct {
	Line    int
	Name    string
	Says    string // in the claimant's own words
	Written time.Time
	By      string

	Kind        ClaimKind
	Cable       string
	Than        string  // the other cable, for Less
	DB          float64 // for Less and Rise
	Volts       float64 // for Below
	Termination float64 // NaN: every one there is
	Exposure    string  // empty: every one there is
	Of          Quantity
}

// ClaimKind is what a claim compares.
type ClaimKind string

// Kinds of claims.
const (
	Less  ClaimKind = "less"  // picks up at least DB less than the cable Than
	Below ClaimKind = "below" // pickup below Volts
	Rise  ClaimKind = "rise"  // near at most DB above quiet
)

// Quantity is the hum that is judged: the total (zero value), one harmonic, or
// the A-weighted total.
type Quantity struct {
	Harmonic  int // 0: the total
	AWeighted bool
}
