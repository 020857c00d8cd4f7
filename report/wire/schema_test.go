package wire_test

import (
	"crypto/sha256"
	"fmt"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
	"humdiff/report/wire"
)

// Keys that come, go or have another form make a result of another kind: verify would call an
// honest older one edited. Where the hash of a JSON Schema differs from that in the file, its
// number has to rise in report/model before the file is written anew.
func TestSchemasRise(t *testing.T) {
	var all strings.Builder
	for _, id := range wire.Schemas() {
		schema, _ := wire.Schema(id)
		fmt.Fprintf(&all, "%s %x\n", id, sha256.Sum256([]byte(strings.ReplaceAll(string(schema), id, ""))))
	}
	kit.Golden(t, "schemas.txt", all.String())
}
