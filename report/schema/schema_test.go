package schema_test

import (
	"encoding/json"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/invopop/jsonschema"

	"humdiff/fixtures/valid"
	"humdiff/report/gather"
	"humdiff/report/internal/sample"
	"humdiff/report/result"
	"humdiff/report/schema"
)

var update = flag.Bool("update", false, "write the schemas anew")

// kinds are the results and their types.
var kinds = map[string]any{
	result.CompareSchema:  result.Compare{},
	result.CouplingSchema: result.Coupling{},
	result.MeasureSchema:  result.Measure{},
	result.PlanSchema:     result.Plan{},
	result.SessionSchema:  result.Session{},
	result.VerifySchema:   result.Verification{},
	result.BundleSchema:   result.Manifest{},
	result.CheckSchema:    result.Check{},
	result.TrendSchema:    result.Trend{},
}

// The schemas are those of the types as they are now. The README promises that
// keys may be added: a schema allows others than its own.
func TestSchemasAreThoseOfTheTypes(t *testing.T) {
	for id, value := range kinds {
		made := generate(t, id, value)
		name := schema.FileName(strings.TrimPrefix(id, "humdiff/"))
		if *update {
			if err := os.WriteFile(name, made, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := os.ReadFile(name)
		if err != nil {
			t.Error(err)
		} else if strings.ReplaceAll(string(kept), "\r\n", "\n") != string(made) {
			t.Errorf("%s is not that of the types: go test ./report/schema -update", name)
		}
	}
}

func generate(t *testing.T, id string, value any) []byte {
	t.Helper()
	r := jsonschema.Reflector{
		AllowAdditionalProperties: true,
		Anonymous:                 true,
		Mapper: func(t reflect.Type) *jsonschema.Schema {
			if t == reflect.TypeFor[result.Num]() {
				return &jsonschema.Schema{OneOf: []*jsonschema.Schema{{Type: "number"}, {Type: "null"}}}
			}
			return nil
		},
	}
	if err := r.AddGoComments("humdiff/report/result", "../result", jsonschema.WithFullComment()); err != nil {
		t.Fatal(err)
	}
	s := r.Reflect(value)
	root, _ := s.Definitions[reflect.TypeOf(value).Name()].Properties.Get("schema")
	root.Const = id
	s.ID = jsonschema.ID("urn:" + strings.ReplaceAll(id, "/", ":"))
	made, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(made, '\n')
}

var stated = regexp.MustCompile(`"(humdiff/[a-z]+/\d+)"`)

// Every schema that some code states is there.
func TestEveryResultHasASchema(t *testing.T) {
	found := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, m := range stated.FindAllSubmatch(text, -1) {
			found++
			if _, ok := schema.Of(string(m[1])); !ok {
				t.Errorf("%s: %s has no JSON Schema", path, m[1])
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if found < len(kinds) {
		t.Errorf("only %d found", found)
	}
}

func TestSamplesAreValid(t *testing.T) {
	for name, r := range map[string]any{"compare": sample.Compare()} {
		data, err := gather.JSON(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := valid.Result(data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A schema that lets everything through would be none.
func TestInvalidIsRefused(t *testing.T) {
	data, err := gather.JSON(sample.Compare())
	if err != nil {
		t.Fatal(err)
	}
	for old, new := range map[string]string{
		`"harmonic":`:       `"order":`,
		`"state":"`:         `"state":7,"was":"`,
		`"pairs":[`:         `"pairs":[3,`,
		`"schema":"`:        `"schema":"x","was":"`,
		`"rate_hz":`:        `"rate_hz":0.5,"was":`,
		`"full_scale_said"`: `"said"`,
	} {
		if !strings.Contains(string(data), old) {
			t.Fatalf("the sample has no %s", old)
		}
		if valid.Result([]byte(strings.Replace(string(data), old, new, 1))) == nil {
			t.Errorf("%s in place of %s is let through", new, old)
		}
	}
}
