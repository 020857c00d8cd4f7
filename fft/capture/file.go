package capture

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"

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

	*contents
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
	f := &File{layout: l, channels: l.format.channels, start: start, frames: end - start, contents: &contents{}}
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
	w := slices.Clone(f.layout.warnings)
	if bad := f.notFinite(); bad.count > 0 {
		w = append(w, note.New("not_finite", "samples", bad.count, "first_s", float64(bad.first)/float64(f.info.Rate), "channel", bad.channel))
	}
	return w
}
