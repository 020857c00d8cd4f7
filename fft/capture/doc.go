// Package capture is the first stage: it turns the address of a WAV or FLAC file
// into samples, and says what is known of them. It assumes nothing of a file but what
// its bytes show: a header is believed only as far as the file bears it out, what
// is mended becomes a Note, and what can't be read soundly a *fault.Error.
//
// Samples come as float64 with full scale ±1, block by block, so that memory does
// not grow with a capture's length.
package capture
