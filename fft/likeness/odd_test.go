package likeness

import (
	"math"
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/fft/note"
)

func TestOddOnes(t *testing.T) {
	usual := Facts{Rate: 96000, Bits: 24, Channels: 1, Seconds: 60, NoiseDBFSPerHz: -150}
	with := func(name string, change func(*Facts)) Facts {
		f := usual
		f.Name = name
		change(&f)
		return f
	}
	files := []Facts{
		with("a", func(f *Facts) { f.Seconds = 62 }),
		with("b", func(f *Facts) { f.Rate = 48000; f.NoiseDBFSPerHz = math.NaN() }),
		with("c", func(f *Facts) { f.Seconds = 20; f.Bits = 16 }),
		with("d", func(f *Facts) { f.NoiseDBFSPerHz = -140 }),
		with("e", func(f *Facts) { f.Channels = 2 }),
		with("f", func(*Facts) {}),
	}
	want := []note.Note{
		note.New(oddRate, "files", []string{"b"}, "rates_hz", []float64{48000}, "usual_hz", 96000),
		note.New(oddBits, "files", []string{"c"}, "bits", []float64{16}, "usual_bits", 24),
		note.New(oddChannels, "files", []string{"e"}, "channels", []float64{2}, "usual_channels", 1),
		note.New(oddLength, "files", []string{"c"}, "seconds", []float64{20}, "usual_s", 60),
		note.New(oddFloor, "files", []string{"d"}, "off_db", []float64{10}, "usual_dbfs_hz", -150),
	}
	kit.Alike(t, want, OddOnes(files))
	half := append(files[:0:0], files[5], files[5], files[1], files[1])
	if notes := OddOnes(half); notes != nil {
		t.Errorf("two of four are as usual as the others: %v", notes)
	}
	if notes := OddOnes(files[:3]); notes != nil {
		t.Errorf("three files: %v", notes)
	}
}

func TestNamesDiffer(t *testing.T) {
	ask := [][2]string{
		{"Heron 20ohm quiet.wav", "Osprey 20ohm near.wav"},
		{"bench/heron-quiet.wav", `C:\bench\osprey_near_2.flac`},
		{"2026-03-01 Heron.wav", "2026-03-01 Osprey near.wav"},
	}
	for _, p := range ask {
		if n, is := NamesDiffer(p[0], p[1]); !is || n.Code != otherCable {
			t.Errorf("%q: not asked", p)
		}
	}
	fine := [][2]string{
		{"Heron 20ohm quiet.wav", "Heron 20ohm near.wav"},
		{"heron_quiet.wav", "HERON2 near.wav"},
		{"quiet.wav", "near.wav"},
		{"quiet.wav", "Heron near.wav"},
		{"Heron long quiet.wav", "Heron silver near.wav"},
		{"01 quiet 44k1.wav", "02 near 48k.wav"},
	}
	for _, p := range fine {
		if n, is := NamesDiffer(p[0], p[1]); is {
			t.Errorf("%q: %v", p, n)
		}
	}
	n, _ := NamesDiffer("Heron 20ohm quiet.wav", "Osprey 20ohm near.wav")
	kit.Alike(t, note.New(otherCable, "quiet", []string{"heron"}, "near", []string{"osprey"}), n)
}
