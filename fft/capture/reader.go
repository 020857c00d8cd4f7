package capture

import (
	"context"
	"io"

	"humdiff/fft/fault"
)

// blockBytes is how much is read at a time: enough to make the call's cost
// vanish, little enough to stay in the cache while every channel is decoded.
const blockBytes = 128 << 10

// words are a file's samples as they lie in it.
type words interface {
	// next reads on until frames are there, at most so many, and says how many.
	next(most int) (int, error)
	// decode gives those frames' samples of a channel, counted from 0.
	decode(dst []float64, channel int) error
}

// Read implements Source. A file that has changed since it was opened and, of FLAC, a
// damaged frame or a wrong checksum of the whole give a *fault.Error, with the last
// samples at the latest.
func (f *File) Read(ctx context.Context, do func(frames [][]float64) error) error {
	p, err := f.pass(ctx, f.hashing)
	if err != nil {
		return err
	}
	defer p.Close() // it was only read
	r := fileReader{pass: p, left: f.frames, bad: map[int]notFinite{}}
	if f.layout.flac != nil {
		r.words = newFLACWords(p)
	} else {
		r.words = &wavWords{pass: p, format: f.layout.format, decoder: decoderFor(f.layout.format)}
	}
	buffer, frames := make([][]float64, f.channels), make([][]float64, f.channels)
	for c := range buffer {
		buffer[c] = make([]float64, Block)
	}
	for r.left > 0 {
		if err := r.some(buffer, frames); err != nil || ctx.Err() != nil {
			return p.failed(err)
		}
		if err := do(frames); err != nil {
			return err
		}
	}
	return nil
}

type fileReader struct {
	*pass
	words words
	left  int64             // frames
	bad   map[int]notFinite // by channel
}

// some reads the next frames into the buffer.
func (r *fileReader) some(buffer, frames [][]float64) error {
	n, err := r.words.next(int(min(Block, r.left)))
	if err != nil {
		return err
	}
	for c := range frames {
		frames[c] = buffer[c][:n]
		channel := r.of.info.FirstChannel + c
		if err := r.words.decode(frames[c], channel-1); err != nil {
			return err
		}
		if r.of.info.Float {
			r.check(frames[c], channel)
		}
	}
	if r.left -= int64(n); r.left == 0 {
		return r.end()
	}
	return nil
}

// check puts 0 in the place of what is no number.
func (r *fileReader) check(x []float64, channel int) {
	bad, first := finite(x)
	if bad == 0 {
		return
	}
	b := r.bad[channel]
	if b.count == 0 {
		b = notFinite{first: r.of.start + r.of.frames - r.left + int64(first), channel: channel}
	}
	b.count += int64(bad)
	r.bad[channel] = b
	r.of.met(b)
}

// failed is why reading ended.
func (p *pass) failed(err error) error {
	if p.ctx.Err() != nil {
		return p.ctx.Err()
	}
	return fault.In(p.of.info.Path, err)
}

// wavWords are the words of a WAV file.
type wavWords struct {
	pass    *pass
	format  format
	decoder decoder
	buf     []byte
}

func (w *wavWords) next(most int) (int, error) {
	align := w.format.align
	n := min(most, max(1, blockBytes/align))
	if len(w.buf) < n*align+slack {
		w.buf = make([]byte, n*align+slack)
	}
	_, err := io.ReadFull(w.pass, w.buf[:n*align])
	return n, err
}

func (w *wavWords) decode(dst []float64, channel int) error {
	w.decoder(dst, w.buf[channel*w.format.container/8:], w.format.align)
	return nil
}
