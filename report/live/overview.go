package live

import (
	"context"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"math"
	"slices"
	"strings"

	"humdiff/fft/capture"
)

// columns of an overview.
const columns = 240

// Overview is a capture's level against time, all channels together: the largest
// magnitude and the rms in each of up to 240 equal stretches; full scale is 1.
type Overview struct {
	Seconds   float64
	Peak, RMS []float64
	sum       string // of the samples, whatever file holds them; empty: silence
}

// survey opens a capture and reads it once for its overview.
func survey(ctx context.Context, path string) (capture.Info, Overview, error) {
	file, err := capture.Open(capture.Address{Path: path})
	if err != nil {
		return capture.Info{}, Overview{}, err
	}
	o, err := overview(ctx, file)
	return file.Info(), o, err
}

func overview(ctx context.Context, src capture.Source) (o Overview, err error) {
	r, err := src.Open(ctx)
	if err != nil {
		return o, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	g := newGlance(src)
	for {
		got, err := r.Read(g.block)
		if errors.Is(err, io.EOF) {
			return g.overview(), nil
		}
		if err != nil {
			return o, err
		}
		g.take(got)
	}
}

// glance is an overview while its capture is read.
type glance struct {
	Overview
	block      [][]float64
	at, frames int64
	counts     []float64
	hashes     []maphash.Hash // of each channel: files hand their channels out in blocks of any length
}

// seed lets the same samples have the same sum, as long as the program runs.
var seed = maphash.MakeSeed()

func newGlance(src capture.Source) *glance {
	n := int(min(src.Frames(), columns))
	g := &glance{frames: src.Frames(), counts: make([]float64, n), hashes: make([]maphash.Hash, src.Channels())}
	g.Overview = Overview{Seconds: float64(src.Frames()) / float64(src.Rate()), Peak: make([]float64, n), RMS: make([]float64, n)}
	for c := range g.hashes {
		g.block = append(g.block, make([]float64, 4096))
		g.hashes[c].SetSeed(seed)
	}
	return g
}

// take takes in the next frames of the block.
func (g *glance) take(got int) {
	for c, x := range g.block {
		for i, v := range x[:got] {
			k := int((g.at + int64(i)) * int64(len(g.Peak)) / g.frames)
			g.Peak[k] = max(g.Peak[k], math.Abs(v))
			g.RMS[k] += v * v
			g.counts[k]++
			maphash.WriteComparable(&g.hashes[c], v)
		}
	}
	g.at += int64(got)
}

func (g *glance) overview() Overview {
	for k := range g.RMS {
		g.RMS[k] = math.Sqrt(g.RMS[k] / max(1, g.counts[k]))
	}
	if !slices.ContainsFunc(g.Peak, func(p float64) bool { return p > 0 }) {
		return g.Overview
	}
	for c := range g.hashes {
		g.sum += fmt.Sprintf("%d:%x ", g.at, g.hashes[c].Sum64())
	}
	return g.Overview
}

// Levels of the overview's drawing, dBFS of the peak.
const (
	topDB    = 0.0
	bottomDB = -120.0
)

// SVG draws the overview: peaks as an area, rms within, the chosen span bright,
// the rest dimmed. It is drawn for its shape; what can be read from it is said
// in words beside.
func (o Overview) SVG(start, end float64) string {
	const w, h = columns, 48
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="overview" viewBox="0 0 %d %d" preserveAspectRatio="none" aria-hidden="true" data-seconds="%.3f">`, w, h, o.Seconds)
	b.WriteString(area("peak", o.Peak, h))
	b.WriteString(area("rms", o.RMS, h))
	from, to := share(start, o.Seconds)*w, share(end, o.Seconds)*w
	fmt.Fprintf(&b, `<rect class="dim" x="0" y="0" width="%.2f" height="%d"/><rect class="dim" x="%.2f" y="0" width="%.2f" height="%d"/></svg>`,
		from, h, to, w-to, h)
	return b.String()
}

func share(seconds, of float64) float64 {
	if !(of > 0) {
		return 0
	}
	return min(1, max(0, seconds/of))
}

func area(class string, level []float64, h float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<path class="%s" d="M0 %g`, class, h)
	for k, v := range level {
		db := min(topDB, max(bottomDB, 20*math.Log10(math.Max(v, 1e-9))))
		y := h * (db - topDB) / (bottomDB - topDB)
		x0, x1 := float64(columns*k)/float64(len(level)), float64(columns*(k+1))/float64(len(level))
		fmt.Fprintf(&b, "L%.1f %.1fL%.1f %.1f", x0, y, x1, y)
	}
	fmt.Fprintf(&b, `L%d %gZ"/>`, columns, h)
	return b.String()
}
