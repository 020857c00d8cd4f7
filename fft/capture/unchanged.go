package capture

import (
	"context"
	"os"
	"sync"

	"humdiff/fft/fault"
)

// What is measured has to be what is hashed, and what the header was read of. So
// a file is looked at again with every pass over it: whether it is still the same
// file, of the same size and time, and whether the span's bytes have the same
// checksum as in the pass before.

const changedHint = "wait until nothing writes to it any more, or copy it and measure the copy"

// contents is what passes over a file have shown of it. All its parts share it.
type contents struct {
	hashing bool // see HashInPassing

	mu    sync.Mutex
	sum   uint32 // of the span's bytes
	known bool
	hash  string            // SHA-256 of the whole file, in hexadecimal; empty: not known yet
	bad   map[int]notFinite // by channel, of the pass that met the most
}

// notFinite counts samples of a channel that are no numbers.
type notFinite struct {
	count   int64
	first   int64 // frame in the file
	channel int   // from 1
}

func (c *contents) met(b notFinite) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.bad == nil {
		c.bad = map[int]notFinite{}
	}
	if b.count > c.bad[b.channel].count {
		c.bad[b.channel] = b
	}
}

// notFinite counts them over all channels.
func (c *contents) notFinite() (all notFinite) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, b := range c.bad {
		if all.count == 0 || b.first < all.first || b.first == all.first && b.channel < all.channel {
			all.first, all.channel = b.first, b.channel
		}
		all.count += b.count
	}
	return all
}

// hashed is the hash that a pass over the file told; empty where none has.
func (c *contents) hashed() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.hash
}

// wasRead says whether a whole pass over the span came to its end.
func (c *contents) wasRead() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.known
}

// saw notes the checksum of a whole pass over the span, and refuses one that differs
// from those before. It tells accidents, not forgeries. hash is empty where the pass
// didn't take it.
func (c *contents) saw(sum uint32, hash string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.known && c.sum != sum {
		return fault.New(changedHint, "the file's samples changed while it was read")
	}
	if c.sum, c.known = sum, true; hash != "" {
		c.hash = hash
	}
	return nil
}

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

// HashInPassing has the next pass over the samples hash the whole file by the way: Hash
// behind it then doesn't read it again. It is said before the file is read.
func (f *File) HashInPassing() { f.hashing = true }

// Hash is the SHA-256 of the whole file, in hexadecimal. The file has to be what
// it was when it was opened, and the span's samples what every whole pass over
// them has read or will read: else this, or that pass, fails with a *fault.Error. See
// HashInPassing.
func (f *File) Hash(ctx context.Context) (string, error) {
	p, err := f.pass(ctx, true)
	if err != nil {
		return "", err
	}
	defer p.Close()
	if p.hash != nil {
		err = p.end()
	}
	if err != nil {
		return "", p.failed(err)
	}
	return f.hashed(), nil
}

// Hash is the SHA-256 of a whole file of any kind, in hexadecimal.
func Hash(ctx context.Context, path string) (string, error) {
	file, opened, err := openRegular(path)
	if err != nil {
		return "", fault.In(path, err)
	}
	file.Close() // it was only looked at
	f := File{info: Info{Path: path}, opened: opened, contents: &contents{}}
	return f.Hash(ctx)
}
