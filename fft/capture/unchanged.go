package capture

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"hash/crc32"
	"io"
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

// castagnoli has instructions of its own in most processors.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

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

// pass reads a file's bytes once, in their order, from the span's first on or, where it
// hashes them too, from the beginning.
type pass struct {
	ctx           context.Context
	of            *File
	file          *os.File
	pos, from, to int64  // where it is, and what of the file the span is
	sum           uint32 // of the span's bytes up to here
	hash          *hasher
}

// pass opens the file again, if it is still what it was. It hashes the file where that is
// wanted and its hash isn't known yet.
func (f *File) pass(ctx context.Context, hash bool) (*pass, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	file, _, err := openRegular(f.info.Path)
	if err != nil {
		return nil, fault.In(f.info.Path, err)
	}
	p := &pass{ctx: ctx, of: f, file: file}
	p.from, p.to = f.spanBytes()
	if hash && f.hashed() == "" {
		p.hash = newHasher()
	} else {
		p.pos = p.from
	}
	if err = f.unchanged(file); err == nil {
		err = p.upTo(p.from)
	}
	if err != nil {
		p.Close()
		return nil, p.failed(err)
	}
	return p, nil
}

// Read reads on; it returns io.EOF where the file ended when it was opened.
func (p *pass) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := p.file.ReadAt(b, p.pos)
	was := p.of.opened.Size()
	switch {
	case n > 0 || len(b) == 0:
		p.took(b[:n])
		return n, nil
	case err != io.EOF:
		return 0, &fault.Error{What: "cannot be read: " + fault.Bare(err).Error(), Err: err}
	case p.pos < was:
		return 0, fault.New("is it still being written, or on a drive that went away?",
			"the file has become shorter while it was read: %d bytes, %d before", p.pos, was)
	}
	return 0, io.EOF
}

func (p *pass) took(b []byte) {
	lo, hi := max(p.from-p.pos, 0), min(p.to-p.pos, int64(len(b)))
	if lo < hi {
		p.sum = crc32.Update(p.sum, castagnoli, b[lo:hi])
	}
	if p.pos += int64(len(b)); p.hash != nil {
		p.hash.add(b)
	}
}

// upTo reads what lies before a byte of the file.
func (p *pass) upTo(end int64) error {
	if p.pos >= end {
		return nil
	}
	for b := make([]byte, blockBytes); p.pos < end; {
		if _, err := p.Read(b[:min(blockBytes, end-p.pos)]); err != nil {
			return err
		}
	}
	return nil
}

// end reads what is left of the span, or to hash, and checks that all is what it was.
func (p *pass) end() error {
	last, hash := p.to, ""
	if p.hash != nil {
		last = p.of.opened.Size()
	}
	if err := p.upTo(last); err != nil {
		return err
	}
	if err := p.of.unchanged(p.file); err != nil {
		return err
	}
	if p.hash != nil {
		hash = p.hash.end()
		p.hash = nil
	}
	return p.of.saw(p.sum, hash)
}

// Close closes the file. It may be called again.
func (p *pass) Close() error {
	if p.hash != nil {
		p.hash.end()
		p.hash = nil
	}
	if p.file == nil {
		return nil
	}
	err := p.file.Close()
	p.file = nil
	return err
}

// hasher takes a SHA-256 in a goroutine of its own, while what was read is decoded.
type hasher struct {
	full, empty chan []byte
	sum         chan string
}

func newHasher() *hasher {
	h := &hasher{make(chan []byte, 1), make(chan []byte, 2), make(chan string, 1)}
	h.empty <- nil
	h.empty <- nil
	go func() {
		sha := sha256.New()
		for b := range h.full {
			sha.Write(b)
			h.empty <- b
		}
		h.sum <- hex.EncodeToString(sha.Sum(nil))
	}()
	return h
}

// add takes the next bytes. They are copied: whoever read them goes on with his buffer.
func (h *hasher) add(b []byte) { h.full <- append((<-h.empty)[:0], b...) }

// end is the hash; nothing may be added behind it.
func (h *hasher) end() string {
	close(h.full)
	return <-h.sum
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
