package gather

import (
	"fmt"

	"humdiff/report/assemble"
	"humdiff/report/figure"
	"humdiff/report/page"
	"humdiff/report/publish"
	"humdiff/report/result"
	"humdiff/report/table"
)

// Session is the report of a judged session: report.html, report.md,
// session.json, a CSV file of each table, its figures, and run-N.html for each run
// that was measured: a near run's page is also that of the quiet run it is held
// against. Those pages are made as they are written: capture gives a run's whole
// measurement, with its spectrum.
func Session(s result.Session, capture func(run int) (result.Capture, error)) ([]publish.File, error) {
	numbers, err := JSON(s)
	if err != nil {
		return nil, err
	}
	pages := runPages(s)
	link := func(run int) string { return pages[run].name }
	html, err := page.Session(s, link)
	if err != nil {
		return nil, err
	}
	files := []publish.File{
		{Name: "report.html", Data: html},
		{Name: "report.md", Data: []byte(page.SessionMarkdown(s, link))},
		{Name: "session.json", Data: numbers},
	}
	for _, t := range []struct {
		name string
		table.Table
	}{
		{"runs", table.SessionRuns(s)}, {"repeats", table.SessionRepeats(s)}, {"means", table.SessionCells(s)},
		{"ranking", table.SessionPlaces(s)}, {"differences", table.SessionPairs(s)}, {"claims", table.SessionClaims(s)},
	} {
		files = append(files, publish.File{Name: t.name + ".csv", Data: []byte(t.CSV())})
	}
	for _, f := range page.SessionFigures(s) {
		files = append(files, publish.File{Name: f.Name + ".svg", Data: f.SVG(figure.Options{ID: f.Name})})
	}
	for _, r := range s.Runs {
		switch p := pages[r.Number]; {
		case p.near == r.Number:
			files = append(files, publish.File{Name: p.name, Make: func() ([]byte, error) { return runPage(s, p, capture) }})
		case p.near == 0 && p.name != "":
			files = append(files, publish.File{Name: p.name, Make: func() ([]byte, error) { return alonePage(s, r, capture) }})
		}
	}
	return files, nil
}

// pair is a run's page: which near run is on it, and against which quiet one;
// none where the run is on it alone.
type pair struct {
	name        string
	quiet, near int
}

// runPages are the pages on which runs' own figures are: a near run's own, and for
// a quiet run the first that it is held against.
func runPages(s result.Session) map[int]pair {
	out := map[int]pair{}
	for _, c := range s.Cells {
		for _, r := range c.Repeats {
			if _, seen := out[r.Run]; seen {
				continue
			}
			p := pair{fmt.Sprintf("run-%d.html", r.Run), r.Against[0], r.Run}
			out[r.Run] = p
			if _, seen := out[p.quiet]; !seen {
				out[p.quiet] = p
			}
		}
	}
	for _, r := range s.Runs {
		if _, seen := out[r.Number]; !seen && r.Capture != nil {
			out[r.Number] = pair{name: fmt.Sprintf("run-%d.html", r.Number)}
		}
	}
	return out
}

func alonePage(s result.Session, r result.SessionRun, capture func(int) (result.Capture, error)) ([]byte, error) {
	c, err := capture(r.Number)
	if err != nil {
		return nil, err
	}
	return page.Alone(s, r, c)
}

func runPage(s result.Session, p pair, capture func(int) (result.Capture, error)) ([]byte, error) {
	quiet, err := capture(p.quiet)
	if err != nil {
		return nil, err
	}
	near, err := capture(p.near)
	if err != nil {
		return nil, err
	}
	return page.Run(result.Compare{
		Schema: result.CompareSchema, Tool: s.Tool, Settings: s.Settings,
		Pairs: []result.Pair{assemble.PairOf(s.Settings, quiet, near)}, Warnings: []result.Warning{},
	})
}
