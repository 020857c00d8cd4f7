package capture

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"io/fs"
	"math"
	"os"
	"strings"
	"sync"

	"humdiff/fft/fault"
	"humdiff/fft/note"
)

// Info describes an opened capture.
type Info struct {
	Path         string
	Format       string // e.g. "24-bit PCM", "24-bit FLAC"
	Rate         int    // Hz
	Bits         int    // valid bits of integers, 32 or 64 for floats
	Float        bool
	Channels     int     // in the file
	FileFrames   int64   // in the file
	StartS, EndS float64 // of the span, to the frame, seconds
	FirstChannel int     // of the file's channels the first one delivered, from 1
	Named        bool    // the address names a channel; else all are delivered
	Container    string  // "RIFF", "RF64", "BW64" or "FLAC"
	Metadata     Metadata
}

// File is a Source: a span of one channel or all channels of a WAV or FLAC file. It
// keeps no file open; each Reader opens its own. It may be used concurrently.
type File struct {
	info     Info
	layout   layout
	channels int   // delivered
	start    int64 // frames
	frames   int64
	opened   os.FileInfo // what the file was when its header was read

	mu       sync.Mutex
	bad      notFinite // of the pass that met the most
	contents contents
	hashing  bool // see HashInPassing
}

// notFinite counts samples that are no numbers.
type notFinite struct {
	count   int64
	first   int64 // frame in the file
	channel int   // from 1
}

// Open looks at the file's header and checks that the address lies within it.
// Errors are *fault.Error.
func Open(addr Address) (*File, error) {
	f, err := open(addr)
	if err != nil {
		return nil, fault.In(addr.Path, err)
	}
	return f, nil
}

