// Package verify recomputes a report from its captures and says number by
// number whether it stands. It reads what compare and measure print as JSON,
// finds the captures by their hashes, measures them again with transforms that
// share no code with those that measured first, and compares every value. It
// assumes nothing about where the report came from: it may have been edited,
// and so may the captures.
package verify

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/audibility"
	"humdiff/report/gather"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
)

// Engine names the transforms that recompute.
const Engine = "go-dsp"

// schemas are what can be recomputed.
var schemas = []string{result.CompareSchema, result.MeasureSchema, result.SessionSchema, result.TrendSchema}

// Report recomputes the report in the file path. Captures are looked for under
// their names, beside the report, and in the folders captures. A report that can't be read, or isn't one, is a *fault.Error; a
// capture that isn't found is part of the answer.
func Report(ctx context.Context, version, path string, captures []string, progress func(done, total int64)) (result.Verification, error) {
	finder, err := publish.NewFinder(path, captures...)
	if err != nil {
		return result.Verification{}, err
	}
	data, err := read(path)
	if err != nil {
		return result.Verification{}, err
	}
	v := verifier{
		Finder: finder, ledger: newLedger(), progress: progress,
		out: result.Verification{Schema: result.VerifySchema, Tool: result.Tool{Version: version}, Engine: Engine,
			Report: result.VerifiedReport{File: path, SHA256: hashOf(data)}},
	}
	if err := v.verify(ctx, path, data); err != nil {
		return result.Verification{}, err
	}
	return v.conclude(), nil
}

func read(path string) ([]byte, error) {
	return publish.ReadFile(path, publish.LargestResult, reportHint)
}

