package session

import (
	"testing"

	"humdiff/fixtures/kit"

	"humdiff/fft/note"
	"humdiff/report/model"
)

// Rows of a known source are no runs of the ranking, which is noted with their number.
func TestDrivenRowsStandApart(t *testing.T) {
	list := "cable,condition,drive,termination_ohms,reference,file\nGrebe,driven,wire,20,ch=2,d.wav\n,residual,wire,20,ch=2,r.wav\nGrebe,quiet,,20,,q.wav\n"
	f := load(t, write(t, map[string]string{"session.toml": "runs = \"runs.csv\"\n[drive]\nfull_scale = \"4V\"\n", "runs.csv": list, "d.wav": "", "r.wav": "", "q.wav": ""}))
	if len(f.Driven) != 2 || len(f.Sitting.Runs) != 1 || f.Sitting.Runs[0].Address != "q.wav" {
		t.Errorf("%d driven, %d others", len(f.Driven), len(f.Sitting.Runs))
	}
	kit.Alike(t, []model.Warning{{Note: note.New("driven_apart", "runs", 2)}}, f.Warnings)
}
