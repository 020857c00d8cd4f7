package verify_test

import (
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/fixtures/trials"
)

// gone takes a value out.
type gone struct{}

// Values forged by hand where an expert would, by kind of report; the result is then
// written, sealed and drawn anew by the program.
var values = map[string][]struct {
	at string // in the JSON
	to any
}{
	"compare by reference": {
		{"settings.reference", 1}, {"settings.reference", 0}, {"settings.reference", 1e9},
		{"pairs[0].near.reference", nil}, {"pairs[0].near.reference.channel", 3}, {"pairs[0].near.reference.why", ""},
		{"pairs[0].near.reference.steady_db", -90}, {"pairs[0].near.reference.clock_ppm", 0.1},
		{"pairs[0].lines[0].near.ratio", map[string]any{"re": 0.001, "im": 0, "lo": 0.001, "hi": 0.001, "scatter": 0, "spans": 6, "reference_dbfs": -40, "reference_deg": 0, "reference_u_deg": 0}},
		{"pairs[0].lines[0].pickup.phase_deg", 12}, {"pairs[0].hum.pickup.state", "measured"}, {"warnings", []any{}},
		{"pairs[0].near.mains.doubts", []any{"lone"}}, {"pairs[0].near.mains.also_found", []any{map[string]any{"nominal_hz": 50, "hz": 50, "lines": 3}}},
		{"pairs[0].quiet.mains.clock_share", 0.5}, {"pairs[0].quiet.mains.u95_hz", 1e-9}, {"pairs[0].tones.near", []any{map[string]any{"hz": 0, "dbfs": -20}}},
		{"may_publish.state", "ready"}, {"may_publish.codes", []any{}},
	},
	"trend by reference": {
		{"captures[0].spans[0].referred.ratios[0].re", 0.00131092}, {"captures[0].spans[0].referred.ratios[0].scatter", 1e-9},
		{"captures[0].spans[0].referred.ratios[0].reference_deg", 1e-3}, {"captures[0].spans[0].referred.ratios[0].reference_u_deg", 1},
		{"captures[0].spans[0].referred.ratios[0].spans", 30}, {"captures[0].spans[0].referred.ratios", []any{}},
		{"captures[0].spans[1].referred", nil}, {"captures[0].spans[1].referred.added.phase_deg", 1}, {"captures[0].spans[1].referred.added.hi_fs", "NaN"},
		{"captures[0].spans[1].referred.steady_db", -80}, {"captures[0].mains.min_hz", 50.5}, {"captures[0].harmonics", []any{}},
		{"captures[0].harmonics", []any{1, 1}}, {"captures[0].harmonics", []any{1000000000}}, {"captures[0].loudest", 0}, {"captures[0].spans[0].address", ""},
	},
	"compare of all": {
		{"pairs[0].residual", nil}, {"pairs[0].residual.hum.dbfs", -150}, {"pairs[0].audibility.verdict", "below"},
		{"pairs[0].audibility.lines[0].spl_db.hi", 0}, {"settings.scales[0].calibrations", []any{}}, {"settings.scales[0].u95_db", 0.001},
		{"settings.scales[0].calibrations[0].holds_to_s", 4}, {"settings.asked.calibration", []any{"tone.wav=0.2V at 1kHz"}}, {"settings.up_to_hz", 1e300},
		{"settings.mains", "60"}, {"pairs[0].quiet.health.floors_dbfs_hz", []any{}}, {"pairs[0].near.trace.hi_dbfs", []any{-10}},
		{"pairs[0].near.line_count", 0}, {"pairs[0].near.line_count", 1e9}, {"pairs[0].near.line_count", -1}, {"pairs[0].near.more_lines", []any{map[string]any{"harmonic": 1}}},
	},
	"session of all": {
		{"claims[3].db", 3}, {"claims[3].verdict", "refuted"}, {"claims[3].verdict", "undecided"}, {"claims[3].than", "Old wire"}, {"claims[3].kind", "less"}, {"claims[3].parts", []any{}},
		{"claims[3].parts[0].value.hi", 0.5}, {"claims[3].parts[0].runs", []any{1}}, {"claims[3].p", 0.001}, {"claims[3].together", false}, {"claims[3].late", "yes"},
		{"claims[3].reasons", []any{map[string]any{"code": "none", "args": map[string]any{}}}}, {"claims[3]", gone{}},
		{"playback.gain_db", 20}, {"witness", ""}, {"bench.photos", []any{}}, {"bench.notes", "A bench of stone."}, {"title", "Accredited"},
		{"runs[2].start", ""}, {"runs[2].guessed", []any{"cable"}}, {"runs[17].left_out", "a train"}, {"settings.scales", []any{}}, {"blind", true},
		{"mechanisms", []any{}}, {"mechanisms[0].verdict", "magnetic"}, {"mechanisms[0].evidence[0].db.hi", 1}, {"audible", []any{}},
	},
	"session by reference": {
		{"runs[1].reference", 0}, {"runs[1].reference", 1}, {"runs[1].capture.reference.why", ""}, {"runs[1].capture.reference", nil}, {"findings", []any{}},
		{"runs[0].capture.mains.doubts", []any{"lone"}}, {"runs[0].capture.lines.ratio", []any{nil}}, {"warnings", []any{}}, {"cells[0].repeats[0].against", []any{1}},
		{"warnings", []any{map[string]any{"code": "blind", "args": map[string]any{"sha256": "00"}, "file": "", "channel": 0}}},
	},
	"session of a known source": {
		{"passport", nil}, {"passport.cables", []any{}}, {"passport.cables[0].couplings[0].value.value", 1e-12}, {"passport.runs[2].tones[0].re", 0}, {"passport.runs[2]", gone{}},
		{"passport.scale.drive_full_scale_volts", 8}, {"passport.drive.full_scale", "8V"}, {"passport.runs[2].termination_ohms", 200}, {"claims[0].parts[0].value.hi", 1e-12},
		{"claims[1].limit.mains_volts", 230}, {"claims[0].verdict", "refuted"}, {"passport.cables[0].predicted[0].agrees", "yes"}, {"passport.cables[0].predicted[0].near_run", 0},
		{"passport.runs[4].drive_channel", 1}, {"passport.runs[4].clipped", 9},
	},
	"passport": {
		{"may_publish.state", "ready"}, {"file", "accredited.toml"}, {"inputs", []any{}}, {"title", "Accredited"}, {"bench.mains_volts", 115}, {"bench.input_ohms", 1e9},
		{"drive.full_scale", "8V ±1%"}, {"scale.drive_full_scale_volts", 8}, {"scale.drive_u_db", nil}, {"scale.input_u_db", 0.001},
		{"runs[2].tones[0].re", 0}, {"runs[2].tones[0].u", 1e-9}, {"runs[2].tones[0].hz", 0}, {"runs[2].tones", []any{}}, {"runs[2].clipped", 3}, {"runs[2].clock_ppm", nil},
		{"runs[2].termination_ohms", 200}, {"runs[2].cable", "Plover"}, {"runs[2].drive", "coil"}, {"runs[2].condition", "residual"}, {"runs[2].drive_channel", 1}, {"runs[2].repeat", 7},
		{"runs[2].day", "2031-02-28"}, {"runs[2].line", 1}, {"runs[2]", gone{}}, {"runs[3].run", 3}, {"runs", []any{}},
		{"cables", []any{}}, {"cables[0].cable", "Plover"}, {"cables[0].couplings[0].value.value", 1e-12}, {"cables[0].couplings[0].value.hi", nil},
		{"cables[0].couplings[0].follows", false}, {"cables[0].couplings[0].budget.parts", []any{}}, {"cables[0].couplings[0].budget.k", 1}, {"cables[0].couplings[0]", gone{}},
		{"cables[0].frequency[0].phase_deg", 0}, {"cables[0].frequency", []any{}}, {"cables[0].missing", []any{}},
		{"cables[0].predicted[0].agrees", "yes"}, {"cables[0].predicted[0].measured_volts.value", 1e-6}, {"cables[0].predicted[0].near", nil}, {"cables[0].predicted[0].near_run", 1},
		{"cables[0].predicted[0].near_run", 0}, {"cables[0].predicted[0].quiet.start_s", 1}, {"cables[0].predicted", []any{}},
		{"claims", []any{}}, {"claims[0].limit.value", 4e-12}, {"claims[0].limit.unit", "H"}, {"claims[0].verdict", "refuted"}, {"claims[0].p", 1}, {"claims[0].parts[0].guard_band", 0}, {"claims[0].says", "None at all"},
		{"warnings", []any{map[string]any{"code": "drive_clipped", "args": map[string]any{"samples": 3}, "file": "driven1.wav", "channel": 0}}},
	},
}