// Reports are the reports that a path names: the file itself, or every report
// in the folder, deep down.
func Reports(path string) ([]string, error) {
	st, err := os.Stat(path)
	if err != nil || !st.IsDir() {
		return []string{path}, nil
	}
	var all []string
	err = filepath.WalkDir(path, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.Type().IsRegular() && filepath.Ext(name) == ".json" {
			if data, err := read(name); err == nil && Recomputable(data) {
				all = append(all, name)
			}
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

// Recomputable says that JSON is a report that Report recomputes, in this version
// or another.
func Recomputable(data []byte) bool {
	var head struct{ Schema string }
	if json.Unmarshal(data, &head) != nil {
		return false
	}
	for _, s := range schemas {
		if kind := s[:strings.LastIndex(s, "/")+1]; strings.HasPrefix(head.Schema, kind) {
			return true
		}
	}
	return false
}

const reportHint = `name a report: its folder, its JSON file such as "hum-report/compare.json", or a bundle`

func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// verifier is one verification under way.
type verifier struct {
	*publish.Finder
	*ledger
	out      result.Verification
	progress func(done, total int64)
	whole    func(run int) (result.Capture, error) // a session's run measured as the report's pages show it
}

// verify reads the report's schema and recomputes what it holds.
func (v *verifier) verify(ctx context.Context, path string, data []byte) error {
	tree, err := decode(data)
	if err != nil {
		return &fault.Error{File: path, What: "is not JSON: " + err.Error(), Hint: reportHint}
	}
	var head struct {
		Schema string
		Tool   result.Tool
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return &fault.Error{File: path, What: "is no report of humdiff", Hint: reportHint}
	}
	v.out.Report.Schema, v.out.Report.Version = head.Schema, head.Tool.Version
	switch head.Schema {
	case result.CompareSchema:
		var r result.Compare
		if err := json.Unmarshal(data, &r); err != nil {
			return damaged(path, err)
		}
		if err := v.compares(ctx, r, tree); err != nil {
			return err
		}
		files, err := drawn(path, func() ([]publish.File, error) { return gather.Compare(r) })
		return errors.Join(err, v.beside(path, files))
	case result.MeasureSchema:
		var r result.Measure
		if err := json.Unmarshal(data, &r); err != nil {
			return damaged(path, err)
		}
		return v.measures(ctx, r, tree)
	case result.SessionSchema:
		var r result.Session
		if err := json.Unmarshal(data, &r); err != nil {
			return damaged(path, err)
		}
		if err := v.session(ctx, r, tree); err != nil {
			return err
		}
		files, err := drawn(path, func() ([]publish.File, error) { return gather.Session(r, v.whole) })
		return errors.Join(err, v.beside(path, files))
	case result.TrendSchema:
		var r result.Trend
		if err := json.Unmarshal(data, &r); err != nil {
			return damaged(path, err)
		}
		// The report doesn't say in which unit its table was wanted.
		var made [][]publish.File
		for _, u := range table.UnitsOf(r.Settings) {
			files, err := drawn(path, func() ([]publish.File, error) { return gather.Trend(r, u) })
			if err != nil {
				return err
			}
			made = append(made, files)
		}
		if err := v.trends(ctx, r, tree); err != nil {
			return err
		}
		return v.beside(path, made...)
	}
	return unknownSchema(path, head.Schema)
}

// drawn makes a report's files. Views take a result as humdiff makes it; an edited
// one may contradict itself, and must not end the program.
func drawn(path string, files func() ([]publish.File, error)) (made []publish.File, err error) {
	defer func() {
		if recover() != nil {
			made, err = nil, damaged(path, errors.New("its values contradict each other"))
		}
	}()
	return files()
}

// decode keeps numbers as they are written.
func decode(data []byte) (map[string]any, error) {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var tree map[string]any
	if err := d.Decode(&tree); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("something follows the object")
	}
	return tree, nil
}

func damaged(path string, err error) error {
	return &fault.Error{File: path, What: "its schema is humdiff's, but not its content: " + err.Error(), Hint: "was it edited?"}
}

func unknownSchema(path, schema string) error {
	switch {
	case schema == "":
		return &fault.Error{File: path, What: "is no report of humdiff", Hint: reportHint}
	case strings.HasPrefix(schema, "humdiff/"):
		return &fault.Error{File: path, What: fmt.Sprintf("its schema is %s, which this version can't recompute", schema),
			Hint: fmt.Sprintf("this version recomputes %s; a newer one may do more", strings.Join(schemas, ", "))}
	}
	return &fault.Error{File: path, What: fmt.Sprintf("is no report of humdiff: its schema is %q", schema), Hint: reportHint}
}

// compares recomputes pair by pair, so that one missing capture costs its own
// pairs alone.
func (v *verifier) compares(ctx context.Context, r result.Compare, tree map[string]any) error {
	opt, err := v.prepared(ctx, r.Settings, tree)
	if err != nil {
		return err
	}
	parts := list(tree["pairs"])
	var pairs []assemble.Pair
	whole := true
	for i, p := range r.Pairs {
		quiet, okQ, err := v.address(ctx, p.Quiet)
		if err != nil {
			return err
		}
		near, okN, err := v.address(ctx, p.Near)
		if err != nil {
			return err
		}
		okR := true
		var residual capture.Address
		if p.Residual != nil {
			if residual, okR, err = v.address(ctx, p.Residual.Side); err != nil {
				return err
			}
		}
		if !okQ || !okN || !okR {
			v.out.LeftOut += leftOut(parts[i])
			whole = false
			continue
		}
		again, err := assemble.ReadPair(ctx, quiet, near, opt)
		if err != nil {
			return err
		}
		if p.Residual != nil {
			if err := assemble.ReadResidual(ctx, residual, again, opt); err != nil {
				return err
			}
		}
		pairs = append(pairs, again...)
		remade := assemble.Compare("", r.Settings, again)
		if p.Audibility != nil {
			audibility.Judge(&remade, &p.Audibility.Playback)
		}
		if err := v.part(fmt.Sprintf("pairs[%d]", i), parts[i], remade.Pairs[0]); err != nil {
			return err
		}
	}
	if whole {
		return v.warnings(tree, assemble.Compare("", r.Settings, pairs).Warnings)
	}
	return nil
}

func (v *verifier) measures(ctx context.Context, r result.Measure, tree map[string]any) error {
	opt, err := v.prepared(ctx, r.Settings, tree)
	if err != nil {
		return err
	}
	var channels []assemble.Channel
	return v.each(ctx, sides(r.Captures, func(c result.Capture) result.Side { return c.Side }), tree, func(_ int, addr capture.Address) (any, error) {
		again, err := assemble.Read(ctx, []capture.Address{addr}, opt)
		if err != nil {
			return nil, err
		}
		channels = append(channels, again...)
		return assemble.Measure("", r.Settings, again).Captures[0], nil
	}, func() []result.Warning { return assemble.Measure("", r.Settings, channels).Warnings })
}

func (v *verifier) trends(ctx context.Context, r result.Trend, tree map[string]any) error {
	opt, err := v.prepared(ctx, r.Settings, tree)
	if err != nil {
		return err
	}
	var all []assemble.Followed
	return v.each(ctx, sides(r.Captures, func(c result.TrendCapture) result.Side { return c.Side }), tree, func(i int, addr capture.Address) (any, error) {
		again, err := assemble.Follow(ctx, addr, opt, r.Captures[i].Harmonics)
		if err != nil {
			return nil, err
		}
		all = append(all, again...)
		return assemble.Trend("", r.Settings, again, r.Captures[i].Harmonics).Captures[0], nil
	}, func() []result.Warning { return assemble.Trend("", r.Settings, all, nil).Warnings })
}

func sides[T any](captures []T, side func(T) result.Side) (all []result.Side) {
	for _, c := range captures {
		all = append(all, side(c))
	}
	return all
}

// each remakes captures that stand by themselves, one by one, and the warnings
// where all were found.
func (v *verifier) each(ctx context.Context, of []result.Side, tree map[string]any, remake func(i int, addr capture.Address) (any, error), warnings func() []result.Warning) error {
	parts := list(tree["captures"])
	whole := true
	for i, side := range of {
		addr, ok, err := v.address(ctx, side)
		if err != nil {
			return err
		}
		if !ok {
			v.out.LeftOut += leftOut(parts[i])
			whole = false
			continue
		}
		remade, err := remake(i, addr)
		if err != nil {
			return err
		}
		if err := v.part(fmt.Sprintf("captures[%d]", i), parts[i], remade); err != nil {
			return err
		}
	}
	if !whole {
		return nil
	}
	return v.warnings(tree, warnings())
}

// prepared are a report's settings for measuring again, its scales verified.
func (v *verifier) prepared(ctx context.Context, s result.Settings, tree map[string]any) (mains.Options, error) {
	opt, err := v.options(s)
	if err != nil {
		return opt, err
	}
	return opt, v.scales(ctx, s, tree, opt)
}

// options are the settings a report was made with, and the other engine.
func (v *verifier) options(s result.Settings) (mains.Options, error) {
	opt, err := assemble.Options(s)
	if err != nil {
		return opt, &fault.Error{File: v.out.Report.File, What: err.Error(), Hint: "was it edited, or made by a newer version?"}
	}
	opt.Engine, opt.Progress = fft.NewReferenceEngine, v.progress
	return opt, nil
}

// address is where a side's samples lie now; ok says that they were found.
func (v *verifier) address(ctx context.Context, s result.Side) (addr capture.Address, ok bool, err error) {
	c, err := v.Find(ctx, publish.Named{File: s.File, SHA256: s.SHA256})
	if err != nil {
		return addr, false, err
	}
	if !slices.Contains(v.out.Captures, c) {
		v.out.Captures = append(v.out.Captures, c)
	}
	return capture.Address{Path: c.At, Channel: s.Channel, Start: s.StartS, End: s.EndS}, c.State == result.Found, nil
}

// part compares one pair or capture with what was recomputed of it.
func (v *verifier) part(where string, reported, remade any) error {
	data, err := json.Marshal(remade)
	if err != nil {
		return err
	}
	again, err := decode(data)
	if err != nil {
		return err
	}
	v.compare(where, "", reported, map[string]any(again))
	return nil
}

// notOfOne are warnings that a file's channels bring about together: a channel
// recomputed alone doesn't have them.
var notOfOne = []string{"left_out"}

// warnings compares by code, file and channel, in any order; words may have
// been improved since.
func (v *verifier) warnings(tree map[string]any, again []result.Warning) error {
	count := map[string]int{}
	for _, w := range list(tree["warnings"]) {
		m, _ := w.(map[string]any)
		code, _ := m["code"].(string)
		if !slices.Contains(notOfOne, code) {
			count[fmt.Sprintf("%s, channel %v", code, m["channel"])]++
			v.compared++
		}
	}
	for _, w := range again {
		if !slices.Contains(notOfOne, w.Code) {
			count[fmt.Sprintf("%s, channel %d", w.Code, w.Channel)]--
		}
	}
	for _, code := range slices.Sorted(maps.Keys(count)) {
		switch n := count[code]; {
		case n > 0:
			v.differs("warnings: "+code, exactly, "warned", "no such warning")
		case n < 0:
			v.differs("warnings: "+code, exactly, "no such warning", "warned")
		}
	}
	return nil
}

func list(v any) []any {
	l, _ := v.([]any)
	return l
}

// edited says that a file beside the report isn't what its numbers make.
func edited(f result.VerifiedFile) bool { return f.State == result.Differs }

// conclude says whether the report stands.
func (v *verifier) conclude() result.Verification {
	out := v.out
	out.Compared, out.Differences = v.compared, v.differ
	if out.Differences == nil {
		out.Differences = []result.Difference{}
	}
	if out.Files == nil {
		out.Files = []result.VerifiedFile{}
	}
	if out.Captures == nil {
		out.Captures = []result.VerifiedCapture{}
	}
	out.Worst = []result.VerifiedKind{}
	for _, k := range []kind{inDB, inHz, asRatio} {
		if w := v.worst[k.name]; w != nil {
			out.Worst = append(out.Worst, *w)
		}
	}
	out.NotCompared = slices.AppendSeq([]string{}, maps.Keys(v.unmade))
	slices.Sort(out.NotCompared)
	switch {
	case len(out.Differences) > 0 || slices.ContainsFunc(out.Files, edited):
		out.Verdict = result.Differs
	case out.LeftOut > 0 || len(out.NotCompared) > 0 || out.Compared == 0:
		out.Verdict = result.Incomplete
	default:
		out.Verdict = result.Stands
	}
	return out
}
