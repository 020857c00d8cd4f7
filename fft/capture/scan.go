package capture

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"humdiff/fft/fault"
	"humdiff/fft/note"
)

// layout is where a WAV file keeps its samples and how they are written.
type layout struct {
	container string // "RIFF", "RF64", "BW64" or "FLAC"
	format    format
	offset    int64       // of the first sample
	size      int64       // bytes of whole frames that are really there
	texts     []place     // chunks that hold metadata
	flac      *flacLayout // nil in WAV files
	warnings  []note.Note
}

// frames is how many frames the file holds.
func (l layout) frames() int64 { return l.size / int64(l.format.align) }

// String describes the format for people.
func (l layout) String() string {
	if l.flac != nil {
		return fmt.Sprintf("%d-bit FLAC", l.format.bits)
	}
	return l.format.String()
}

// format is the fmt chunk, checked.
type format struct {
	rate       int
	channels   int
	container  int // bits a sample takes in the file
	bits       int // bits that count: the valid bits of integers, the container of floats
	float      bool
	extensible bool
	align      int // bytes a frame
}

// String describes the format for people.
func (f format) String() string {
	s := fmt.Sprintf("%d-bit PCM", f.bits)
	if f.float {
		s = fmt.Sprintf("%d-bit float", f.bits)
	}
	if f.bits != f.container {
		s += fmt.Sprintf(" in %d-bit words", f.container)
	}
	return s
}

const (
	chunkHeader = 8
	maxChunks   = 4096 // before the data; more is no audio file
	unknownSize = 1<<32 - 1
	maxInt63    = 1<<63 - 1
	maxInt31    = 1<<31 - 1
	// streamers that can't seek back leave the size open: 0, or the largest a
	// 32-bit number holds, signed or not, give or take a header
	nearlyMaxInt31 = maxInt31 - 1<<16

	wavHint   = "convert it to uncompressed WAV (PCM or float) or to FLAC, with any audio editor or converter"
	lossyHint = wavHint + "; what its coding took away stays away, so better record again"
	againHint = "record or export it again"
)

// scan finds fmt and data in a WAV file of the given length. It allocates nothing
// by what a header claims and reads a bounded number of chunk headers.
//
// Sources: Multimedia Programming Interface and Data Specifications 1.0 (RIFF, 1991); EBU
// Tech 3306 (RF64); ITU-R BS.2088 (BW64); all from memory.
func scan(r io.ReaderAt, length int64) (layout, error) {
	s := scanner{r: r, length: length}
	if err := s.header(); err != nil {
		return layout{}, err
	}
	for range maxChunks {
		done, err := s.chunk()
		if err != nil {
			return layout{}, err
		}
		if done {
			return s.finish()
		}
	}
	return layout{}, fault.New(wavHint, "more than %d chunks come before the samples", maxChunks)
}

type scanner struct {
	r       io.ReaderAt
	length  int64
	pos     int64
	out     layout
	large   bool  // RF64 or BW64
	ds64    int64 // data size by the ds64 chunk
	hasDS64 bool
	hasFmt  bool
	hasData bool
	claim   int64  // data size as the header has it, −1 when it is left open
	overrun string // what the first chunk says that claims more than the file holds
	fmtBody []byte // of the first fmt chunk, as far as it is read
	padless bool   // a pad byte was missing
	more    int    // data chunks after the first
}

// at reads n bytes at off; fewer where the file ends.
func (s *scanner) at(off int64, n int) ([]byte, error) {
	b := make([]byte, n)
	got, err := s.r.ReadAt(b, off)
	if err != nil && err != io.EOF {
		return nil, err
	}
	return b[:got], nil
}

func (s *scanner) header() error {
	b, err := s.at(0, 12)
	if err != nil {
		return err
	}
	if len(b) == 0 {
		return fault.New(againHint, "the file is empty")
	}
	id := string(b[:min(4, len(b))])
	switch {
	case id == "RIFX":
		return fault.New(wavHint, "a big-endian WAV file (RIFX), which is not read")
	case id != "RIFF" && id != "RF64" && id != "BW64":
		return s.notWAV(b)
	case len(b) < 12:
		return fault.New(againHint, "the file ends after %d bytes, within its header", len(b))
	case string(b[8:12]) != "WAVE":
		return fault.New(wavHint, "a RIFF file, but of type %q, not WAVE", b[8:12])
	}
	s.out.container = id
	s.large = id != "RIFF"
	s.pos = 12
	return nil
}

