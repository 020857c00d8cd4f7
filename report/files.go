package report

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/model"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/text"
	"humdiff/report/wire"
)

// Names of the files that every report of a kind has, beside its figures.
var (
	CompareNames  = []string{"report.html", "compare.json", "lines.csv", "report.md"}
	SessionNames  = []string{"report.html", "report.md", "session.json", "runs.csv", "repeats.csv", "means.csv", "ranking.csv", "differences.csv", "claims.csv"}
	PassportNames = []string{"report.html", "report.md", "passport.json", "passport.csv", "budget.csv", "tones.csv"}
	TrendNames    = []string{"report.html", "report.md", "trend.json", "spans.csv", "steps.csv"}
)

// Files are all views of a result, as the files of its report: page, Markdown, numbers,
// tables, figures, and of a comparison that may be published also a card of each pair
// and caption.txt. Where there are several pairs, a name ends in -chN, N the channel of
// near, or in -pairN where that does not tell them apart. The same result gives the same
// bytes. A session's pages of single runs need their captures: SessionFiles has them.
func Files(r wire.Result) ([]publish.File, error) {
	numbers, caption := "", ""
	switch r := r.(type) {
	case *model.Compare:
		numbers, caption = "compare.json", doc.CaptionFile(*r)
	case *model.Trend:
		numbers = "trend.json"
	case *model.Session:
		return SessionFiles(r, nil, false)
	case *model.Passport:
		numbers = "passport.json"
	default:
		return nil, fmt.Errorf("report: a %T has no files", r)
	}
	d := doc.Told(r, doc.UnitFor(wire.SettingsOf(r)))
	html, err := page.HTML(d, Drawn(r))
	if err != nil {
		return nil, err
	}
	files := []publish.File{{Name: "report.html", Data: html}, {Name: "report.md", Data: []byte(text.Markdown(d))}, numbersOf(r, numbers)}
	if caption != "" {
		files = append(files, publish.File{Name: "caption.txt", Data: []byte(caption)})
	}
	return withFigures(files, r)
}

// Beside is a result as it stands in a folder: its files are named as they are seen
// from there, so that both can be moved together; one that can't be is named alone.
func Beside[R wire.Result](r R, folder string) (moved R, err error) {
	text, err := wire.Write(r)
	if err != nil {
		return r, err
	}
	from, err := filepath.Abs(folder)
	if err != nil {
		return r, err
	}
	seen := wire.Renamed(text, func(path string) string {
		at, err := filepath.Abs(path)
		if err == nil {
			at, err = filepath.Rel(from, at)
		}
		if err != nil {
			return doc.Base(path)
		}
		return filepath.ToSlash(at)
	})
	any, err := wire.Read(seen)
	if err != nil {
		return r, err
	}
	return any.(R), nil
}

// numbersOf is the file of a result's numbers, made when it is written: of many channels
// it is larger than all that it is made of.
func numbersOf(r wire.Result, name string) publish.File {
	return publish.File{Name: name, Make: func() ([]byte, error) { return wire.Write(r) }}
}

// withFigures adds a result's tables as CSV, its figures as SVG, and a card to publish in
// both its sizes as PNG too, which is what most places that show images take.
func withFigures(files []publish.File, r wire.Result) ([]publish.File, error) {
	for _, t := range wire.Tables(r) {
		files = append(files, publish.File{Name: t.Name + ".csv", Make: func() ([]byte, error) { return t.File(r), nil }})
	}
	all, err := Figures(r)
	for _, f := range all {
		if f.isCard() {
			square := f
			square.Name = "square-" + f.Name
			for _, form := range []string{"svg", "png"} {
				files = append(files, f.file(form, figure.Post), square.file(form, figure.SquarePost))
			}
			continue
		}
		files = append(files, publish.File{Name: f.Name + ".svg", Make: func() ([]byte, error) { return f.SVG(figure.Options{ID: f.Name}), nil }})
	}
	return files, err
}

// NamedFigure is a figure of a result, with the name of its file without an
// ending, and where its document has it.
type NamedFigure struct {
	Name string
	figure.Figure
	At doc.Figure
}

// isCard says that a figure is the card to publish, which no document has.
func (f NamedFigure) isCard() bool { return f.At == (doc.Figure{}) }

