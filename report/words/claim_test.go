package words

import (
	"strings"
	"testing"

	"humdiff/report/result"
)

// The claimant's words don't say which hum is meant; the verdict does.
func TestClaimVerdictNamesItsQuantity(t *testing.T) {
	c := result.ClaimResult{Name: "quiet cable", Says: "Grebe stays below 1 µV", Verdict: "supported"}
	if got := ClaimVerdict(c); strings.Contains(got, "tested on") {
		t.Errorf("the total is what is meant unless said: %s", got)
	}
	c.Quantity = result.Quantity{AWeighted: true}
	if got := ClaimVerdict(c); !strings.Contains(got, "tested on A-weighted hum") {
		t.Errorf("A-weighted: %s", got)
	}
	c.Quantity = result.Quantity{Harmonic: 3}
	if got := ClaimVerdict(c); !strings.Contains(got, "tested on "+Quantity(c.Quantity)) {
		t.Errorf("harmonic 3: %s", got)
	}
}
