// Package verify takes a report, its folder or a bundle, and says whether it
// stands: it makes everything again and compares. The captures are found by their
// content and measured by transforms that share no code with those that measured
// first; what was judged is judged again; every file beside the report is made
// again from the result as reported, and compared to the byte. It assumes nothing
// about where a report came from, and writes nothing.
package verify

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// Engine names the transforms that measure again.
const Engine = "go-dsp"

const reportHint = `name a report: its folder, its JSON file such as "hum-report/compare.json", or a bundle`

// longest is the size of a result, in bytes, that is looked at value by value, judged and
// drawn again though nothing, such as its captures, says that one so long can be honest.
const longest = 16 << 20

// remade are the results that can be made again, in any version.
var remade = []string{model.CompareSchema, model.MeasureSchema, model.SessionSchema, model.TrendSchema, model.PassportSchema}

// Path verifies what a path names: a report's JSON, every report in a folder, or a
// bundle. Captures are looked for under their names, beside the report, and in
// the folders captures. What can't be read, or is no report, is a *fault.Error; a
// capture that isn't found is part of the answer.
func Path(ctx context.Context, version, path string, captures []string, progress func(done, total int64)) ([]model.Verification, error) {
	if publish.IsBundle(path) {
		return bundle(ctx, version, path, captures, progress)
	}
	reports, err := Reports(path)
	if err != nil {
		return nil, err
	}
	var all []model.Verification
	for _, name := range reports {
		v, err := Report(ctx, version, name, captures, progress)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}

// Reports are the reports that a path names: the file itself, or every report in
// the folder, deep down.
func Reports(path string) ([]string, error) {
	st, err := os.Stat(path)
	if err != nil || !st.IsDir() {
		return []string{path}, nil
	}
	var all []string
	err = filepath.WalkDir(path, func(name string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() || filepath.Ext(name) != ".json" {
			return err
		}
		if data, err := read(name); err == nil && Remakes(data) {
			all = append(all, name)
		}
		return nil
	})
	if err != nil {
		return nil, &fault.Error{File: path, What: "cannot be read: " + publish.Reason(err), Err: err}
	}
	if len(all) == 0 {
		return nil, &fault.Error{File: path, What: "holds no report", Hint: reportHint}
	}
	return all, nil
}

// Remakes says that JSON is a result that Report makes again, in this version or
// another.
func Remakes(data []byte) bool {
	var head struct{ Schema string }
	return json.Unmarshal(data, &head) == nil && slices.ContainsFunc(remade, func(s string) bool { return kind(s) == kind(head.Schema) })
}

// kind is a schema without its number.
func kind(schema string) string { return schema[:strings.LastIndex(schema, "/")+1] }

func read(path string) ([]byte, error) {
	return publish.ReadFile(path, publish.LargestResult, reportHint)
}

// verifier is one verification under way.
type verifier struct {
	*publish.Finder
	*ledger
	path     string
	out      model.Verification
	places   map[string]string // where files were found, to their names in the report
	tooLong  bool              // the report, for what its captures make or for what was edited
	progress func(done, total int64)
}

// Report verifies the report in a JSON file.
func Report(ctx context.Context, version, path string, captures []string, progress func(done, total int64)) (model.Verification, error) {
	finder, err := publish.NewFinder(path, captures...)
	if err != nil {
		return model.Verification{}, err
	}
	data, err := read(path)
	if err != nil {
		return model.Verification{}, err
	}
	sum := sha256.Sum256(data)
	v := &verifier{Finder: finder, ledger: newLedger(), path: path, places: map[string]string{}, progress: progress, out: model.Verification{
		Head: model.Head{Schema: model.VerifySchema, Tool: model.Tool{Version: version}}, Engine: Engine,
		Report: model.VerifiedReport{File: path, SHA256: hex.EncodeToString(sum[:])},
	}}
	if err := v.guarded(ctx, data); err != nil {
		return model.Verification{}, err
	}
	return v.out, nil
}

// guarded verifies what may have been edited so that it contradicts itself: whatever
// comes of that must not end the program.
func (v *verifier) guarded(ctx context.Context, data []byte) (err error) {
	defer func() {
		if recover() != nil {
			err = v.damaged(errors.New("its values contradict each other"))
		}
	}()
	return v.verify(ctx, data)
}

// verify makes the report again and compares.
func (v *verifier) verify(ctx context.Context, data []byte) error {
	var head model.Head
	if err := json.Unmarshal(data, &struct {
		Schema *string
		Tool   *model.Tool
	}{&head.Schema, &head.Tool}); err != nil {
		return &fault.Error{File: v.path, What: "is not JSON: " + err.Error(), Hint: reportHint}
	}
	v.out.Report.Schema, v.out.Report.Version = head.Schema, head.Tool.Version
	switch {
	case !Remakes(data):
		return &fault.Error{File: v.path, What: "is no report that can be made again", Hint: reportHint}
	case !slices.Contains(remade, head.Schema):
		v.out.Verdict = model.Older
		return nil
	}
	r, err := wire.Read(data)
	if err != nil {
		return v.damaged(err)
	}
	if err := v.asWritten(data, r); err != nil {
		return err
	}
	if !v.tooLong {
		if err := v.again(ctx, r); err != nil {
			return err
		}
	}
	if v.tooLong || v.out.LeftOut > 0 && len(data) > longest {
		v.unmade["what is judged and drawn"] = true
		v.conclude()
		return nil
	}
	if err := v.judged(r); err != nil {
		return err
	}
	files, err := v.files(ctx, r)
	if err != nil {
		return err
	}
	if err := v.beside(files); err != nil {
		return err
	}
	v.out.Report.Fingerprint, v.out.Report.Headline = r.Top().Fingerprint, doc.Told(r, doc.UnitFor(wire.SettingsOf(r))).Title
	v.conclude()
	return nil
}

func (v *verifier) damaged(err error) error {
	return &fault.Error{File: v.path, What: "its schema is humdiff's, but not its content: " + err.Error(), Hint: "was it edited?"}
}

// sentences are keys that hold what package doc makes of codes: another version may
// say it otherwise.
var sentences = []string{"message", "why", "caption"}

// asWritten compares the text with what humdiff writes of what was read from it, so
// that no key is missing, added or spelt otherwise, and nothing restated
// was changed; and the fingerprint with the result's.
func (v *verifier) asWritten(data []byte, r wire.Result) error {
	canonical, err := wire.Write(r)
	if err != nil {
		return err
	}
	if slices.Equal(canonical, data) {
		v.compared++
	} else if err := v.unlike(data, canonical); err != nil {
		return err
	}
	if v.out.Report.Version != v.out.Tool.Version {
		v.unmade["sentences"] = true
	}
	mark, err := wire.Fingerprint(r)
	if err != nil {
		return v.damaged(err)
	}
	v.same("fingerprint", r.Top().Fingerprint, mark)
	return nil
}

// unlike names where the text departs from what humdiff writes.
func (v *verifier) unlike(data, canonical []byte) error {
	if max(len(data), len(canonical)) > longest {
		v.differs("", exactly, publish.SizeSaid(int64(len(data)))+" of text", publish.SizeSaid(int64(len(canonical)))+" as humdiff writes it")
		v.tooLong = true
		return nil
	}
	said, err := written(data)
	if err != nil {
		return v.damaged(err)
	}
	want, err := written(canonical)
	if err != nil {
		return err
	}
	ours := v.out.Report.Version == v.out.Tool.Version
	strict := &ledger{skip: func(key string) bool { return !ours && slices.Contains(sentences, key) }, strict: true, worst: map[string]*model.VerifiedKind{}}
	strict.compare("", said, want)
	if len(strict.differ) == 0 && ours {
		strict.differs("", exactly, "the text was written anew", "as humdiff writes it")
	}
	v.differ = append(v.differ, strict.differ...)
	return nil
}

// address is where a side's samples lie now; ok says that they were found. A
// channel that wasn't asked for is measured with all others.
func (v *verifier) address(ctx context.Context, s model.Side) (addr capture.Address, ok bool, err error) {
	at, ok, err := v.find(ctx, s.File, s.SHA256)
	addr = capture.Address{Path: at, Start: s.StartS, End: s.EndS}
	if s.Named {
		addr.Channel = s.Channel
	}
	return addr, ok, err
}

// find is where a file lies now.
func (v *verifier) find(ctx context.Context, file, hash string) (at string, ok bool, err error) {
	c, err := v.Find(ctx, publish.Named{File: file, SHA256: hash})
	if err != nil {
		return "", false, err
	}
	found := model.VerifiedCapture{File: c.File, SHA256: c.SHA256, State: c.State, At: c.At}
	if !slices.Contains(v.out.Captures, found) {
		v.out.Captures = append(v.out.Captures, found)
	}
	if c.State == model.Found {
		v.places[c.At] = file
	}
	return c.At, c.State == model.Found, nil
}

// request measures again as a result's settings say it was measured.
func (v *verifier) request(set model.Settings) (report.Request, error) {
	r, err := report.Again(set)
	if err != nil {
		return r, v.damaged(err)
	}
	r.Version, r.Engine, r.Progress = v.out.Report.Version, fft.NewReferenceEngine, v.progress
	return r, nil
}

// conclude says whether the report stands.
func (v *verifier) conclude() {
	out := &v.out
	out.Compared, out.Differences = v.compared, v.differ
	for _, k := range []quantity{inDB, asRatio, said} {
		if w := v.worst[k.name]; w != nil {
			out.Worst = append(out.Worst, *w)
		}
	}
	out.NotCompared = slices.Sorted(maps.Keys(v.unmade))
	has := func(states ...string) bool {
		return slices.ContainsFunc(out.Files, func(f model.VerifiedFile) bool { return slices.Contains(states, f.State) })
	}
	switch {
	case len(out.Differences) > 0 || has(model.Differs, model.Missing, model.Foreign):
		out.Verdict = model.Differs
	case out.LeftOut > 0 || len(out.NotCompared) > 0 || out.Compared == 0 || has(model.NotCompared, model.OtherVersion):
		out.Verdict = model.Incomplete
	default:
		out.Verdict = model.Stands
	}
}

// forged is the error of a bundle that contradicts itself.
func forged(file, format string, args ...any) error {
	return &fault.Error{File: file, What: fmt.Sprintf(format, args...), Hint: "it was damaged or edited: ask for it anew"}
}