// file is a figure of a size as a file, drawn when it is written.
func (f NamedFigure) file(fileType string, size figure.Size) publish.File {
	return publish.File{Name: f.Name + "." + fileType, Make: func() ([]byte, error) {
		drawn, err := f.Draw(fileType, figure.Options{Size: size})
		return drawn.Data, err
	}}
}

// FileTypes are the forms that a figure is written in.
var FileTypes = []string{"svg", "png", "pdf"}

// Draw is a figure as a file of one of FileTypes. A PNG of more than one pixel to
// a CSS pixel says so at the end of its name, e.g. "spectrum@2x.png". Without a size a
// figure is as wide as a column of text, and a card as wide as one is shown.
func (f NamedFigure) Draw(fileType string, o figure.Options) (out publish.File, err error) {
	if o.Size == (figure.Size{}) {
		if o.Size = figure.Column; f.isCard() {
			o.Size = figure.Post
		}
	}
	if o.ID == "" {
		o.ID = f.Name
	}
	out.Name = f.Name + "." + fileType
	switch fileType {
	case "png":
		if o.Density > 1 {
			out.Name = fmt.Sprintf("%s@%dx.png", f.Name, o.Density)
		}
		out.Data, err = f.PNG(o)
	case "pdf":
		out.Data, err = f.PDF(o)
	case "svg":
		out.Data = f.SVG(o)
	default:
		err = fmt.Errorf("figures are written as %s, not as %q", strings.Join(FileTypes, ", "), fileType)
	}
	return out, err
}

// errNoFigures is why nothing is drawn of a result.
var errNoFigures = errors.New("figures are drawn from the results of compare, measure, trend and batch")

// Figures are all figures that a result gives, under the names they have in its
// report, each with the result's fingerprint.
func Figures(r wire.Result) ([]NamedFigure, error) {
	all, err := figuresOf(r)
	for i := range all {
		all[i].Figure = all[i].Marked(r.Top().Fingerprint)
	}
	return all, err
}

func figuresOf(r wire.Result) (all []NamedFigure, err error) {
	add := func(i int, ending string, figures ...figure.Figure) {
		for _, f := range figures {
			all = append(all, NamedFigure{f.Name + ending, f, doc.Figure{Name: f.Name, Index: i}})
		}
	}
	switch r := r.(type) {
	case *model.Compare:
		ends := endings(r.Pairs)
		for i, p := range r.Pairs {
			add(i, ends[i], figure.OfPair(r.Settings, p)...)
			if doc.HasCard(*r, p) {
				all = append(all, NamedFigure{Name: "card" + ends[i], Figure: figure.Card(*r, p)})
			}
		}
	case *model.Trend:
		for i, c := range r.Captures {
			if len(c.Steps) > 0 {
				add(i, ending(len(r.Captures), "-ch%d", c.Channel), figure.Trend(r.Settings, c))
			}
		}
	case *model.Measure:
		for i, c := range r.Captures {
			add(i, ending(len(r.Captures), "-%d", i+1), figure.Alone(r.Settings, c))
		}
	case *model.Passport:
		for i, c := range r.Cables {
			if len(c.Frequency) > 0 {
				add(i, ending(len(r.Cables), "-%d", i+1), figure.Coupling(*r, i))
			}
		}
	case *model.Session:
		return sessionFigures(r), nil
	default:
		return nil, errNoFigures
	}
	return all, nil
}

func ending(of int, format string, n int) string {
	if of == 1 {
		return ""
	}
	return fmt.Sprintf(format, n)
}

// Drawn draws a result's figures where its document has them.
func Drawn(r wire.Result) page.Draw {
	all, _ := Figures(r) // a result without any draws none
	return func(at doc.Figure) (figure.Figure, bool) {
		at.Group = ""
		i := slices.IndexFunc(all, func(f NamedFigure) bool { return f.At == at })
		if i < 0 {
			return figure.Figure{}, false
		}
		return all[i].Figure, true
	}
}

// endings tells the files of several pairs apart.
func endings(pairs []model.Pair) []string {
	out := make([]string, len(pairs))
	if len(pairs) == 1 {
		return out
	}
	seen := map[int]bool{}
	for i, p := range pairs {
		out[i] = fmt.Sprintf("-ch%d", p.Near.Channel)
		if seen[p.Near.Channel] {
			for j := range out {
				out[j] = fmt.Sprintf("-pair%d", j+1)
			}
			return out
		}
		seen[p.Near.Channel] = true
	}
	return out
}
