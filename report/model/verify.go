package model

// What verify finds of a report, and of a capture.
const (
	Stands     = "stands"     // all was recomputed and agrees
	Differs    = "differs"    // something recomputed disagrees
	Incomplete = "incomplete" // what was recomputed agrees, but not all could be
	Older      = "older"      // made under an older schema: nothing was compared
	Found      = "found"      // the capture is the one that was measured
	Changed    = "changed"    // a file of the name is there, with other content
	Missing    = "missing"    // neither name nor content was found
)

// Verification says number by number whether a report stands.
type Verification struct {
	Head
	Report      VerifiedReport    `json:"report"`
	Engine      string            `json:"engine"` // the transforms that recomputed it
	Verdict     string            `json:"verdict"`
	Captures    []VerifiedCapture `json:"captures"`
	Files       []VerifiedFile    `json:"files"`        // pages, tables and figures that lie beside the report
	Compared    int               `json:"compared"`     // values
	LeftOut     int               `json:"left_out"`     // values of captures that weren't found
	Worst       []VerifiedKind    `json:"worst"`        // differences within tolerance, by kind
	Differences []Difference      `json:"differences"`  // beyond it
	NotCompared []string          `json:"not_compared"` // what a report holds that nothing recomputes
}

// VerifiedReport is the report that was looked at.
type VerifiedReport struct {
	File    string `json:"file"`
	SHA256  string `json:"sha256"`
	Schema  string `json:"schema"`
	Version string `json:"version"` // of the humdiff that made it
	// To hold beside a page or a screenshot:
	Fingerprint string `json:"fingerprint"`
	Headline    string `json:"headline"`
}

// VerifiedCapture is a capture that the report names.
type VerifiedCapture struct {
	File   string `json:"file"` // as the report has it
	SHA256 string `json:"sha256"`
	State  string `json:"state"`
	At     string `json:"at"` // where it lies now; empty: not found
}

// VerifiedFile is a page, table or figure beside the report.
type VerifiedFile struct {
	File  string `json:"file"` // its name
	State string `json:"state"`
}

// States of such a file, beside Differs and Missing.
const (
	Same         = "same"          // to the byte what the result's numbers make
	OtherVersion = "other_version" // made by another version: not compared
	NotCompared  = "not_compared"  // shows more than the result holds, and its captures were not found
	Foreign      = "foreign"       // nothing of this report has that name
)

// VerifiedKind is the largest difference among values of one kind.
type VerifiedKind struct {
	Kind      string  `json:"kind"` // "dB", "Hz", "relative"
	Compared  int     `json:"compared"`
	Tolerance float64 `json:"tolerance"`
	Largest   Num     `json:"largest"`
	Where     string  `json:"where"` // path of the value; empty: all are equal
}

// Difference is a value that doesn't come out as reported.
type Difference struct {
	Where      string  `json:"where"` // path in the report's JSON
	Reported   any     `json:"reported"`
	Recomputed any     `json:"recomputed"`
	Kind       string  `json:"kind"`
	Tolerance  float64 `json:"tolerance"`
}
