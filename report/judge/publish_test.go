package judge_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"humdiff/fft/estimate"
	"humdiff/fft/mains"
	"humdiff/fft/note"
	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/wire"
)

var onVolts = model.Settings{Mains: "auto", FullScaleVolts: 1, Scales: []model.Scale{{For: model.ForAll, FullScaleVolts: 1}}}

// sound are a quiet and a near capture, 40 dB apart.
func sound(t *testing.T) (quiet, near model.Capture) {
	t.Helper()
	quiet = took(t, comb(1, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -110}, bench.LineSpec{Harmonic: 3, PowerDBFS: -112}), mains.Options{})
	near = took(t, comb(2, nil, bench.LineSpec{Harmonic: 1, PowerDBFS: -70}, bench.LineSpec{Harmonic: 3, PowerDBFS: -72}), mains.Options{})
	near.File = "b.wav"
	return quiet, near
}

// compared is a comparison of two captures, changed.
func compared(quiet, near model.Capture, change func(*model.Compare)) model.Compare {
	near.Lines = slices.Clone(near.Lines)
	r := model.Compare{Settings: onVolts, Pairs: []model.Pair{judge.Pair(onVolts, quiet, near)}}
	r.Warnings = judge.CompareWarnings(onVolts, r.Pairs, nil)
	if change != nil {
		change(&r)
	}
	r.MayPublish = judge.MayPublishCompare(r)
	return r
}

// A sound pair may be printed as what it is, one placement; what stands in the way of
// print is named, with what to record next.
func TestMayPublishCompare(t *testing.T) {
	q, n := sound(t)
	warn := func(code string, args ...any) func(*model.Compare) {
		return func(r *model.Compare) {
			r.Warnings = append(r.Warnings, model.Warning{Note: note.New(code, args...), File: "b.wav", Channel: 1})
		}
	}
	near := func(change func(*model.Pair)) func(*model.Compare) {
		return func(r *model.Compare) { change(&r.Pairs[0]) }
	}
	for name, c := range map[string]struct {
		change func(*model.Compare)
		state  string
		why    []string
	}{
		"sound":            {nil, model.OnlyAs, []string{model.OnePlacement}},
		"no volts":         {func(r *model.Compare) { r.Settings = model.Settings{FullScaleVolts: model.None} }, model.OnlyAs, []string{model.OnePlacement, judge.RelativeLevels}},
		"clipped":          {warn("clipped", "samples", 3), model.NotYet, []string{"clipped", judge.NextLowerGain}},
		"same recording":   {warn(model.SameRecording), model.NotYet, []string{model.SameRecording, judge.NextTwoRuns}},
		"doubtful mains":   {warn("mains_doubtful"), model.NotYet, []string{"mains_doubtful", judge.NextStateMains}},
		"which is stated":  {func(r *model.Compare) { warn("mains_doubtful")(r); r.Settings.Mains = "50" }, model.OnlyAs, []string{model.OnePlacement, "mains_doubtful"}},
		"gain changed":     {warn(model.GainChanged, "db", 6.0), model.NotYet, []string{model.GainChanged, judge.NextOneGain}},
		"harmless":         {warn("dc_offset", "dc_share", 0.1), model.OnlyAs, []string{model.OnePlacement}},
		"another file's":   {func(r *model.Compare) { warn("clipped")(r); r.Warnings[len(r.Warnings)-1].File = "residual.wav" }, model.OnlyAs, []string{model.OnePlacement}},
		"may go both ways": {near(func(p *model.Pair) { p.Hum.Delta = estimate.Above(-3) }), model.NotYet, []string{judge.ChangeOpen, judge.NextLonger}},
		"no hum":           {near(func(p *model.Pair) { p.Hum.Delta = estimate.None(judge.WhyNotFound) }), model.OnlyAs, []string{model.OnePlacement, judge.NothingFound}},
		"no limits either": {near(func(p *model.Pair) {
			p.Hum = model.Change{Delta: estimate.None(judge.WhyNoLines), Quiet: estimate.None(""), Near: estimate.None("")}
			p.Quiet.Mains, p.Near.Mains = model.Mains{}, model.Mains{}
		}), model.NotYet, []string{judge.NoLimits, judge.NextStateMains}},
		"other mains": {near(func(p *model.Pair) { p.Hum.Delta = estimate.None(judge.WhyUnlike) }), model.NotYet, []string{judge.NothingHeld, judge.NextRuns}},
		"nothing":     {func(r *model.Compare) { r.Pairs = nil }, model.NotYet, []string{judge.NothingHeld, judge.NextRuns}},
	} {
		got := compared(q, n, c.change).MayPublish
		why := codes(got.Why)
		slices.Sort(why)
		slices.Sort(c.why)
		if got.State != c.state || !slices.Equal(why, c.why) {
			t.Errorf("%s: %s %v, want %s %v", name, got.State, why, c.state, c.why)
		}
	}
}