func open(addr Address) (*File, error) {
	file, opened, err := openRegular(addr.Path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	l, err := scanAny(file, opened.Size())
	if err != nil {
		return nil, err
	}
	if err := confirm(file, l); err != nil {
		return nil, err
	}
	f, err := newFile(addr, l)
	if err != nil {
		return nil, err
	}
	f.opened = opened
	f.info.Metadata = readMetadata(file, l.texts, l.format.rate)
	return f, nil
}

// scanAny goes by what a file begins with, not by its name.
func scanAny(r io.ReaderAt, length int64) (layout, error) {
	start, magic := behindID3(r)
	switch magic {
	case flacMagic:
		return scanFLAC(r, start, length)
	case "RIFF", "RF64", "BW64":
		return scanBehind(r, start, length)
	}
	return scan(r, length)
}

// scanBehind scans a WAV file that begins at a byte of another.
func scanBehind(r io.ReaderAt, start, length int64) (layout, error) {
	if start == 0 {
		return scan(r, length)
	}
	l, err := scan(io.NewSectionReader(r, start, length-start), length-start)
	if err != nil {
		return l, err
	}
	l.offset += start
	for i := range l.texts {
		l.texts[i].body += start
	}
	l.clean = false
	l.warnings = append(l.warnings, note.New("tag_left_out", "tag_bytes", start))
	return l, nil
}

// openRegular opens a file that is not a folder or device, and looks at it.
func openRegular(path string) (*os.File, os.FileInfo, error) {
	st, err := os.Stat(path) // before it is opened: opening a pipe waits for its other end
	if err != nil {
		return nil, nil, cannotOpen(path, err)
	}
	if st.IsDir() {
		return nil, nil, fault.New("name a WAV or FLAC file in it", "a folder, not a file")
	}
	if !st.Mode().IsRegular() {
		return nil, nil, fault.New("save the capture to a file first: it is read more than once", "not a regular file")
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, nil, cannotOpen(path, err)
	}
	if st, err = file.Stat(); err != nil {
		file.Close()
		return nil, nil, cannotOpen(path, err)
	}
	return file, st, nil
}

func cannotOpen(path string, err error) error {
	e := &fault.Error{What: "cannot be opened: " + fault.Bare(err).Error(), Err: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.What, e.Hint = "there is no such file", "check the name and the folder"
		if strings.Contains(path, "#") {
			e.Hint = addressHint
		}
	case errors.Is(err, fs.ErrPermission):
		e.What, e.Hint = "it may not be read", "check its permissions"
	}
	return e
}

func newFile(addr Address, l layout) (*File, error) {
	start, end, err := span(addr, l)
	if err != nil {
		return nil, err
	}
	f := &File{layout: l, channels: l.format.channels, start: start, frames: end - start}
	first := 1
	if addr.Channel != 0 {
		if addr.Channel < 0 || addr.Channel > l.format.channels {
			return nil, fault.New("channels count from 1", "there is no channel %d: it has %d", addr.Channel, l.format.channels)
		}
		f.channels, first = 1, addr.Channel
	}
	rate := float64(l.format.rate)
	f.info = Info{
		Path:         addr.Path,
		Format:       l.String(),
		Rate:         l.format.rate,
		Bits:         l.format.bits,
		Float:        l.format.float,
		Channels:     l.format.channels,
		FileFrames:   l.frames(),
		StartS:       float64(start) / rate,
		EndS:         float64(end) / rate,
		FirstChannel: first,
		Named:        addr.Channel > 0,
		Container:    l.container,
	}
	return f, nil
}

// span is the address's span in frames, each end rounded to the nearest.
func span(addr Address, l layout) (start, end int64, err error) {
	rate := float64(l.format.rate)
	total := l.frames()
	if addr.End == 0 {
		addr.End = math.Inf(1)
	}
	if !(addr.Start >= 0) || !(addr.End > addr.Start) {
		return 0, 0, fault.New("an end comes after its start", "the span from %s s to %s s is empty", decimal(addr.Start), decimal(addr.End))
	}
	from, to := math.Round(addr.Start*rate), math.Round(addr.End*rate)
	if math.IsInf(addr.End, 1) {
		to = float64(total)
	}
	length := fmt.Sprintf("the file is %.3f s long", float64(total)/rate)
	switch {
	case from >= float64(total):
		return 0, 0, fault.New("choose a span within the file", "the span starts at %s s, but %s", decimal(addr.Start), length)
	case to > float64(total):
		return 0, 0, fault.New("leave the end out to read up to the file's end", "the span ends at %s s, but %s", decimal(addr.End), length)
	case from == to:
		return 0, 0, fault.New("choose a longer span", "the span from %s s to %s s holds no sample", decimal(addr.Start), decimal(addr.End))
	}
	return int64(from), int64(to), nil
}

// Rate is the sample rate in hertz.
func (f *File) Rate() int { return f.info.Rate }

// Channels is 1 where the address names a channel, else all the file has.
func (f *File) Channels() int { return f.channels }

// Frames is how many frames the span has.
func (f *File) Frames() int64 { return f.frames }

// Info describes file and span.
func (f *File) Info() Info { return f.info }

// Warnings says what was mended in the header, and which samples were no numbers
// in what has been read so far.
func (f *File) Warnings() []note.Note {
	f.mu.Lock()
	defer f.mu.Unlock()
	w := append([]note.Note(nil), f.layout.warnings...)
	if f.bad.count > 0 {
		at := float64(f.bad.first) / float64(f.info.Rate)
		w = append(w, note.New("not_finite", "samples", f.bad.count, "first_s", at, "channel", f.bad.channel))
	}
	return w
}

func (f *File) noteBad(b notFinite) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if b.count > f.bad.count {
		f.bad = b
	}
}

// Open starts reading at the span's first frame.
func (f *File) Open(ctx context.Context) (Reader, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	file, err := f.reopen()
	if err != nil {
		return nil, fault.In(f.info.Path, err)
	}
	if f.layout.flac != nil {
		return f.openFLAC(ctx, file), nil
	}
	align := f.layout.format.align
	block := max(1, blockBytes/align)
	r := &fileReader{reading: reading{ctx, f, file}, decode: decoderFor(f.layout.format), buf: make([]byte, block*align+slack), block: block}
	if err := r.startHash(); err != nil {
		file.Close()
		return nil, err
	}
	return r, nil
}

// blockBytes is how much is read at a time: enough to make the call's cost
// vanish, little enough to stay in the cache while every channel is decoded.
const blockBytes = 128 << 10

