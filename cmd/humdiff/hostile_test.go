package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"humdiff/fixtures/bench"
	"humdiff/fixtures/kit"
	"humdiff/fixtures/wavfile"
)

// Texts that try to command a terminal, to be a formula, or to be markup.
var hostile = []string{
	"=1+1", "+1", "-1", "@a", "\t=1", "\r=1", "＝1", "\x1b[31m", "\u009b31m", "\x1b]0;title\x07", "\u202eevil", "a\nb\rc",
	`<img src=x onerror=alert(1)>`, `"><script>alert(1)</script>`, `]]></style><svg onload=alert(1)>`, "[x](javascript:alert(1))", "|a|**b**`",
}

// hostileFiles are captures whose names and metadata are such texts.
func hostileFiles(t *testing.T) (paths []string) {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("no such names there")
	}
	t.Chdir(t.TempDir())
	for i, text := range hostile {
		c, err := bench.Comb{Rate: 8000, Seconds: 3, Track: bench.Steady(50), FloorDBFSHz: -130, Seed: int64(i), // no two are one recording
			Lines: []bench.LineSpec{{Harmonic: 1, PowerDBFS: -80}}}.Make()
		kit.OK(t, err)
		path := strings.ReplaceAll(text, "/", "∕") + ".wav"
		pairs := []string{"ICMT", text, "ISFT", text, text + "    ", text}
		pairs[4] = pairs[4][:4] // a field's name can be hostile too
		bext := wavfile.Broadcast{Description: text, Originator: text, Reference: text, History: text}.Chunk()
		copy(bext.Body[320:330], text)
		f := wavfile.Format{Rate: 8000, Bits: 24, Before: []wavfile.Chunk{wavfile.Info(pairs...), bext}}
		kit.OK(t, wavfile.Write(path, f, c.Samples))
		paths = append(paths, "./"+path)
	}
	return paths
}

// prints fails where a text holds what doesn't print.
func prints(t *testing.T, what, text string) {
	t.Helper()
	for i, r := range text {
		if r != '\n' && !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			t.Errorf("%s: %U in %q", what, r, text[max(0, i-40):min(len(text), i+40)])
			return
		}
	}
}

// sayAll runs a command that has to work.
func sayAll(t *testing.T, args ...string) (stdout string) {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(context.Background(), args, &out, &errs); code != done {
		t.Fatalf("%q: exit %d: %s", args, code, &errs)
	}
	prints(t, args[0]+": stdout", out.String())
	prints(t, args[0]+": stderr", errs.String())
	return out.String()
}

// What a file is called and what it says of itself stays text, in every view.
func TestHostileFiles(t *testing.T) {
	kit.Unraced(t)
	paths := hostileFiles(t)
	for _, format := range []string{"text", "markdown", "csv", "json"} {
		for i, args := range [][]string{append([]string{"check"}, paths...), append([]string{"measure", "--up-to", "100Hz"}, paths...)} {
			if i > 0 && (testing.Short() || format == "json") { // printed as check's is
				continue
			}
			out := sayAll(t, append(args, "--format", format)...)
			switch format {
			case "csv":
				harmlessCells(t, out)
			case "markdown":
				if strings.Contains(out, "](javascript") && !strings.Contains(out, `\](javascript`) || strings.Contains(strings.ReplaceAll(out, `\<`, ""), "<") {
					t.Errorf("%s: markup in\n%s", args[0], out)
				}
			}
		}
	}
	folder := sayAll(t, "check", ".", "--full")
	for _, c := range [][2]string{{"comment", "=1+1\n"}, {"software", "<U+001B>[31m\n"}, {"originator", "<U+009B>31m\n"},
		{"originator's reference", "<U+202E>evil\n"}, {"comment", `<img src=x onerror=alert(1)>`}} {
		if said := regexp.MustCompile(c[0] + ` +` + regexp.QuoteMeta(c[1])); !said.MatchString(folder) {
			t.Errorf("nothing says %q of %s", c[1], c[0])
		}
	}
}

func harmlessCells(t *testing.T, text string) {
	t.Helper()
	if rows := formulas(t, text); rows <= len(hostile) {
		t.Fatalf("only %d rows", rows)
	}
}