// A headline passes the gate where what it speaks of is the strongest there is; what is
// stronger stands in its way.
func TestGate(t *testing.T) {
	q, n := sound(t)
	for name, c := range map[string]struct {
		change func(*model.Pair)
		want   []string
	}{
		"sound": {func(*model.Pair) {}, nil},
		"another comb": {func(p *model.Pair) {
			p.Near.Mains.AlsoFound = []model.Comb{{NominalHz: 60, Hz: 59.94, Lines: 8, Total: estimate.Of(-60, -60.1, -59.9)}}
		}, []string{judge.GateOtherComb}},
		"a weaker comb": {func(p *model.Pair) {
			p.Near.Mains.AlsoFound = []model.Comb{{NominalHz: 60, Hz: 59.94, Lines: 8, Total: estimate.Of(-105, -105.1, -104.9)}}
		}, nil},
		"a tone at 60 Hz":      {func(p *model.Pair) { p.Near.Tones = []model.Tone{{Hz: 59.7, DBFS: -50}} }, []string{judge.GateTone}},
		"a tone on a harmonic": {func(p *model.Pair) { p.Near.Tones = []model.Tone{{Hz: 1000.6, DBFS: -50}} }, []string{judge.GateHarmonic}},
		"a tone elsewhere":     {func(p *model.Pair) { p.Near.Tones = []model.Tone{{Hz: 1017, DBFS: -50}} }, nil},
		"a hidden line": {func(p *model.Pair) {
			p.Near.Lines[4].Level, p.Near.Lines[4].Hidden = estimate.Of(-60, -61, -59), true
			p.Hum.LeftOut = []int{5}
		}, []string{judge.GateLeftOut}},
		"one line is all of it":  {func(p *model.Pair) { p.Hum.Near = p.Near.Lines[0].Level }, []string{judge.GateOneLine, judge.GateSum}},
		"lines are more than it": {func(p *model.Pair) { p.Hum.Near = estimate.Of(-80, -80.1, -79.9) }, []string{judge.GateOneLine, judge.GateSum}},
		"the line rose, it fell": {func(p *model.Pair) { p.Hum.Delta = estimate.Of(-3, -4, -2) }, []string{judge.GateLine}},
	} {
		p := compared(q, n, nil).Pairs[0]
		c.change(&p)
		if d := cmp.Diff(c.want, codes(judge.Gate(p))); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// A session without doubts is ready; what its runs say against it is a reason.
func TestMayPublishSession(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*model.Session)
		state  string
		why    []string
	}{
		"sound":         {nil, model.Ready, nil},
		"no volts":      {func(s *model.Session) { s.Settings.FullScaleVolts = model.None }, model.OnlyAs, []string{judge.RelativeLevels}},
		"guessed":       {func(s *model.Session) { s.Runs[2].Guessed = []string{"cable"} }, model.NotYet, []string{model.Guessed, judge.NextConfirm}},
		"two mains":     {func(s *model.Session) { s.Runs[0].Capture.Mains.NominalHz = 60 }, model.NotYet, []string{judge.MainsOfRuns, judge.NextOneMains}},
		"a run failed":  {func(s *model.Session) { s.Runs[0].Capture = nil }, model.NotYet, []string{judge.RunsFailed, judge.NextMeasure}},
		"placed once":   {func(s *model.Session) { once(s) }, model.OnlyAs, []string{model.OnePlacement}},
		"not a run":     {func(s *model.Session) { s.Runs = nil }, model.NotYet, []string{judge.NothingHeld, judge.NextRuns}},
		"of a run":      {func(s *model.Session) { clippedAt(s, 3) }, model.NotYet, []string{"flat_tops", judge.NextLowerGain}},
		"of none used":  {func(s *model.Session) { clippedAt(s, 3); s.Runs[3].LeftOut = "flat tops" }, model.Ready, nil},
		"without times": {func(s *model.Session) { untimed(s) }, model.Ready, nil},
	} {
		got := judged(simple(), c.change).MayPublish
		if d := cmp.Diff(c.why, codes(got.Why)); got.State != c.state || d != "" {
			t.Errorf("%s: %s %v, want %s %v", name, got.State, codes(got.Why), c.state, c.why)
		}
	}
}

