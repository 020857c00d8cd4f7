package capture

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"hash/crc32"
	"io"
	"os"

	"humdiff/fft/fault"
)

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

// castagnoli has instructions of its own in most processors.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

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
