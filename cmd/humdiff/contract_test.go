package main

import (
	"encoding/json"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
)

// Keys that outside checks read: they are there in every result, in its second
// version as in its first.
var (
	sideKeys  = "file channel start_s end_s rate_hz bits sha256"
	levelKeys = "state dbfs lo_dbfs hi_dbfs limit_dbfs floor_dbfs_hz volts steadiness"
	deltaKeys = "state db lo_db hi_db"
	headKeys  = map[string]string{"": "schema tool settings warnings may_publish fingerprint", "tool": "version", "may_publish": "state why caption", "warnings": "code file channel message"}
	contract  = map[string]map[string]string{
		"compare": {
			"": "pairs", "pairs": "quiet near mains lines hum noise tones", "pairs.quiet": sideKeys, "pairs.near": sideKeys,
			"pairs.mains": "nominal_hz quiet_hz near_hz", "pairs.lines": "harmonic hz quiet near delta pickup",
			"pairs.lines.quiet": levelKeys, "pairs.lines.near": levelKeys, "pairs.lines.delta": deltaKeys, "pairs.lines.pickup": "lo_volts hi_volts",
			"pairs.hum": "quiet_dbfs near_dbfs delta", "pairs.hum.delta": deltaKeys,
			"pairs.noise": "band_hz quiet_dbfs near_dbfs quiet_a_dbfs near_a_dbfs", "pairs.tones": "quiet near",
		},
		"measure": {
			"": "captures", "captures": sideKeys + " mains lines hum noise tones",
			"captures.mains": "detected nominal_hz hz u95_hz min_hz max_hz", "captures.lines": "harmonic hz " + levelKeys,
			"captures.hum": "state dbfs lo_dbfs hi_dbfs limit_dbfs",
		},
	}
)

func TestJSONContract(t *testing.T) {
	quiet, near := captureFile(t, "quiet.wav", -100), captureFile(t, "near.wav", -80)
	for command, keys := range contract {
		args := []string{command, quiet, near, "--format", "json", "--full-scale", "2V", "--up-to", "500Hz"}
		var result any
		kit.OK(t, json.Unmarshal([]byte(said(t, args...)), &result))
		for _, at := range []map[string]string{headKeys, keys} {
			for path, names := range at {
				found := objects(result, path)
				if len(found) == 0 {
					t.Errorf("%s: there is no %s", command, path)
				}
				for _, object := range found {
					for _, name := range strings.Fields(names) {
						if _, ok := object[name]; !ok {
							t.Errorf("%s: %s has no key %q", command, path, name)
						}
					}
				}
			}
		}
	}
}

// objects are those at a path, of lists each.
func objects(value any, path string) (all []map[string]any) {
	if list, ok := value.([]any); ok {
		for _, x := range list {
			all = append(all, objects(x, path)...)
		}
		return all
	}
	object, ok := value.(map[string]any)
	if path == "" || !ok {
		return append(all, object)
	}
	name, rest, _ := strings.Cut(path, ".")
	return objects(object[name], rest)
}
