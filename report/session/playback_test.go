package session

import (
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/model"
)

// What of a chain says nothing by itself is told, all at once; a whole one is
// written again as it was read.
func TestPlayback(t *testing.T) {
	list := "cable,termination_ohms,exposure,condition,repeat,file\nGrebe,20,,quiet,1,q1.wav\nGrebe,20,beside,near,1,n1.wav\n"
	read := func(playback string) (File, error) {
		return Load(write(t, map[string]string{"session.toml": "runs = \"runs.csv\"\n" + playback, "runs.csv": list, "q1.wav": "", "n1.wav": ""}))
	}
	whole := "[playback]\nprogramme = '2V'\ngain = '26dB'\nspeaker = '87dB'\ndistance = '2.5m'\nspeakers = 2\nroom_margin = '10dB'\n"
	s := kit.Must(read(whole))(t)
	want := &model.Playback{ProgrammeVolts: 2, GainDB: 26, Kind: model.KindLoudspeaker, SensitivityDB: 87, DistanceMetres: 2.5, Loudspeakers: 2, MarginDB: 10}
	kit.Alike(t, want, s.Sitting.Playback)
	if file, _ := s.Encode(); !strings.Contains(string(file), whole) {
		t.Errorf("written as\n%s", file)
	}
	if s, err := read(""); err != nil || s.Sitting.Playback != nil {
		t.Errorf("none: %v, %+v", err, s.Sitting.Playback)
	}
	for text, want := range map[string][]string{
		"speaker = '87dB'\n": {"speaker says nothing by itself", "state distance too", "state gain too"},
		"distance = '2m'\n":  {"distance says nothing by itself"},
		"gain = '3dB'\n":     {"gain says nothing by itself"},
		"speaker = 87\n":     {"speaker: 87 is no text"},
		"speaker = '87'\n":   {`speaker: "87"`, "unit"},
		"gain = '0dB'\nspeaker = '87dB'\ndistance = '2m'\nheadphone = '100dB/V'\n": {"two chains"},
		"gain = '0dB'\nheadphone = '100dB/V'\nroom_margin = '-3dB'\n":              {"takes something off"},
		"headphone = '100dB/V'\n": {"headphone says nothing by itself", "state gain too"},
		"volume = 3\n":            {`there is no key "volume" here`},
	} {
		_, err := read("[playback]\n" + text)
		for _, w := range want {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("%q: %v, want %q", text, err, w)
			}
		}
	}
}
