package capture

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"humdiff/fft/fault"
)

// Format tags of the fmt chunk.
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

// Rates a capture may have, in hertz.
const (
	minRate = 400
	maxRate = 768000
)

// subFormatTail is what follows the format tag in the sub-format GUIDs of
// WAVEFORMATEXTENSIBLE: xxxxxxxx-0000-0010-8000-00AA00389B71.
const subFormatTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

const bitsHint = "convert it to WAV with 16, 24 or 32 bits, with any audio editor or converter"

// codecs by format tag (RFC 2361).
var codecs = map[uint16]string{
	0x0002: "ADPCM",
	0x0006: "A-law",
	0x0007: "µ-law",
	0x0011: "IMA ADPCM",
	0x0031: "GSM 6.10",
	0x0050: "MPEG audio",
	0x0055: "MP3",
	0x00FF: "AAC",
	0x0161: "Windows Media audio",
	0x1610: "AAC",
	0xF1AC: "FLAC",
}

// readFmt parses the fmt chunk. Of an overlong one only the known fields are
// read. A second one is let pass where it says the same.
func (s *scanner) readFmt(body, size int64) error {
	b, err := s.at(body, int(min(size, 40)))
	if err != nil {
		return err
	}
	if s.hasFmt {
		if !bytes.Equal(b, s.fmtBody) {
			return fault.New(againHint, "it has two fmt chunks that contradict each other")
		}
		s.warn("fmt_repeated")
		return nil
	}
	s.hasFmt, s.fmtBody = true, b
	s.out.format, err = parseFmt(b)
	if err == nil {
		s.checkByteRate(binary.LittleEndian.Uint32(b[8:]))
	}
	return err
}

// checkByteRate compares the bytes a second with rate and frame: where they
// differ one of them is wrong, and a wrong rate makes every frequency wrong. Some
// writers leave it 0.
func (s *scanner) checkByteRate(claim uint32) {
	f := s.out.format
	if want := f.rate * f.align; claim != 0 && int64(claim) != int64(want) {
		s.warn("byte_rate", "rate_hz", f.rate, "frame_bytes", f.align, "bytes_per_s", want, "said_bytes_per_s", int64(claim))
	}
}

func parseFmt(b []byte) (format, error) {
	if len(b) < 16 {
		return format{}, fault.New(againHint, "its fmt chunk has %d bytes, at least 16 are needed", len(b))
	}
	f := format{
		channels: int(binary.LittleEndian.Uint16(b[2:])),
		align:    int(binary.LittleEndian.Uint16(b[12:])),
		bits:     int(binary.LittleEndian.Uint16(b[14:])),
	}
	rate := binary.LittleEndian.Uint32(b[4:])
	tag := binary.LittleEndian.Uint16(b)
	f.container = (f.bits + 7) / 8 * 8
	if tag == tagExtensible {
		var err error
		if tag, err = f.extend(b); err != nil {
			return format{}, err
		}
	}
	if tag != tagPCM && tag != tagFloat {
		return format{}, fault.New(lossyHint, "its samples are coded as %s", codec(tag))
	}
	f.float = tag == tagFloat
	if rate < minRate || rate > maxRate {
		return format{}, rateFault(rate)
	}
	f.rate = int(rate)
	return f, f.check()
}

func rateFault(rate uint32) error {
	return fault.New(againHint, "its sample rate is %d Hz; %d Hz to %d kHz are read", rate, minRate, maxRate/1000)
}

// extend reads the fields of WAVEFORMATEXTENSIBLE and returns the sub-format's tag.
func (f *format) extend(b []byte) (uint16, error) {
	if len(b) < 40 || binary.LittleEndian.Uint16(b[16:]) < 22 {
		return 0, fault.New(againHint, "its fmt chunk says extensible but has no extension")
	}
	if string(b[26:40]) != subFormatTail {
		return 0, fault.New(wavHint, "its samples are in an unknown sub-format (%x)", b[24:40])
	}
	if f.bits%8 != 0 {
		return 0, fault.New(wavHint, "its extensible header gives %d bits a sample, which fill no whole bytes", f.bits)
	}
	valid := int(binary.LittleEndian.Uint16(b[18:]))
	if valid > f.container {
		return 0, fault.New(wavHint, "its header claims %d valid bits in samples of %d", valid, f.container)
	}
	f.extensible = true
	if valid > 0 { // some writers leave it 0
		f.bits = valid
	}
	return binary.LittleEndian.Uint16(b[24:]), nil
}

func codec(tag uint16) string {
	if name, ok := codecs[tag]; ok {
		return name
	}
	return fmt.Sprintf("format 0x%04x", tag)
}

func (f *format) check() error {
	if f.channels == 0 {
		return fault.New(againHint, "its header says 0 channels")
	}
	switch {
	case f.float && (f.container == 32 || f.container == 64):
		f.bits = f.container // valid bits say nothing about floats
	case !f.float && f.bits >= 8 && f.container <= 32:
	default:
		kind := "PCM"
		if f.float {
			kind = "float"
		}
		return fault.New(bitsHint, "its samples are %d-bit %s, which is not read", f.bits, kind)
	}
	if want := f.channels * f.container / 8; f.align != want {
		return fault.New(againHint, "its header contradicts itself: %d channels of %d-bit samples make frames of %d bytes, but it says %d",
			f.channels, f.container, want, f.align)
	}
	return nil
}