// formulas fails where a cell of CSV opens one, and counts the rows.
func formulas(t *testing.T, text string) int {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	rows := kit.Must(r.ReadAll())(t)
	for _, row := range rows {
		for _, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsRune("=+-@＝\t\r", []rune(cell)[0]) {
				t.Errorf("a cell that opens a formula: %q", cell)
			}
		}
	}
	return len(rows)
}

func TestHostileFilesInAReport(t *testing.T) {
	kit.Unraced(t)
	paths := hostileFiles(t)
	for i := 0; i < len(paths); i += 2 {
		quiet, near, dir := paths[i], paths[(i+1)%len(paths)], filepath.Join(t.TempDir(), "report")
		sayAll(t, "compare", quiet, near, "--up-to", "200Hz", "--out", dir)
		harmlessFolder(t, dir, 5)
	}
	for _, path := range paths[len(paths)-5:] {
		dir := filepath.Join(t.TempDir(), "trend")
		sayAll(t, "trend", path, "--up-to", "200Hz", "--out", dir)
		harmlessFolder(t, dir, 4)
	}
}

// What people write into a session stays text too, and the list of runs that it is
// kept in is read back as it was.
func TestHostileSession(t *testing.T) {
	kit.Unraced(t)
	paths := hostileFiles(t)
	var text strings.Builder
	quoted := func(s string) string { // what JSON escapes, TOML reads
		b := kit.Must(json.Marshal(s))(t)
		return string(b)
	}
	fmt.Fprintf(&text, "title = %s\n[bench]\nnotes = %s\nfull_scale = \"2V\"\n", quoted(hostile[0]), quoted(hostile[12]))
	for i, path := range paths {
		condition, exposure := "quiet", ""
		if i%2 == 1 {
			condition, exposure = "near", "=<svg onload=alert(1)>"
		}
		cable := quoted(hostile[len(hostile)-1-i/2%8])
		fmt.Fprintf(&text, "[[run]]\ncable = %s\ncondition = %q\nexposure = %q\nrepeat = %d\ntermination_ohms = 20\nnote = %s\nfile = %s\n",
			cable, condition, exposure, 1+i/16, cable, quoted(path))
	}
	kit.OK(t, os.WriteFile("session.toml", []byte(text.String()), 0o666))
	dir := filepath.Join(t.TempDir(), "report")
	sayAll(t, "batch", "session.toml")
	if out := sayAll(t, "batch", "session.toml", "--format", "markdown"); strings.Contains(strings.ReplaceAll(out, `\<`, ""), "<") {
		t.Errorf("markup in\n%s", out)
	}
	sayAll(t, "batch", "session.toml", "--out", dir)
	harmlessFolder(t, dir, 5)
	sayAll(t, "plan", "--cables", "=1+1,<script>alert(1)</script>,@x", "--exposures", "=wrapped", "--witness", "+old", "--out", "sitting")
	harmlessFolder(t, "sitting", 3)
}

// harmlessFolder fails where a file of a report acts; the report has so many at least.
func harmlessFolder(t *testing.T, dir string, least int) {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil || len(files) < least {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, f := range files {
		b := kit.Must(os.ReadFile(filepath.Join(dir, f.Name())))(t)
		switch filepath.Ext(f.Name()) {
		case ".svg":
			soundSVG(t, b)
		case ".html":
			for _, bad := range []string{"<img src=x", "<script>alert", "<svg onload", `="><`} {
				if bytes.Contains(b, []byte(bad)) {
					t.Errorf("%s: %s", f.Name(), bad)
				}
			}
		case ".csv":
			prints(t, f.Name(), string(b))
			formulas(t, string(b))
		case ".md":
			prints(t, f.Name(), string(b))
			kit.Lacks(t, f.Name(), strings.ReplaceAll(string(b), `\<`, ""), "<")
		case ".json":
			prints(t, f.Name(), string(b))
		}
	}
}

// soundSVG fails where a figure is not well formed, or holds what acts.
func soundSVG(t *testing.T, b []byte) {
	t.Helper()
	for d := xml.NewDecoder(bytes.NewReader(b)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Error(err)
			return
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if name := start.Name.Local; name == "script" || name == "img" || name == "image" || name == "foreignObject" {
			t.Errorf("an element %s", name)
		}
		for _, a := range start.Attr {
			if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") {
				t.Errorf("an attribute %s", a.Name.Local)
			}
		}
	}
}
