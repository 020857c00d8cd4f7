package verify_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"humdiff/fft/capture"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
	"humdiff/report"
	"humdiff/report/session"
)

// A placement of a known source that is another one's recording, louder, upside down or cut,
// is refused: five of one file would give a cable's capacitance the interval of noise alone.
func TestPlacementsAreRecordedEach(t *testing.T) {
	dir := t.TempDir()
	path := driven(t, dir)
	file := func(name string) string { return filepath.Join(dir, "bench", name) }
	loaded := kit.Must(session.Load(path))(t)
	if _, err := report.Passport(t.Context(), asked(), loaded); err != nil {
		t.Fatal("an honest session: ", err)
	}
	r := rand.New(rand.NewPCG(3, 9))
	for range 3 {
		gain, cut := math.Pow(10, (3*r.Float64()-2)/20)*float64(1-2*r.IntN(2)), r.IntN(8000)
		f := kit.Must(capture.Open(capture.Address{Path: file("driven3.wav")}))(t)
		copied := make([][]float64, 2)
		kit.OK(t, f.Read(t.Context(), func(frames [][]float64) error {
			for c := range copied {
				for _, x := range frames[c] {
					copied[c] = append(copied[c], gain*x)
				}
			}
			return nil
		}))
		kit.OK(t, wavfile.Write(file("driven5.wav"), wavfile.Format{Rate: 8000, Bits: 24}, copied[0][cut:], copied[1][cut:]))
		if _, err := report.Passport(t.Context(), asked(), loaded); !errors.Is(err, report.ErrCopied) {
			t.Errorf("a copy at %.2f times, without %d samples: %v", gain, cut, err)
		}
	}
}
