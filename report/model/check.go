package model

// Check is what captures are, and what is wrong with them.
type Check struct {
	Head
	Files    []CheckedFile `json:"files"`
	Warnings []Warning     `json:"warnings"`
}

// CheckedFile is one file, or a span of one. Where it can't be opened, Problem
// says why, and numbers are null; where its samples can't be measured, there are
// no channels.
type CheckedFile struct {
	File      string           `json:"file"`
	Container string           `json:"container"` // "RIFF", "RF64", "BW64" or "FLAC"
	Format    string           `json:"format"`    // e.g. "24-bit PCM"
	RateHz    Num              `json:"rate_hz"`
	Bits      Num              `json:"bits"`
	Float     bool             `json:"float"`
	Count     Num              `json:"channel_count"` // in the file
	Frames    Num              `json:"frames"`        // in the file
	FileS     Num              `json:"file_s"`        // length of the file
	StartS    Num              `json:"start_s"`       // of the span that was read
	EndS      Num              `json:"end_s"`
	SHA256    string           `json:"sha256"` // of the file; empty where it couldn't be read
	Metadata  Metadata         `json:"metadata"`
	Channels  []CheckedChannel `json:"channels"`
	Problem   Problem          `json:"problem"`
}

// Metadata is what a file says about itself, unchecked.
type Metadata struct {
	// Recorded is when the recording began by the recorder's clock, whose zone is
	// not known: "2031-02-28T19:05:07", or the day alone; empty: not said.
	Recorded string `json:"recorded"`
	Source   string `json:"source"` // where Recorded was read, e.g. "bext"
	Texts    []Text `json:"texts"`
}

// Text is one thing a file says about itself.
type Text struct {
	Name  string `json:"name"` // e.g. "comment"
	Key   string `json:"key"`  // what the file calls it, e.g. "ICMT"
	Value string `json:"value"`
}

// CheckedChannel is what the samples of one channel say.
type CheckedChannel struct {
	Channel int    `json:"channel"`
	Mains   Mains  `json:"mains"`
	Health  Health `json:"health"`
}

// Problem is why a file can't be used, and what to do; both empty: it can.
type Problem struct {
	What string `json:"what"`
	Hint string `json:"hint"`
}