// signatures of files people take for WAV, at the file's beginning; from memory.
var signatures = []struct{ magic, name, hint string }{
	{"FORM", "an AIFF file", wavHint},
	{"caff", "a CAF file", wavHint},
	{"OggS", "an Ogg file", lossyHint},
	{"ID3", "an MP3 file", lossyHint},
	{"riff", "a Wave64 file", wavHint},
	{"wvpk", "a compressed audio file", wavHint},
	{".snd", "an AU file", wavHint},
	{"DSD ", "a one-bit (DSD) file", wavHint},
	{"FRM8", "a one-bit (DSD) file", wavHint},
	{"MThd", "a MIDI file, which holds notes and no samples", againHint},
	{"\x30\x26\xb2\x75", "a Windows Media file", lossyHint},
	{"\x1a\x45\xdf\xa3", "a Matroska or WebM file", lossyHint},
	{"PK\x03\x04", "a ZIP archive", "unpack it and name a capture in it"},
	{"\x1f\x8b", "a gzip archive", "unpack it and name a capture in it"},
	{"<", "a web page or another text", "download the capture itself"},
}

func (s *scanner) notWAV(b []byte) error {
	if page, err := s.at(28, 5); err == nil && string(b[:min(4, len(b))]) == "OggS" && string(page) == "\x7fFLAC" {
		return fault.New(flacHint, "not a WAV or FLAC file but a FLAC stream in an Ogg file")
	}
	for _, s := range signatures {
		if bytes.HasPrefix(b, []byte(s.magic)) {
			return fault.New(s.hint, "not a WAV or FLAC file but %s", s.name)
		}
	}
	switch {
	case len(b) > 8 && string(b[4:8]) == "ftyp":
		return fault.New(lossyHint, "not a WAV or FLAC file but an MPEG-4 file")
	case len(b) > 1 && b[0] == 0xff && b[1]&0xf6 == 0xf0: // layer 0
		return fault.New(lossyHint, "not a WAV or FLAC file but an AAC file")
	case len(b) > 2 && b[0] == 0xff && b[1]&0xe0 == 0xe0 && b[1]&0x18 != 0x08 && b[2]&0xf0 != 0xf0:
		return fault.New(lossyHint, "not a WAV or FLAC file but an MP3 file")
	}
	return fault.New(wavHint, "not a WAV or FLAC file")
}

// chunk reads one chunk header and what is wanted of its body, and moves on.
// It is done at the file's end, or once it has both fmt and data.
func (s *scanner) chunk() (done bool, err error) {
	b, err := s.at(s.pos, chunkHeader)
	if err != nil {
		return false, err
	}
	if len(b) < chunkHeader {
		return true, nil
	}
	id := string(b[:4])
	size := int64(binary.LittleEndian.Uint32(b[4:]))
	body := s.pos + chunkHeader
	switch id {
	case "ds64":
		err = s.readDS64(body, size)
	case "fmt ":
		err = s.readFmt(body, size)
	case "data":
		if !s.hasData {
			size = s.readData(body, size)
		} else {
			s.more++
		}
	}
	if err != nil {
		return false, err
	}
	s.noteText(id, body, size)
	if there := max(0, s.length-body); size > there && s.overrun == "" {
		s.overrun = fmt.Sprintf("its %q chunk claims %d bytes where only %d follow", id, size, there)
	}
	s.pos = s.after(body + size)
	return s.hasFmt && s.hasData, nil
}

// noteText keeps in mind where metadata lies.
func (s *scanner) noteText(id string, body, size int64) {
	if textChunk(id) && len(s.out.texts) < maxTexts {
		s.out.texts = append(s.out.texts, place{id, body, size})
	}
}

// after is where the chunk behind one that ends at end begins. A pad byte keeps
// chunks at even places; some writers forget it, and then a chunk of a known
// name begins where the pad byte should be and none behind it.
func (s *scanner) after(end int64) int64 {
	if end&1 == 0 {
		return end
	}
	b, err := s.at(end, 5)
	if err != nil || len(b) < 5 || !knownChunk(b[:4]) || knownChunk(b[1:]) {
		return end + 1
	}
	if !s.hasFmt || !s.hasData { // behind both it changes nothing that is read
		s.padless = true
	}
	return end
}

// knownChunk says that a chunk's name is one that WAV files are known to have.
func knownChunk(id []byte) bool {
	switch string(id) {
	case "fmt ", "data", "fact", "ds64", "LIST", "bext", "JUNK", "junk", "FLLR", "PAD ", "iXML", "id3 ", "ID3 ", "cue ", "smpl", "inst", "PEAK", "chna", "axml", "levl", "umid", "afsp":
		return true
	}
	return false
}

