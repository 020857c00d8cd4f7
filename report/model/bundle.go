package model

// Manifest lists what a bundle holds, so that a reader can check it.
type Manifest struct {
	Schema    string     `json:"schema"`
	Tool      Tool       `json:"tool"`
	Reports   []string   `json:"reports"` // JSON files that can be made again
	Files     []Packed   `json:"files"`
	NotPacked []Unpacked `json:"not_packed"` // captures named by hash alone
}

// Packed is a file of a bundle.
type Packed struct {
	Path   string `json:"path"` // in the bundle, with slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	Role   string `json:"role"` // "report", "capture" or, of what else a report was made from, "input"
}

// Unpacked is a capture that a report names and a bundle doesn't hold.
type Unpacked struct {
	File   string `json:"file"` // as the report has it
	SHA256 string `json:"sha256"`
}
