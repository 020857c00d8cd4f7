package capture

import (
	"bufio"
	"bytes"
	"crypto/md5"
	"errors"
	"fmt"
	"hash"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"

	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"humdiff/fft/fault"
)

// A FLAC file is metadata blocks and then frames, each a block of samples with a
// checksum. Where its samples begin and how many there are is read here; the
// frames are decoded by mewkiz/flac. Source: RFC 9639, from memory.

const (
	flacMagic = "fLaC"
	flacHint  = `decode it to WAV, such as by "flac -d", and measure that`

	// Samples a byte of frames beyond which only digital silence is packed (noise of one
	// code takes a bit and more a sample), and a count up to which it may be, as many as
	// a MiB of WAV can hold: ten bytes of FLAC can hold half a million samples of it.
	packedSamples = 8
	freeSamples   = 1 << 20

	flacTail = 256 << 10 // bytes at the file's end in which its last frame begins

	// mostLitter is how many bytes of samples the library may allocate, frame by frame,
	// before garbage is collected: a frame of 20 bytes can hold 2 MiB of silence.
	mostLitter = 4 << 20
)

// flacLayout is what decoding needs beside the layout.
type flacLayout struct {
	info  meta.StreamInfo
	whole bool // the header's count of samples is the file's
}

// behindID3 is where a file itself begins, and with which four bytes: behind the tag
// that some programs put before any audio file. The tag's length is ten bytes and 28
// bits, seven a byte, and ten more of a footer (ID3 tag version 2.4.0, from memory).
func behindID3(r io.ReaderAt) (start int64, magic string) {
	var b [10]byte
	n, _ := r.ReadAt(b[:], 0)
	if n == len(b) && string(b[:3]) == "ID3" {
		start = 10 + (int64(b[6]&0x7f)<<21 | int64(b[7]&0x7f)<<14 | int64(b[8]&0x7f)<<7 | int64(b[9]&0x7f))
		if b[5]&0x10 != 0 {
			start += 10
		}
		n, _ = r.ReadAt(b[:4], start)
	}
	return start, string(b[:min(n, 4)])
}

// scanFLAC reads the metadata blocks of a FLAC stream that begins at start.
func scanFLAC(r io.ReaderAt, start, length int64) (layout, error) {
	s := scanner{r: r, length: length, pos: start + int64(len(flacMagic))}
	s.out.container = "FLAC"
	s.out.flac = &flacLayout{}
	for first := true; ; first = false {
		last, err := s.block(first)
		if err != nil {
			return layout{}, err
		}
		if last {
			break
		}
	}
	s.out.offset = s.pos
	if err := s.flacFormat(); err != nil {
		return layout{}, err
	}
	err := s.flacCount()
	return s.out, err
}

// Types of metadata blocks.
const (
	blockInfo    = 0
	blockComment = 4
)

// block reads a metadata block's header and what is wanted of its body.
func (s *scanner) block(first bool) (last bool, err error) {
	h, err := s.at(s.pos, 4)
	if err != nil {
		return false, err
	}
	if len(h) < 4 {
		return false, fault.New(againHint, "the file ends within its header")
	}
	kind, size, body := h[0]&0x7f, int64(h[1])<<16|int64(h[2])<<8|int64(h[3]), s.pos+4
	if size > s.length-body {
		return false, fault.New(againHint, "its header claims %d bytes where only %d follow", size, s.length-body)
	}
	if first != (kind == blockInfo) {
		return false, fault.New(againHint, "its header does not begin with what its samples are, or says it twice")
	}
	switch kind {
	case blockInfo:
		err = s.flacInfo(size)
	case blockComment:
		s.noteText(vorbisComment, body, size)
	}
	s.pos = body + size
	return h[0]&0x80 != 0, err
}

func (s *scanner) flacInfo(size int64) error {
	block, err := meta.Parse(io.NewSectionReader(s.r, s.pos, 4+size))
	if err != nil {
		return fault.New(againHint, "its header cannot be read (%s)", reason(err))
	}
	s.out.flac.info = *block.Body.(*meta.StreamInfo)
	return nil
}

// reason is an error of mewkiz/flac without the names of its functions.
func reason(err error) string {
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return "it ends too soon"
	}
	s := err.Error()
	return s[strings.LastIndex(": "+s, ": "):]
}

