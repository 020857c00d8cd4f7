package mains_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fft/mains"
	"humdiff/fixtures/bench"
)

func TestToneLevel(t *testing.T) {
	level := func(tones ...bench.ToneSpec) (hz, power float64, err error) {
		made, err := bench.Comb{Rate: 48000, Seconds: 5, Track: bench.Steady(50), FloorDBFSHz: -130, Tones: tones, Seed: 1}.Make()
		if err != nil {
			t.Fatal(err)
		}
		return mains.ToneLevel(context.Background(), made.Source())
	}
	for _, want := range []float64{997, 1000.37, 60, 12345.6} {
		hz, power, err := level(bench.ToneSpec{Hz: want, PowerDBFS: -6.3}, bench.ToneSpec{Hz: 1.5 * want, PowerDBFS: -60})
		if err != nil || math.Abs(hz-want) > 0.02 || math.Abs(db(power)+6.3) > 0.002 {
			t.Errorf("tone of %g Hz at -6.3 dBFS: %.3f Hz, %.4f dBFS, %v", want, hz, db(power), err)
		}
	}
	for _, c := range []struct {
		tones []bench.ToneSpec
		want  string
	}{
		{nil, "no tone"},
		{[]bench.ToneSpec{{Hz: 1000, PowerDBFS: -10}, {Hz: 1500, PowerDBFS: -30}}, "second tone"},
	} {
		_, _, err := level(c.tones...)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.tones, err, c.want)
		}
	}
	clipped := make([]float64, 96000)
	for i := range clipped {
		clipped[i] = max(-1, min(1, 1.5*math.Sin(float64(i)*0.13)))
	}
	if _, _, err := mains.ToneLevel(context.Background(), capture.Samples(48000, clipped)); err == nil || !strings.Contains(err.Error(), "clipped") {
		t.Errorf("clipped tone: %v", err)
	}
	if _, _, err := mains.ToneLevel(context.Background(), capture.Samples(48000, clipped, clipped)); err == nil || !strings.Contains(err.Error(), "channels") {
		t.Errorf("two channels: %v", err)
	}
}
