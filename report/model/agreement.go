package model

// Agreement is two benches' passports set beside each other.
type Agreement struct {
	Head
	First  PassportFile  `json:"first"`
	Second PassportFile  `json:"second"`
	Rows   []AgreeingRow `json:"rows"`
}

// PassportFile is a passport by its file, and by what stands on its page.
type PassportFile struct {
	File        string `json:"file"`
	Fingerprint string `json:"fingerprint"`
}

// AgreeingRow is one number of one cable on both benches. Error is the normalized error: the
// difference over what both intervals together allow, in logarithms; null where one of them
// is no value.
type AgreeingRow struct {
	Cable    string   `json:"cable"`
	Quantity string   `json:"quantity"`
	Unit     string   `json:"unit"`
	First    Estimate `json:"first"`
	Second   Estimate `json:"second"`
	Error    Num      `json:"normalized_error"`
	Agrees   string   `json:"agrees"` // Yes, No or empty
}
