package report_test

import (
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/judge"
	"humdiff/report/model"
)

// A sound comparison may be printed as one placement of the lead, one without volts as
// relative levels too; clipped it may not yet. With a chain it says what would be heard.
func TestCompareMayBePublished(t *testing.T) {
	quiet := sound
	quiet.dbfs, quiet.seed = -105, 2
	loud := sound
	loud.dbfs = 3
	volts := report.Request{Scaling: report.Scaling{FullScale: "2V"}}
	for name, c := range map[string]struct {
		request report.Request
		near    recording
		state   string
		why     []string
	}{
		"sound":    {volts, sound, model.OnlyAs, []string{model.OnePlacement}},
		"no volts": {report.Request{}, sound, model.OnlyAs, []string{model.OnePlacement, judge.RelativeLevels}},
		"clipped":  {volts, loud, model.NotYet, []string{"clipped"}},
	} {
		near := c.near.write(t, "near.wav")
		r, err := report.Compare(t.Context(), c.request, report.Compared{Quiet: quiet.write(t, "quiet.wav"), Near: near,
			Playback: &model.Playback{ProgrammeVolts: 1, GainDB: model.None, SensitivityDB: model.None, DistanceMetres: model.None}})
		kit.OK(t, err)
		if r.MayPublish.State != c.state {
			t.Errorf("%s: %+v", name, r.MayPublish)
		}
		for i, code := range c.why {
			if r.MayPublish.Why[i].Code != code {
				t.Errorf("%s: %+v, want %s", name, r.MayPublish.Why, code)
			}
		}
		if a := r.Pairs[0].Audibility; a == nil || a.BelowProgrammeDB.Known() != r.Settings.Volts() {
			t.Errorf("%s: %+v", name, a)
		}
	}
}
