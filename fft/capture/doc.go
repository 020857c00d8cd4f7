// Package capture is the first stage: it turns the address of a WAV or FLAC file
// into samples, and says what is known of them. It assumes nothing of a file but what
// its bytes show: a header is believed only as far as the file bears it out, what
// is mended becomes a Note, and what can't be read soundly a *fault.Error.
//
// Samples come as float64 with full scale ±1, block by block, so that memory does
// not grow with a capture's length.
//
// The libraries are asked only for what they do soundly. go-audio/wav v1.1.0 allocates
// by what headers claim, hands floats out as integers, ignores the sub-format of
// extensible headers and refuses RF64: so chunks are mapped here first, and samples decoded
// here. mewkiz/flac v1.0.14 takes frames that leave their bits to the header for frames of 0
// bits, doesn't decode 32 bits, misreads ID3 tags, and doesn't compare frames with each other or with
// the header: so metadata blocks are read and every frame is checked here.
//
// No allocation and no loop follows what a header claims: a malformed file of less than
// 1 MiB costs at most 1 s of processor time and 64 MiB. A file that changes while it is
// read is refused (unchanged.go).
package capture
