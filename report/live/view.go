package live

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"sync"

	"humdiff/fft/fault"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/page"
	"humdiff/report/session"
)

//go:embed live.html
var source string

//go:embed live.css
var css string

//go:embed send.js
var sendJS string

//go:embed grid.js
var gridJS string

//go:embed follow.js
var followJS string

// icon is one cycle of hum. The page names it, or the browser would ask for one
// outside of the room and be refused.
const icon = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><path d="M1 8Q4.5-4 8 8T15 8" fill="none" stroke="#808080" stroke-width="2"/></svg>`

// blocks are parsed when the page is first asked for: few runs of the program show it.
var blocks = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("live").Funcs(template.FuncMap{"printable": doc.Printable, "words": words, "said": conditionSaid}).Parse(source))
})

func styleSheet() string { return page.StyleSheet() + css }
func script() string     { return page.Script() + sendJS + gridJS + followJS }

// words are keys of the session's files as the page calls them: "input_ohms" is "input Ω".
var words = strings.NewReplacer("_ohms", " Ω", "_farads", " F", "_volts", " V", "_amps", " A", "_hz", " Hz", "_", " ").Replace

// sentence is an error as the page shows it, with what to do about it.
func sentence(err error) string {
	s := err.Error()
	var known *fault.Error
	if errors.As(err, &known) && known.File != "" {
		s = doc.File(known.File) + ": " + known.What
	}
	if hint := fault.Hint(err); hint != "" {
		s += ". Try: " + hint
	}
	return doc.Printable(s)
}

// regions are the parts of the page that change, each by itself.
var regions = []string{"head", "grid", "plan", "bench", "found", "open", "foot", "wrong"}

// region is a part of the page.
type region struct {
	ID   string
	HTML template.HTML
}

// shown is everything the page shows, taken in one moment.
type shown struct {
	said
	told
	grid
	Version      int
	Root, Folder string
	Next         string
	Title        string
	Captures     int
	Guesses      int
	Unplaced     int   // repeats of which it isn't said whether the lead was put back
	Inputs       []int // channels of which one has to be named
	Earlier      []string
	CanUndo      bool
	CanRedo      bool
	Cables       []string
	Exposures    []string

	Plan     []step
	Open     int           // of its steps
	Told     template.HTML // what the result leaves open
	Cautions template.HTML

	Forms  []form
	Claims []form

	Measuring, Cancelled bool
	Percent              int
	Failed               string
	Partly               string // what of the session the result is of
	Report               string // the name under which it is offered to be saved
	CanLook              bool
	NotWhole             string
}

// form is a table of the session to be filled in.
type form struct {
	Table, Title string
	Index        int
	Fields       []field
	Wrong        []string // with the whole of it
}

type field struct {
	session.Field
	ID    string
	Wrong string
	List  string // of words it may hold
}

// render gives the page's regions with their version.
func (b *Bench) render() ([]region, int, error) {
	v := b.view()
	var all []region
	for _, id := range regions {
		var html bytes.Buffer
		if err := blocks().ExecuteTemplate(&html, id, v); err != nil {
			return nil, 0, err
		}
		all = append(all, region{id, template.HTML(html.String())})
	}
	return all, v.Version, nil
}

// page is the bench as HTML.
func (b *Bench) page() ([]byte, error) {
	all, version, err := b.render()
	if err != nil {
		return nil, err
	}
	var html bytes.Buffer
	err = blocks().ExecuteTemplate(&html, "live", struct {
		Version int
		Regions []region
	}{version, all})
	return html.Bytes(), err
}

func (b *Bench) view() shown {
	b.mu.Lock()
	defer b.mu.Unlock()
	o, s := &b.outcome, b.sitting.session()
	v := shown{said: b.said, told: o.told, Told: o.told.Open, Version: b.version, Folder: b.opt.Folder, Root: b.opt.Home, grid: b.gridOf(), Captures: len(b.takes), Title: s.Sitting.Title,
		Earlier: b.earlier(), CanUndo: len(b.sitting.past) > 0, CanRedo: len(b.sitting.future) > 0,
		Cables: session.Cables(s.Sitting.Runs), Exposures: session.Exposures(s.Sitting.Runs),
		Measuring: o.measuring, Cancelled: o.cancelled, CanLook: o.compare != nil || o.judged != nil}
	if dir := b.sitting.dir(); dir != "" {
		v.Root = dir
	}
	v.Report = freeName(v.Root, "hum-report")
	for _, r := range s.Sitting.Runs {
		if len(guesses(r)) > 0 && r.LeftOut == "" {
			v.Guesses++
		}
	}
	v.Inputs = b.inputs()
	for _, k := range session.Missing(s.Sitting) {
		if k.Key == "replaced" {
			v.Unplaced = k.Runs
		}
	}
	if o.total > 0 {
		v.Percent = int(100 * o.done / o.total)
	}
	if o.err != nil {
		v.Failed = sentence(o.err)
	}
	if n := len(o.ids); o.judged != nil && n < o.of {
		v.Partly = fmt.Sprintf("So far this is of %d of %d runs.", n, o.of)
	}
	if err := b.notWhole(); err != nil {
		v.NotWhole = sentence(err)
		if o.judged != nil {
			v.Gate = "" // it speaks of a part of the session
		}
	}
	v.Plan, v.Open = b.steps()
	if len(v.Plan) > 0 {
		v.Cautions, _ = page.Fragment([]doc.Block{doc.Cautions()}, nil) // a list draws nothing
	}
	v.forms(s)
	v.Next = b.next(v)
	return v
}

// forms are the tables of the session beside the grid.
func (v *shown) forms(s session.File) {
	problems := s.Check()
	add := func(table, title string, i int, at string) form {
		f := form{Table: table, Title: title, Index: i}
		for _, x := range s.Fields(table, i) {
			one := field{Field: x, ID: fmt.Sprintf("%s-%d-%s", table, i, x.Name)}
			for _, p := range problems {
				if p.At == at+"."+x.Name {
					one.Wrong = sentenceOf(p)
				}
			}
			one.List = map[string]string{"cable": "cables", "than": "cables", "witness": "cables", "exposure": "exposures"}[x.Name]
			f.Fields = append(f.Fields, one)
		}
		for _, p := range problems {
			if p.At == at {
				f.Wrong = append(f.Wrong, sentenceOf(p))
			}
		}
		return f
	}
	v.Forms = []form{add(session.TopTable, "Title", 0, ""), add(session.BenchTable, "Scale and bench", 0, "bench"), add(session.RolesTable, "Controls", 0, "roles")}
	for i := range s.Sitting.Claims {
		v.Claims = append(v.Claims, add(session.ClaimTable, doc.Printable(s.Sitting.Claims[i].Name), i, fmt.Sprintf("claim[%d]", i)))
	}
	v.Claims = append(v.Claims, add(session.ClaimTable, "A new claim", len(s.Sitting.Claims), "new"))
}

// runForm is what is stated of one run, to be corrected.
func (b *Bench) runForm(id int) ([]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	r, err := b.sitting.find(id)
	if err != nil {
		return nil, err
	}
	s := b.sitting.session()
	i := slices.IndexFunc(b.sitting.runs, func(o run) bool { return o.id == id })
	v := struct {
		chip
		form
		Facts, Pair       string
		Cables, Exposures []string
		Open              bool
	}{chip: b.chipOf(*r, b.oddOnes()[r.path], b.sitting.problems()[i]), Cables: session.Cables(s.Sitting.Runs), Exposures: session.Exposures(s.Sitting.Runs), Open: b.expected(*r)}
	v.Table, v.Title = session.RunTable, "Run"
	for _, x := range s.Fields(session.RunTable, i) {
		if slices.Contains([]string{"measured", "guessed", "drive"}, x.Name) {
			continue
		}
		f := field{Field: x, ID: "run-" + x.Name, List: map[string]string{"cable": "cables", "exposure": "exposures"}[x.Name]}
		if slices.Contains(guesses(r.Run), x.Name) {
			f.Wrong = "guessed"
		}
		if x.Name == "condition" {
			f.Says = "" // its choices say it
		}
		v.Fields = append(v.Fields, f)
	}
	if t := b.takes[r.path]; t != nil && t.err == nil {
		v.Facts = fmt.Sprintf("%s: %s, %s, %s, %s.", v.File, doc.Printable(t.info.Format), doc.Hz(model.Num(t.info.Rate)), doc.Count(t.info.Channels, "channel"), doc.Seconds(t.found.Long.Seconds()))
	}
	if n := slices.Index(b.outcome.ids, id); n >= 0 && b.outcome.judged != nil {
		v.Pair = fmt.Sprintf("report/run-%d.html", n+1)
	}
	var html bytes.Buffer
	err = blocks().ExecuteTemplate(&html, "run", v)
	return html.Bytes(), err
}
