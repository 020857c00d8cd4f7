package report

import (
	"fmt"

	"humdiff/report/doc"
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/text"
	"humdiff/report/wire"
)

// SessionFiles are all views of a judged session: report.html, report.md,
// session.json, a CSV file of each table, its figures, and run-N.html for runs that
// have something to say, or with pages for every run that was measured. A near
// run's page is also that of the quiet run it is compared with. Those pages are made
// as they are written: run gives a run's whole measurement, with its spectrum; nil:
// there are no pages.
func SessionFiles(s *model.Session, run func(number int) (model.Capture, error), pages bool) ([]publish.File, error) {
	numbers, err := wire.Write(s)
	if err != nil {
		return nil, err
	}
	var of map[int]runPage
	if run != nil {
		of = runPages(s, pages)
	}
	link := func(number int) string { return of[number].name }
	d := doc.Session(*s, link)
	html, err := page.HTML(d, Drawn(s))
	if err != nil {
		return nil, err
	}
	files := []publish.File{
		{Name: "report.html", Data: html},
		{Name: "report.md", Data: []byte(text.Markdown(d))},
		{Name: "session.json", Data: numbers},
	}
	if files, err = withFigures(files, s); err != nil {
		return nil, err
	}
	return append(files, pageFiles(s, run, of)...), nil
}

// runPage is a run's page: which near run is on it, and which quiet one that is
// compared with; none where the run is on it alone.
type runPage struct {
	name        string
	quiet, near int
}

// runPages are the pages on which runs' own figures are: a near run's own, and for a
// quiet run the first that it is compared with.
func runPages(s *model.Session, every bool) map[int]runPage {
	wanted := runsToShow(s)
	out := map[int]runPage{}
	take := func(number int, p runPage) {
		if _, seen := out[number]; !seen {
			out[number] = p
		}
	}
	for _, c := range s.Cells {
		for _, r := range c.Repeats {
			if every || wanted[r.Run] {
				p := runPage{fmt.Sprintf("run-%d.html", r.Run), r.Against[0], r.Run}
				take(r.Run, p)
				take(p.quiet, p)
			}
		}
	}
	for _, r := range s.Runs {
		if r.Capture != nil && (every || wanted[r.Number]) {
			take(r.Number, runPage{name: fmt.Sprintf("run-%d.html", r.Number)})
		}
	}
	return out
}

// runsToShow are the runs that have something to say by themselves: those that a
// warning names that keeps a result from being published, or that are not used though
// nobody left them out.
func runsToShow(s *model.Session) map[int]bool {
	out := map[int]bool{}
	for _, r := range s.Runs {
		if r.Capture == nil {
			continue
		}
		if !r.Used && r.LeftOut == "" {
			out[r.Number] = true
		}
		for _, w := range s.Warnings {
			if w.File == r.Capture.File && (w.Channel == 0 || w.Channel == r.Capture.Channel) && doc.IsGrave(w.Code) {
				out[r.Number] = true
			}
		}
	}
	return out
}

func pageFiles(s *model.Session, run func(int) (model.Capture, error), of map[int]runPage) []publish.File {
	var files []publish.File
	for _, r := range s.Runs {
		switch p := of[r.Number]; {
		case p.name == "" || p.near != 0 && p.near != r.Number:
		case p.near == r.Number:
			files = append(files, publish.File{Name: p.name, Make: func() ([]byte, error) { return pairPage(s, p, run) }})
		default:
			files = append(files, publish.File{Name: p.name, Make: func() ([]byte, error) { return alonePage(s, r, run) }})
		}
	}
	return files
}

func pairPage(s *model.Session, p runPage, run func(int) (model.Capture, error)) ([]byte, error) {
	quiet, err := run(p.quiet)
	if err != nil {
		return nil, err
	}
	near, err := run(p.near)
	if err != nil {
		return nil, err
	}
	c := model.Compare{Head: model.Head{Schema: model.CompareSchema, Tool: s.Tool}, Settings: s.Settings, Pairs: []model.Pair{judge.Pair(s.Settings, quiet, near)}}
	return page.HTML(doc.Compare(c, doc.UnitFor(c.Settings)), Drawn(&c))
}

func alonePage(s *model.Session, r model.Run, run func(int) (model.Capture, error)) ([]byte, error) {
	c, err := run(r.Number)
	if err != nil {
		return nil, err
	}
	m := model.Measure{Head: model.Head{Schema: model.MeasureSchema, Tool: s.Tool}, Settings: s.Settings, Captures: []model.Capture{c}}
	d := doc.Measure(m, doc.InDBFS)
	d.Lead = doc.RunIs(r)
	return page.HTML(d, Drawn(&m))
}