func (s *scanner) flacFormat() error {
	info := s.out.flac.info
	bits := int(info.BitsPerSample)
	if info.SampleRate < minRate || info.SampleRate > maxRate {
		return rateFault(info.SampleRate)
	}
	if bits < 8 || bits > 24 {
		return fault.New(flacHint, "its samples have %d bits; of FLAC 8 to 24 bits are read", bits)
	}
	container := (bits + 7) / 8 * 8
	channels := int(info.NChannels)
	s.out.format = format{rate: int(info.SampleRate), channels: channels, container: container, bits: bits, align: channels * container / 8}
	return nil
}

// flacCount settles how many samples there are: as many as the header says, if
// the last frame bears it out; else they are counted.
func (s *scanner) flacCount() error {
	info := s.out.flac.info
	if err := s.plausible(info.NSamples); err != nil {
		return err
	}
	count := info.NSamples
	s.out.flac.whole = count > 0
	if count == 0 || !s.lastFrameEnds(count) {
		there, err := s.countFrames()
		if err != nil {
			return err
		}
		s.compareCounts(count, there)
		if count == 0 || there < count {
			count, s.out.flac.whole = there, false
		}
	}
	s.out.size = int64(count) * int64(s.out.format.align)
	if count == 0 {
		return fault.New(againHint, "it holds no samples")
	}
	return nil
}

func (s *scanner) compareCounts(claim, there uint64) {
	seconds := func(n uint64) float64 { return s.seconds(int64(n) * int64(s.out.format.align)) }
	switch {
	case there == 0:
	case claim == 0:
		s.warn("open_size", "read_s", seconds(there))
	case there < claim:
		s.warn("truncated", "promised_s", seconds(claim), "read_s", seconds(there))
	case there > claim:
		s.warn("bytes_left_out", "read_s", seconds(claim)) // of how many is not known
	}
}

// plausible refuses a count that so few bytes could hold only as digital silence.
func (s *scanner) plausible(count uint64) error {
	frames := max(0, s.length-s.out.offset)
	most := max(freeSamples, packedSamples*uint64(frames)) / uint64(s.out.format.channels)
	if count > most {
		return fault.New(flacHint, "%d bytes are said to hold more than %.0f s of samples: nothing but digital silence is packed so small",
			frames, float64(most)/float64(s.out.format.rate))
	}
	return nil
}

// lastFrameEnds reports whether the last frame whose header is found near the end
// of the file is the last that a stream of so many samples has.
func (s *scanner) lastFrameEnds(count uint64) bool {
	from := max(s.out.offset, s.length-flacTail)
	b, err := s.at(from, int(max(0, s.length-from)))
	if err != nil {
		return false
	}
	for i := len(b) - 2; i >= 0; i-- {
		if b[i] != 0xff || b[i+1]&^1 != 0xf8 { // no sync code
			continue
		}
		f, err := frame.New(bytes.NewReader(b[i:]))
		if err != nil || !s.out.flac.like(f) {
			continue
		}
		at := f.Num
		if f.HasFixedBlockSize {
			at *= uint64(s.out.flac.info.BlockSizeMax)
		}
		return at+uint64(f.BlockSize) == count
	}
	return false
}

// like says that a frame's header agrees with the file's.
func (l *flacLayout) like(f *frame.Frame) bool {
	return f.Channels.Count() == int(l.info.NChannels) &&
		(f.BitsPerSample == 0 || f.BitsPerSample == l.info.BitsPerSample) &&
		(f.SampleRate == 0 || f.SampleRate == l.info.SampleRate)
}

// countFrames decodes all frames to count their samples. One that is cut off at
// the end of the file, or followed by something else, is the last.
func (s *scanner) countFrames() (uint64, error) {
	frames := newFLACFrames(io.NewSectionReader(s.r, s.out.offset, s.length-s.out.offset), s.out)
	for {
		_, err := frames.next()
		switch {
		case err == nil:
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, frame.ErrInvalidSync):
			return frames.done, nil
		default:
			return 0, frames.damaged(err)
		}
		if err := s.plausible(frames.done); err != nil {
			return 0, err
		}
	}
}

// flacFrames decodes frames and checks that they belong together.
type flacFrames struct {
	r      *bufio.Reader
	rate   int
	flac   *flacLayout
	done   uint64 // samples of each channel decoded
	first  uint64 // number of the first frame, or of its first sample
	count  uint64 // frames decoded
	litter int    // bytes of samples allocated by the library since garbage was collected
}

func newFLACFrames(r io.Reader, l layout) *flacFrames {
	return &flacFrames{r: bufio.NewReaderSize(r, blockBytes), rate: l.format.rate, flac: l.flac}
}