// reading is a File opened to be read.
type reading struct {
	ctx    context.Context
	source *File
	file   *os.File
}

// Close closes the file. It may be called again.
func (r *reading) Close() error {
	if r.file == nil {
		return nil
	}
	err := r.file.Close()
	r.file = nil
	return err
}

type fileReader struct {
	reading
	decode decoder
	buf    []byte
	block  int   // frames buf holds
	pos    int64 // frames delivered
	bad    notFinite
	sum    uint32    // of the bytes read so far
	whole  hash.Hash // SHA-256 of the file up to here; nil where this pass doesn't tell it
}

// Read implements Reader. Where the file has changed since it was opened it
// returns a *fault.Error, with the last samples at the latest.
func (r *fileReader) Read(dst [][]float64) (int, error) {
	want, err := dstFrames(dst, r.source.channels)
	if err != nil || want == 0 {
		return 0, err
	}
	done := 0
	for done < want && r.pos < r.source.frames {
		if err := r.ctx.Err(); err != nil {
			return 0, err
		}
		n := int(min(int64(want-done), int64(r.block), r.source.frames-r.pos))
		if err := r.fill(n); err != nil {
			return 0, fault.In(r.source.info.Path, err)
		}
		r.spread(dst, done, n)
		done += n
		r.pos += int64(n)
		if err := r.atEnd(); err != nil {
			return 0, fault.In(r.source.info.Path, err)
		}
	}
	if done == 0 {
		return 0, io.EOF
	}
	return done, nil
}

// atEnd checks behind the last frame that the file is still what it was.
func (r *fileReader) atEnd() error {
	if r.pos < r.source.frames {
		return nil
	}
	if err := r.endHash(); err != nil {
		return err
	}
	if err := r.source.unchanged(r.file); err != nil {
		return err
	}
	return r.source.saw(r.sum, r.whole)
}

// fill reads the next n frames into the buffer.
func (r *fileReader) fill(n int) error {
	l := r.source.layout
	b := r.buf[:n*l.format.align]
	off := l.offset + (r.source.start+r.pos)*int64(l.format.align)
	got, err := r.file.ReadAt(b, off)
	switch {
	case got == len(b):
		r.sum = crc32.Update(r.sum, castagnoli, b)
		if r.whole != nil {
			r.whole.Write(b)
		}
		return nil
	case err == io.EOF:
		return fault.New("is it still being written, or on a drive that went away?",
			"the file has become shorter while it was read: it ends within frame %d of %d",
			r.source.start+r.pos+int64(got/l.format.align), l.frames())
	default:
		return &fault.Error{What: "cannot be read: " + fault.Bare(err).Error(), Err: err}
	}
}

// spread decodes n frames from the buffer into dst from frame at on.
func (r *fileReader) spread(dst [][]float64, at, n int) {
	f := r.source.layout.format
	word := f.container / 8
	for c := range dst {
		channel := r.source.info.FirstChannel + c
		x := dst[c][at : at+n]
		if r.decode(x, r.buf[(channel-1)*word:], f.align); !f.float {
			continue
		}
		if bad, first := finite(x); bad > 0 {
			r.note(notFinite{int64(bad), r.source.start + r.pos + int64(first), channel})
		}
	}
}

// note adds up one channel of one block.
func (r *fileReader) note(b notFinite) {
	b.count += r.bad.count
	if r.bad.count > 0 && r.bad.first <= b.first {
		b.first, b.channel = r.bad.first, r.bad.channel
	}
	r.bad = b
	r.source.noteBad(b)
}

// Hash is the SHA-256 of a whole file, in hexadecimal.
func Hash(ctx context.Context, path string) (string, error) {
	file, _, err := openRegular(path)
	if err != nil {
		return "", fault.In(path, err)
	}
	defer file.Close()
	h := sha256.New()
	if err := copyAll(ctx, h, file); err != nil {
		if ctx.Err() != nil {
			return "", ctx.Err()
		}
		return "", fault.In(path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// cancellable stops reading once its context is done.
type cancellable struct {
	ctx context.Context
	r   io.Reader
}

func (c cancellable) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}
