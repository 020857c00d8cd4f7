package table

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"humdiff/report/internal/golden"
	"humdiff/report/internal/sample"
)

// The forms to paste hold the same rows as the Markdown, and nothing of a
// hostile name gets out of its cell.
func TestToPaste(t *testing.T) {
	r := Compare(sample.Compare())
	golden.Check(t, "compare.html", r.HTML())
	golden.Check(t, "compare.bb", r.BBCode())
	rows := 0
	for _, g := range r.Groups {
		rows += len(r.Shown(g)) + 2 // heading and total
	}
	if got := strings.Count(r.HTML(), "<tr>"); got != rows {
		t.Errorf("HTML has %d rows, want %d", got, rows)
	}
	if got := strings.Count(r.BBCode(), "[tr]"); got != rows {
		t.Errorf("BBCode has %d rows, want %d", got, rows)
	}

	hostile := Compare(sample.Hostile())
	allowed := map[string]bool{"p": true, "strong": true, "table": true, "thead": true, "tbody": true, "tr": true, "th": true, "td": true, "ul": true, "li": true, "all": true}
	dec := xml.NewDecoder(strings.NewReader("<all>" + hostile.HTML() + "</all>"))
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok && !allowed[e.Name.Local] {
			t.Errorf("a %s element", e.Name.Local)
		}
	}
	bb := hostile.BBCode()
	for _, tag := range []string{"b", "table", "tr", "th", "td", "list", "/b", "/table", "/tr", "/th", "/td", "/list", "*"} {
		bb = strings.ReplaceAll(bb, "["+tag+"]", "")
	}
	if strings.ContainsAny(bb, "[]") {
		t.Error("a square bracket that is no tag of the table's")
	}
}