// next is the next frame with its samples; io.EOF where there is no other.
func (d *flacFrames) next() (*frame.Frame, error) {
	f, err := frame.New(d.r)
	if err != nil {
		return nil, err
	}
	if err := d.belongs(f); err != nil {
		return nil, err
	}
	f.BitsPerSample = d.flac.info.BitsPerSample // frames may leave it to the header
	if err := f.Parse(); err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return nil, err
	}
	d.done += uint64(f.BlockSize)
	d.count++
	if d.litter += 4 * int(f.BlockSize) * f.Channels.Count(); d.litter > mostLitter {
		runtime.GC()
		d.litter = 0
	}
	return f, nil
}

// belongs checks a frame's header against the file's, and its number.
func (d *flacFrames) belongs(f *frame.Frame) error {
	switch {
	case f.BlockSize == 0:
		return errors.New("an empty frame")
	case !d.flac.like(f):
		return errors.New("rate, bits or channels change")
	}
	if d.count == 0 {
		d.first = f.Num
	}
	want := d.done
	if f.HasFixedBlockSize {
		want = d.count
	}
	if f.Num != d.first+want {
		return errors.New("samples are missing or doubled")
	}
	return nil
}

// damaged says where decoding came to its end.
func (d *flacFrames) damaged(err error) error {
	at := float64(d.done) / float64(d.rate)
	hint := againHint
	if whole := math.Floor(at*10) / 10; whole >= 1 {
		hint = fmt.Sprintf(`what comes before can be read: add "#t=,%s" to its address`, decimal(whole))
	}
	return fault.New(hint, "it is damaged at %.3f s (%s)", at, reason(err))
}

// flacWords are the words of a FLAC file. Frames are decoded from the file's start:
// only that way are they known to be the ones wanted.
type flacWords struct {
	of     *File
	frames *flacFrames
	block  *frame.Frame
	used   int       // samples of block that are delivered, or before the span
	ready  int       // and of those that are to be decoded next
	before int64     // samples before the span that are still to be passed over
	left   int64     // samples of the span
	md5    hash.Hash // nil where the span isn't the whole file, or a pass before has read the same
	packed []byte
}

func newFLACWords(p *pass) *flacWords {
	f := p.of
	w := &flacWords{of: f, frames: newFLACFrames(p, f.layout), before: f.start, left: f.frames}
	if flac := f.layout.flac; flac.whole && !f.wasRead() && f.frames == f.layout.frames() && flac.info.MD5sum != [md5.Size]byte{} {
		w.md5 = md5.New()
	}
	return w
}

// next decodes frames up to one that holds samples of the span.
func (w *flacWords) next(most int) (int, error) {
	w.used += w.ready
	for w.block == nil || w.used == int(w.block.BlockSize) {
		f, err := w.frames.next()
		if err != nil {
			return 0, w.frames.damaged(err)
		}
		w.digest(f)
		w.block, w.used = f, int(min(int64(f.BlockSize), w.before))
		w.before -= int64(w.used)
	}
	w.ready = min(most, int(w.block.BlockSize)-w.used)
	if w.left -= int64(w.ready); w.left == 0 && w.md5 != nil && !bytes.Equal(w.md5.Sum(nil), w.of.layout.flac.info.MD5sum[:]) {
		return 0, fault.New(againHint, "its samples do not match the checksum of them that it holds: they are not what was recorded")
	}
	return w.ready, nil
}

func (w *flacWords) decode(dst []float64, channel int) error {
	bits := w.of.layout.format.bits
	step, most := math.Ldexp(1, 1-bits), int32(1)<<(bits-1)
	for i, x := range w.block.Subframes[channel].Samples[w.used : w.used+len(dst)] {
		if x < -most || x >= most {
			return w.frames.damaged(errors.New("a sample beyond full scale"))
		}
		dst[i] = float64(x) * step
	}
	return nil
}

// digest adds a frame to the checksum of the whole: samples as signed integers of
// whole bytes, least byte first, channels in turn.
func (w *flacWords) digest(f *frame.Frame) {
	if w.md5 == nil {
		return
	}
	at, word := 0, w.of.layout.format.container/8
	w.packed = slices.Grow(w.packed[:0], int(f.BlockSize)*w.of.layout.format.align+slack)
	b := w.packed[:cap(w.packed)]
	for i := range int(f.BlockSize) {
		for _, s := range f.Subframes {
			x := s.Samples[i]
			b[at], b[at+1], b[at+2] = byte(x), byte(x>>8), byte(x>>16) // the next overwrites what isn't its
			at += word
		}
	}
	w.md5.Write(b[:at])
}
