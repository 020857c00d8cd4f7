package publish

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"humdiff/fft/capture"
	"humdiff/fft/fault"
	"humdiff/report/model"
)

// Names in a bundle.
const (
	manifestName = "manifest.json"
	readmeName   = "CHECK.txt"
	reportDir    = "report"
	captureDir   = "captures"
)

// Packing says what is packed, and how.
type Packing struct {
	Version    string
	Captures   []string               // folders in which captures are looked for too
	HashesOnly bool                   // leave captures out
	IsReport   func(json []byte) bool // tells which JSON can be recomputed
}

// Pack writes the bundle of the report in the folder dir to w, and returns its
// manifest. What isn't the report's, notes and drawings say, is left out. The same
// report and captures give the same bytes. Errors are
// *fault.Error, among them a capture that isn't found or has changed.
func Pack(ctx context.Context, w io.Writer, dir string, o Packing) (model.Manifest, error) {
	names, err := filesOf(dir)
	if err != nil {
		return model.Manifest{}, err
	}
	p := packer{ctx: ctx, isReport: o.IsReport, zip: zip.NewWriter(w), taken: map[string]bool{},
		manifest: model.Manifest{Schema: model.BundleSchema, Tool: model.Tool{Version: o.Version},
			Reports: []string{}, Files: []model.Packed{}, NotPacked: []model.Unpacked{}}}
	named, err := p.reports(dir, names)
	if err != nil {
		return model.Manifest{}, err
	}
	if len(p.manifest.Reports) == 0 {
		return model.Manifest{}, &fault.Error{File: dir, What: "holds no report of humdiff", Hint: `name the folder that --out wrote, such as "hum-report"`}
	}
	if err := p.captures(filepath.Join(dir, "report.json"), named, o); err != nil {
		return model.Manifest{}, err
	}
	return p.manifest, p.finish()
}

// filesOf lists what may be a report's files, in order, with slashes: JSON, and what is
// on the list of what humdiff wrote. What was changed since is an error. Hidden files
// are left out.
func filesOf(dir string) (names []string, err error) {
	const hint = `name the folder that --out wrote, such as "hum-report"`
	st, err := os.Stat(dir)
	if err == nil && !st.IsDir() {
		return nil, &fault.Error{File: dir, What: "is a file, not a report's folder", Hint: hint}
	}
	if err == nil {
		err = fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case name != "." && strings.HasPrefix(d.Name(), ".") && d.IsDir():
				return fs.SkipDir
			case d.IsDir():
				own, err := reportsOwn(dir, name)
				names = append(names, own...)
				return err
			}
			return nil
		})
	}
	var known *fault.Error
	if err != nil && !errors.As(err, &known) {
		return nil, &fault.Error{File: dir, What: "cannot be read: " + Reason(err), Err: err, Hint: hint}
	}
	slices.Sort(names)
	return names, err
}

// reportsOwn are the files of one folder, without those below.
func reportsOwn(dir, in string) (names []string, err error) {
	t := target{dir: filepath.Join(dir, filepath.FromSlash(in))}
	t.at = t.dir
	entries, err := list(t.dir)
	if err != nil {
		return nil, err
	}
	if err := t.sort(entries); err != nil {
		return nil, err
	}
	for _, e := range entries {
		_, ours := t.ours[e.Name()]
		switch json := filepath.Ext(e.Name()) == ".json"; {
		case !e.Type().IsRegular() || strings.HasPrefix(e.Name(), ".") || e.Name() == ListName:
		case t.edited[e.Name()]:
			return nil, &fault.Error{File: filepath.Join(t.dir, e.Name()), What: "was changed since humdiff wrote it", Hint: "make the report anew"}
		case ours || json:
			names = append(names, path.Join(in, e.Name()))
		}
	}
	return names, nil
}

// packer fills one archive.
type packer struct {
	ctx      context.Context
	isReport func([]byte) bool
	zip      *zip.Writer
	taken    map[string]bool // names in the archive, in lower case
	manifest model.Manifest
}

// reports packs the report's files and gathers the captures that they name.
func (p *packer) reports(dir string, names []string) ([]Named, error) {
	var named []Named
	for _, name := range names {
		from := filepath.Join(dir, filepath.FromSlash(name))
		to := path.Join(reportDir, name)
		if path.Ext(name) == ".json" {
			data, err := ReadFile(from, LargestResult, "")
			if err != nil {
				return nil, err
			}
			if !p.isReport(data) {
				continue
			}
			p.manifest.Reports = append(p.manifest.Reports, to)
			named = append(named, namedIn(data)...)
		}
		if err := p.pack(from, to, "report", zip.Deflate, ""); err != nil {
			return nil, err
		}
	}
	return named, nil
}