// readDS64 takes the data size from the chunk that RF64 and BW64 keep it in:
// RIFF size, data size and frame count, eight bytes each.
func (s *scanner) readDS64(body, size int64) error {
	b, err := s.at(body, 24)
	if err != nil {
		return err
	}
	if size < 24 || len(b) < 24 {
		return fault.New(againHint, "its ds64 chunk is too short")
	}
	s.hasDS64 = true
	s.ds64 = int64(min(binary.LittleEndian.Uint64(b[8:]), maxInt63))
	return nil
}

// readData notes where the data chunk lies and returns the size to skip it by.
func (s *scanner) readData(body, size int64) int64 {
	s.hasData = true
	s.out.offset = body
	s.claim = size
	if s.large && size == unknownSize && s.hasDS64 {
		s.claim = s.ds64
	}
	there := max(0, s.length-body)
	streamed := s.claim == unknownSize && !s.hasDS64 || s.claim >= maxInt63 ||
		s.claim&maxInt31 >= nearlyMaxInt31 && s.claim > there && !s.large
	if streamed || s.claim == 0 && !s.chainToEnd(body) {
		s.claim = -1
		return there
	}
	return min(s.claim, there)
}

// chainToEnd reports whether well-formed chunks fill the file from pos to its end,
// so that an empty data chunk before them is truly empty.
func (s *scanner) chainToEnd(pos int64) bool {
	for range maxChunks {
		if pos >= s.length {
			return true
		}
		b, err := s.at(pos, chunkHeader)
		if err != nil || len(b) < chunkHeader || !printable(b[:4]) {
			return false
		}
		size := int64(binary.LittleEndian.Uint32(b[4:]))
		pos += chunkHeader + size + size&1
		if pos > s.length+1 { // the last pad byte may be missing
			return false
		}
	}
	return false
}

func printable(b []byte) bool {
	for _, c := range b {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}

// finish checks that both chunks were there and settles how much data to read.
func (s *scanner) finish() (layout, error) {
	switch {
	case !(s.hasFmt && s.hasData) && s.overrun != "":
		return layout{}, fault.New(againHint, "%s", s.overrun)
	case !s.hasFmt:
		return layout{}, fault.New(againHint, "it has no fmt chunk: nothing says how its samples are written")
	case !s.hasData:
		return layout{}, fault.New(againHint, "it has no data chunk: it holds no samples")
	}
	there := max(0, s.length-s.out.offset)
	align := int64(s.out.format.align)
	size := s.claim
	switch {
	case s.claim < 0:
		size = there
		s.warn("open_size", "read_s", s.seconds(size))
	case s.claim > there:
		size = there
		s.warn("truncated", "promised_s", s.seconds(s.claim), "read_s", s.seconds(size))
	default:
		s.checkEnd()
		if err := s.tail(); err != nil {
			return layout{}, err
		}
	}
	if s.padless {
		s.warn("pad_missing")
	}
	s.out.size = size - size%align
	if s.out.size == 0 {
		return layout{}, fault.New(againHint, "it holds no samples")
	}
	return s.out, nil
}

// tail looks at the chunks after the samples: metadata often stands there, and
// another set of samples or of their format must not go unsaid.
func (s *scanner) tail() error {
	for range maxChunks {
		b, err := s.at(s.pos, chunkHeader)
		if err != nil {
			return err
		}
		if len(b) < chunkHeader || !printable(b[:4]) {
			break
		}
		if _, err := s.chunk(); err != nil {
			return err
		}
	}
	if s.more > 0 {
		s.warn("data_left_out", "data_chunks", s.more+1, "read_s", s.seconds(s.claim))
	}
	return nil
}

// checkEnd warns of samples that an otherwise complete header does not cover.
func (s *scanner) checkEnd() {
	if rest := s.claim % int64(s.out.format.align); rest != 0 {
		s.warn("partial_frame", "left_bytes", rest)
	}
	end := s.out.offset + s.claim
	left := s.length - end
	if left >= chunkHeader && !s.chainToEnd(end+end&1) && !s.chainToEnd(end) { // some writers forget the pad byte
		s.warn("bytes_left_out", "left_bytes", left, "outgrown", left >= 1<<32-1<<16, "read_s", s.seconds(s.claim))
	}
}

func (s *scanner) seconds(size int64) float64 {
	return float64(size/int64(s.out.format.align)) / float64(s.out.format.rate)
}

func (s *scanner) warn(code string, args ...any) {
	s.out.warnings = append(s.out.warnings, note.New(code, args...))
}
