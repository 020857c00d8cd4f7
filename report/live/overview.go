package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"humdiff/fft/capture"
	"humdiff/fft/likeness"
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
	frames := src.Frames()
	n := int(min(frames, columns))
	o = Overview{Seconds: float64(frames) / float64(src.Rate()), Peak: make([]float64, n), RMS: make([]float64, n)}
	counts, block, part := make([]float64, n), make([][]float64, src.Channels()), make([][]float64, src.Channels())
	for c := range block {
		block[c] = make([]float64, 4096)
	}
	pass := likeness.NewPass(src.Rate(), frames, src.Channels())
	for at := int64(0); ; {
		got, err := r.Read(block)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return o, err
		}
		for c, x := range block {
			part[c] = x[:got]
			for i, v := range x[:got] {
				k := int((at + int64(i)) * int64(n) / frames)
				o.Peak[k] = max(o.Peak[k], math.Abs(v))
				o.RMS[k] += v * v
				counts[k]++
			}
		}
		pass.Push(part)
		at += int64(got)
	}
	for k := range o.RMS {
		o.RMS[k] = math.Sqrt(o.RMS[k] / max(1, counts[k]))
	}
	if marks := pass.Marks(); slices.ContainsFunc(marks, func(m likeness.Mark) bool { return !m.Silent }) {
		for _, m := range marks {
			o.sum += m.Hash + " "
		}
	}
	return o, nil
}

// Levels of the overview's drawing, dBFS of the peak.
const (
	topDB    = 0.0
	bottomDB = -120.0
)

// svg draws the overview: peaks as an area, rms within, the chosen span bright,
// the rest dimmed. It is drawn for its shape; what can be read from it is said
// in words beside.
func (o Overview) svg(start, end float64) string {
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
