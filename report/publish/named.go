package publish

import (
	"encoding/json"
	"maps"
	"regexp"
	"slices"
)

// Named is a file that a report names by its content.
type Named struct {
	File   string // as the report has it
	SHA256 string
}

var sha = regexp.MustCompile(`^[0-9a-f]{64}$`)

// namedIn lists the files that a result in JSON names, each once, in an order that the
// content alone decides:
// every object with a file and its SHA-256, whatever it is. What isn't JSON names
// none.
func namedIn(data []byte) []Named {
	var tree any
	if json.Unmarshal(data, &tree) != nil {
		return nil
	}
	var all []Named
	seen := map[Named]bool{}
	walk(tree, func(n Named) {
		if !seen[n] {
			seen[n] = true
			all = append(all, n)
		}
	})
	return all
}

func walk(v any, found func(Named)) {
	switch v := v.(type) {
	case map[string]any:
		file, _ := v["file"].(string)
		hash, _ := v["sha256"].(string)
		if file != "" && sha.MatchString(hash) {
			found(Named{file, hash})
		}
		for _, key := range slices.Sorted(maps.Keys(v)) {
			walk(v[key], found)
		}
	case []any:
		for _, x := range v {
			walk(x, found)
		}
	}
}
