package capture

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"hash"
	"hash/crc32"
	"io"
	"os"

	"humdiff/fft/fault"
)

// What is measured has to be what is hashed, and what the header was read of. So
// a file is looked at again with every pass over it: whether it is still the same
// file, of the same size and time, and whether the span's bytes have the same
// checksum as in the pass before.

const changedHint = "wait until nothing writes to it any more, or copy it and measure the copy"

// unchanged compares a newly opened file with what it was when its header was read.
func (f *File) unchanged(file *os.File) error {
	now, err := file.Stat()
	if err != nil {
		return err
	}
	switch was := f.opened; {
	case !os.SameFile(was, now):
		return fault.New(changedHint, "the file was replaced by another while it was read")
	case now.Size() < was.Size():
		return fault.New(changedHint, "the file has become shorter while it was read: %d bytes, %d before", now.Size(), was.Size())
	case now.Size() > was.Size():
		return fault.New(changedHint, "the file has grown while it was read: %d bytes, %d before", now.Size(), was.Size())
	case !now.ModTime().Equal(was.ModTime()):
		return fault.New(changedHint, "the file was written to while it was read")
	}
	return nil
}

// reopen opens the file again, if it is still what it was.
func (f *File) reopen() (*os.File, error) {
	file, _, err := openRegular(f.info.Path)
	if err != nil {
		return nil, err
	}
	if err := f.unchanged(file); err != nil {
		file.Close()
		return nil, err
	}
	return file, nil
}

// Only is the same span of one of the channels it delivers, counted from 1 as in
// the file. It has to be the same file still, with the same samples.
func (f *File) Only(channel int) (*File, error) {
	i := channel - f.info.FirstChannel
	if i < 0 || i >= f.channels {
		return nil, fault.In(f.info.Path, fault.New("channels count from 1", "there is no channel %d among those read", channel))
	}
	return f.part(i, 1), nil
}

// castagnoli has instructions of its own in most processors.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// contents is the checksum of a span's bytes as a pass over them saw them.
type contents struct {
	sum   uint32
	known bool
	hash  string // SHA-256 of the whole file, in hexadecimal, where a pass told it; else empty
}

// saw notes the checksum of a whole pass over the span, and refuses one that
// differs from those before. It tells accidents, not forgeries. whole is that of
// the file where the pass went over all of it, else nil.
func (f *File) saw(sum uint32, whole hash.Hash) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.contents.known && f.contents.sum != sum {
		return fault.New(changedHint, "the file's samples changed while it was read")
	}
	f.contents.sum, f.contents.known = sum, true
	if whole != nil {
		f.contents.hash = hex.EncodeToString(whole.Sum(nil))
	}
	return nil
}

// hashed is the hash that a pass over the file told; empty where none has.
func (f *File) hashed() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.contents.hash
}

// HashInPassing has the next pass over all of a WAV file's samples hash the file by the
// way: Hash behind it then doesn't read it again. It is said before the file is read.
func (f *File) HashInPassing() { f.hashing = true }

// startHash begins to hash a file whose hash is wanted and whose samples are all read.
func (r *fileReader) startHash() error {
	f := r.source
	if !f.hashing || f.start != 0 || f.frames != f.layout.frames() || f.hashed() != "" {
		return nil
	}
	r.whole = sha256.New()
	return r.hashPart(0, f.layout.offset)
}

// endHash adds what lies behind the samples.
func (r *fileReader) endHash() error {
	if r.whole == nil {
		return nil
	}
	_, end := r.source.spanBytes()
	return r.hashPart(end, r.source.opened.Size())
}

func (r *fileReader) hashPart(from, to int64) error {
	err := copyAll(r.ctx, r.whole, io.NewSectionReader(r.file, from, to-from))
	if err != nil && r.ctx.Err() == nil {
		return fault.In(r.source.info.Path, &fault.Error{What: "cannot be read: " + fault.Bare(err).Error(), Err: err})
	}
	return err
}

// Hash is the SHA-256 of the whole file, in hexadecimal. The file has to be what
// it was when it was opened, and the span's samples what every whole pass over
// them has read or will read: else this, or that pass, fails with a *fault.Error. See
// HashInPassing.
func (f *File) Hash(ctx context.Context) (string, error) {
	hash, err := f.hash(ctx)
	if err != nil && ctx.Err() == nil {
		return "", fault.In(f.info.Path, err)
	}
	return hash, err
}

func (f *File) hash(ctx context.Context) (string, error) {
	file, err := f.reopen()
	if err != nil {
		return "", err
	}
	defer file.Close()
	if hash := f.hashed(); hash != "" {
		return hash, nil
	}
	h, span := sha256.New(), &spanSum{}
	span.from, span.to = f.spanBytes()
	if err := copyAll(ctx, io.MultiWriter(h, span), file); err != nil {
		return "", err
	}
	if err := f.unchanged(file); err != nil {
		return "", err
	}
	if err := f.saw(span.sum, nil); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// spanBytes is where the span's bytes lie in the file; where they are packed, all
// behind the header.
func (f *File) spanBytes() (from, to int64) {
	if f.layout.flac != nil {
		return f.layout.offset, f.opened.Size()
	}
	align := int64(f.layout.format.align)
	from = f.layout.offset + f.start*align
	return from, from + f.frames*align
}

// spanSum adds up the part of a file's bytes that the span has.
type spanSum struct {
	pos, from, to int64
	sum           uint32
}

func (s *spanSum) Write(b []byte) (int, error) {
	lo, hi := max(s.from-s.pos, 0), min(s.to-s.pos, int64(len(b)))
	if lo < hi {
		s.sum = crc32.Update(s.sum, castagnoli, b[lo:hi])
	}
	s.pos += int64(len(b))
	return len(b), nil
}

func copyAll(ctx context.Context, w io.Writer, r io.Reader) error {
	// 128 KiB stay in the cache between the two sums.
	_, err := io.CopyBuffer(w, cancellable{ctx, r}, make([]byte, 1<<17))
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
