package formula

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What spreadsheets are known to take for a formula (OWASP, "CSV Injection", from
// memory), and what they don't.
func TestOpens(t *testing.T) {
	for text, want := range map[string]bool{
		"=1+1": true, "+1": true, "-1": true, "@SUM(A1)": true, "\t=1": true, "\r=1": true, " =1": true, "＝1": true, "　－1": true,
		"": false, " ": false, "a=1": false, "'=1": false, "Grebe": false, "1-2": false, "\tx": false,
	} {
		if Opens(text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
}

// Every text comes back, and none opens a formula on its way.
func TestGuard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("'=+-@＝ \ta"))).Draw(t, "text")
		cell := Guard(text)
		if Opens(cell) || Unguard(cell) != text {
			t.Errorf("%q becomes %q becomes %q", text, cell, Unguard(cell))
		}
		if !Opens(text) && !strings.HasPrefix(text, "'") && cell != text {
			t.Errorf("%q becomes %q for nothing", text, cell)
		}
	})
}
