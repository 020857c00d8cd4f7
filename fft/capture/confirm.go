package capture

import (
	"io"

	"github.com/go-audio/wav"

	"humdiff/fft/fault"
)

// confirm has go-audio/wav read the header as well, where that library reads
// soundly, and refuses a file the two readings disagree about: then one of them
// would measure something else than what was recorded.
func confirm(r io.ReadSeeker, l layout) error {
	if !librarySound(l) {
		return nil
	}
	d := wav.NewDecoder(r)
	if err := d.FwdToPCM(); err != nil {
		return err
	}
	offset, err := d.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	f := l.format
	agree := int(d.NumChans) == f.channels && int(d.SampleRate) == f.rate && int(d.BitDepth) == f.bits &&
		offset == l.offset && d.PCMLen() == l.size
	if !agree {
		return fault.New(againHint, "its header can be read in two ways: %d channels, %d Hz, %d bits, %d bytes at %d; or %d, %d, %d, %d at %d",
			f.channels, f.rate, f.bits, l.size, l.offset, d.NumChans, d.SampleRate, d.BitDepth, d.PCMLen(), offset)
	}
	return nil
}

// librarySound is where go-audio/wav v1.1.0 can be trusted: plain PCM of an even number of
// bytes behind a header in which nothing had to be mended, and which is too short for a
// chunk besides fmt: of others it would allocate by what they claim.
func librarySound(l layout) bool {
	return l.container == "RIFF" && l.offset >= 44 && l.offset < 44+chunkHeader && len(l.warnings) == 0 && l.size%2 == 0 &&
		!l.format.float && !l.format.extensible && l.format.bits == l.format.container
}
