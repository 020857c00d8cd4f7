package report_test

import (
	"path"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// A result's fingerprint stands on every page, figure and table of its report, so
// that none can be passed off as another's.
func TestFingerprintStandsEverywhere(t *testing.T) {
	compared, followed := samples.Compare(), samples.Trend()
	for _, r := range []wire.Result{&compared, &followed} {
		r.Top().Schema = map[bool]string{true: model.CompareSchema, false: model.TrendSchema}[r == wire.Result(&compared)]
		kit.OK(t, wire.Seal(r))
		files := kit.Must(report.Files(r))(t)
		for _, f := range files {
			if path.Ext(f.Name) == ".png" {
				continue // drawn as the SVG beside it is, which has it
			}
			if !strings.Contains(string(kit.Must(f.Contents())(t)), r.Top().Fingerprint) {
				t.Errorf("%s lacks the fingerprint", f.Name)
			}
		}
	}
}
