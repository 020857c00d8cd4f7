// Package schema holds the JSON Schemas (draft 2020-12) of what humdiff prints as
// JSON. They are made from the types of package result and their comments: the
// test with -update writes them.
package schema

import (
	"embed"
	"strings"
)

//go:embed *.json
var files embed.FS

// Of is the schema of results whose "schema" has this value, such as
// "humdiff/compare/1"; ok is false where there is none.
func Of(id string) (schema []byte, ok bool) {
	name, ours := strings.CutPrefix(id, "humdiff/")
	if !ours {
		return nil, false
	}
	schema, err := files.ReadFile(FileName(name))
	return schema, err == nil
}

// FileName is the file that holds the schema of a kind and version, such as
// compare/1.
func FileName(kind string) string { return strings.ReplaceAll(kind, "/", "-") + ".schema.json" }