func once(s *model.Session) {
	for i := range s.Runs {
		s.Runs[i].Replaced = false
	}
}

func clippedAt(s *model.Session, run int) {
	s.Warnings = append(s.Warnings, model.Warning{Note: note.New("flat_tops", "samples", 3), File: s.Runs[run].Capture.File, Channel: 1})
}

func untimed(s *model.Session) {
	for i := range s.Runs {
		s.Runs[i].Start = time.Time{}
	}
}

// What a session is judged to be is all that it is judged by: read from its file and judged
// again it is the same to the byte, whatever words the user gave for leaving a run out.
func TestJudgedAgain(t *testing.T) {
	d := simple()
	d.Cables[1].UnpluggedDB, d.DriftSD, d.LimitDB = -58, 0.4, -118
	d.Claims = []model.Claim{
		claim(model.Claim{Name: "a", Says: "less", By: "the maker", Line: 7, Kind: model.ClaimLess, Cable: "Heron", Than: "Plover", DB: 20}),
		claim(model.Claim{Kind: model.ClaimBelow, Cable: "Heron", Volts: 1e-4, Quantity: model.Quantity{Harmonic: 1}}),
		{Kind: model.ClaimRise, Cable: "Heron", DB: 3, Termination: model.Termination{Ohms: model.None, Open: true}, Exposure: "beside", Quantity: model.Quantity{AWeighted: true}},
	}
	first := judged(d, func(in *model.Session) {
		in.Schema = model.SessionSchema
		in.Runs[2].LeftOut, in.Runs[3].LeftOut = "clipped", "silent"
		in.Runs[5].Termination, in.Runs[7].Guessed = model.Termination{Ohms: model.None, Open: true}, []string{"cable"}
		in.Runs[9].Capture, in.Runs[9].Unused = nil, note.New("not_measured", "error", "no such file")
		in.Runs[11].Capture.Health.Clipped = 3
		in.Runs[12].Start = in.Runs[12].Start.Add(123 * time.Microsecond)
		in.Playback = &model.Playback{ProgrammeVolts: 2, GainDB: 0, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2, MarginDB: 10}
	})
	if r := first.Runs[2]; r.Used || r.Unused.Code != "" || r.LeftOut != "clipped" {
		t.Errorf("left out in the user's words: %+v", r.Unused)
	}
	if r := first.Runs[11]; r.Used || r.Unused.Code != judge.UnusedClipped || r.LeftOut != "" {
		t.Errorf("clipped: %+v", r.Unused)
	}
	text := kit.Must(wire.Write(&first))(t)
	read := kit.Must(wire.Read(text))(t)
	again := judge.Session(*read.(*model.Session))
	if second, err := wire.Write(&again); err != nil || cmp.Diff(string(text), string(second)) != "" {
		t.Errorf("judged again it is another (%v): %s", err, cmp.Diff(string(text), string(second)))
	}
}
