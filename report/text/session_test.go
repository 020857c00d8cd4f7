package text

import (
	"strings"
	"testing"

	"humdiff/report/doc"
	"humdiff/report/internal/samples"
	"humdiff/report/model"
)

// The short form of a session fits a screen, and begins with the answer; nothing in
// any form commands a terminal or a page.
func TestASessionFitsAScreen(t *testing.T) {
	for name, s := range map[string]model.Session{"claims": samples.Session(), "ranked": samples.Ranked(), "no volts": samples.NoVoltsSession(), "hostile": samples.HostileSession()} {
		d := doc.Session(s, nil)
		short := Short(d, 100)
		if n := strings.Count(short, "\n"); n > screen {
			t.Errorf("%s: %d lines:\n%s", name, n, short)
		}
		if name != "hostile" && !strings.HasPrefix(short, d.Title+"\n"+d.Gate+"\n") && len(d.Title) < 98 {
			t.Errorf("%s begins with\n%s", name, short[:200])
		}
		for form, text := range map[string]string{"full": Full(d, 100), "Markdown": Markdown(d), "claims": CSV(One(doc.SessionClaims(s)))} {
			bad := map[string]string{"full": "\x1b", "Markdown": " <b onclick", "claims": "\n=1+1"}[form]
			if strings.Contains(text, bad) || strings.Contains(text, "\x1b") {
				t.Errorf("%s, %s: %q", name, form, bad)
			}
		}
	}
}

// A table of a session in CSV has as many columns in each row as in its head, and
// numbers as the result has them.
func TestSessionCSV(t *testing.T) {
	s := samples.Session()
	for name, text := range map[string]string{"runs": CSV(One(doc.SessionRuns(s, func(int) string { return "" }))), "repeats": CSV(One(doc.SessionRepeats(s))),
		"means": CSV(One(doc.SessionMeans(s))), "ranking": CSV(doc.SessionPlaces(s)), "differences": CSV(doc.SessionDifferences(s)), "claims": CSV(One(doc.SessionClaims(s)))} {
		if strings.Contains(text, "−") {
			t.Errorf("%s has a minus sign that is no hyphen", name)
		}
	}
	got := CSV(One(doc.SessionClaims(s)))
	want := "claim,says,quantity,by,written,late,verdict,p,together,exposure,termination_ohms,open,lead_loaded,far_device_bonded,verdict_there,unit,value,lo,hi\n"
	if !strings.HasPrefix(got, want) {
		t.Errorf("%q", got[:min(len(got), 300)])
	}
}