// step is one step of a path.
var step = regexp.MustCompile(`[^.\[\]]+`)

// put puts a value at a path of decoded JSON; false: it is there already, or nothing is.
func put(tree any, path []string, to any) (any, bool) {
	if len(path) == 0 {
		return to, !reflect.DeepEqual(tree, to)
	}
	switch x := tree.(type) {
	case map[string]any:
		inner, ok := put(x[path[0]], path[1:], to)
		if x[path[0]] = inner; inner == (gone{}) {
			delete(x, path[0])
		}
		return x, ok
	case []any:
		i, err := strconv.Atoi(path[0])
		if err != nil || i >= len(x) {
			return x, false
		}
		inner, ok := put(x[i], path[1:], to)
		if x[i] = inner; inner == (gone{}) {
			return append(x[:i:i], x[i+1:]...), true
		}
		return x, ok
	}
	return tree, false
}

// Nothing forged by an expert with the program stands, wherever the value.
func TestForgedValues(t *testing.T) {
	share := 22 // of those for each kind
	if *forgeries > 0 {
		share = 11
	}
	tried := 0
	for _, h := range allHonest(t) {
		text := kit.Must(os.ReadFile(h.json))(t)
		unedited := sealed(t, text)
		for i, v := range values[h.kind] {
			if !trials.Full() && i%share != len(h.kind)%share {
				continue
			}
			var tree any
			kit.OK(t, json.Unmarshal(text, &tree))
			forged, ok := put(tree, step.FindAllString(v.at, -1), v.to)
			if !ok {
				t.Errorf("%s: there is no %s, or it is %v", h.kind, v.at, v.to)
				continue
			}
			path, ok := resealed(t, h, kit.Must(json.Marshal(forged))(t), unedited, i%3 > 0)
			if !ok {
				continue // nothing comes of it
			}
			tried++
			if stands(t, path) {
				t.Errorf("%s: %s is %v: it stands", h.kind, v.at, v.to)
			}
		}
	}
	t.Logf("%d values forged", tried)
}
