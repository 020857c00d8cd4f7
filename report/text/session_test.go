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
		for form, text := range map[string]string{"full": Full(d, 100), "Markdown": Markdown(d)} {
			bad := map[string]string{"full": "\x1b", "Markdown": " <b onclick"}[form]
			if strings.Contains(text, bad) || strings.Contains(text, "\x1b") {
				t.Errorf("%s, %s: %q", name, form, bad)
			}
		}
	}
}