// captures packs every capture once, or names those that are left out.
func (p *packer) captures(report string, named []Named, o Packing) error {
	finder, err := NewFinder(report, o.Captures...)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, n := range named {
		if seen[n.SHA256] {
			continue
		}
		seen[n.SHA256] = true
		if o.HashesOnly {
			p.manifest.NotPacked = append(p.manifest.NotPacked, model.Unpacked{File: n.File, SHA256: n.SHA256})
			continue
		}
		at, err := finder.Find(p.ctx, n)
		if err != nil {
			return err
		}
		if at.State != model.Found {
			return notThere(at)
		}
		role := "input"
		if capture.Named(n.File) {
			role = "capture"
		}
		if err := p.pack(at.At, p.free(n), role, zip.Store, n.SHA256); err != nil {
			return err
		}
	}
	return nil
}

func notThere(c model.VerifiedCapture) error {
	hint := "give --captures DIR to look there, or --hashes-only to leave them out"
	if c.State == model.Changed {
		return &fault.Error{File: c.At, What: "is not the file that the report was made from: its content has changed", Hint: hint}
	}
	return &fault.Error{File: c.File, What: "was not found, neither by its name nor by its content", Hint: hint}
}

// free is a capture's name in the archive: its own, unless another has it.
func (p *packer) free(n Named) string {
	base := n.File[strings.LastIndexAny(n.File, `/\`)+1:]
	name := path.Join(captureDir, base)
	if p.taken[fold(name)] || !filepath.IsLocal(base) {
		name = path.Join(captureDir, n.SHA256[:12]+"-"+path.Base(base))
	}
	return name
}

// pack puts a file into the archive and the manifest. Where a hash is wanted, a
// file that has changed since it was found is refused.
func (p *packer) pack(from, to, role string, method uint16, want string) error {
	file, _, err := openRegular(from)
	if err != nil {
		return err
	}
	defer file.Close()
	w, err := p.create(to, method)
	if err != nil {
		return err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(w, sum), reader{p.ctx, file})
	if err != nil {
		var known *fault.Error
		if errors.As(err, &known) || p.ctx.Err() != nil {
			return err
		}
		return unreadable(from, err)
	}
	hash := hex.EncodeToString(sum.Sum(nil))
	if want != "" && hash != want {
		return &fault.Error{File: from, What: "changed while it was packed", Hint: "is it still being written?"}
	}
	p.manifest.Files = append(p.manifest.Files, model.Packed{Path: to, Bytes: n, SHA256: hash, Role: role})
	return nil
}

// reader stops once its context is done.
type reader struct {
	ctx context.Context
	r   io.Reader
}

func (r reader) Read(b []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.r.Read(b)
}

// epoch is the time that all files of an archive bear: it says nothing, so that
// the same content gives the same bytes. Archives know none before 1980.
var epoch = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

func (p *packer) create(name string, method uint16) (io.Writer, error) {
	p.taken[fold(name)] = true
	return p.zip.CreateHeader(packedAs(name, method))
}

// packedAs heads a file of an archive.
func packedAs(name string, method uint16) *zip.FileHeader {
	return &zip.FileHeader{Name: name, Method: method, Modified: epoch}
}

func (p *packer) finish() error {
	text, err := p.create(readmeName, zip.Deflate)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(text, readme(p.manifest)); err != nil {
		return err
	}
	w, err := p.create(manifestName, zip.Deflate)
	if err != nil {
		return err
	}
	data, err := canonical(p.manifest)
	if err != nil {
		return err
	}
	if _, err := w.Write(data); err != nil {
		return err
	}
	return p.zip.Close()
}

// readme tells a reader who has only the archive what to do with it.
func readme(m model.Manifest) string {
	var b strings.Builder
	fmt.Fprintf(&b, "A report of mains hum in audio captures, made by humdiff %s, with what it was made from.\n\n", m.Tool.Version)
	b.WriteString("report/report.html is the report: open it in a browser.\n")
	if len(m.NotPacked) > 0 {
		b.WriteString("The captures are not here: manifest.json names them by their SHA-256. Ask the author for them.\n")
		b.WriteString("To recompute every number:  humdiff verify \"THIS FILE.zip\" --captures \"FOLDER OF THE CAPTURES\"\n")
	} else {
		b.WriteString("captures holds what was recorded.\nTo recompute every number:  humdiff verify \"THIS FILE.zip\"\n")
	}
	b.WriteString("\nSHA-256 of each file:\n")
	for _, f := range m.Files {
		fmt.Fprintf(&b, "%s  %s\n", f.SHA256, f.Path)
	}
	return b.String()
}
