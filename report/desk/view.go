package desk

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"math"
	"path/filepath"
	"slices"
	"strconv"

	"humdiff/fft/fault"
	"humdiff/report/page"
	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/session"
	"humdiff/report/table"
	"humdiff/report/words"
)

//go:embed desk.html
var source string

//go:embed desk.css
var css string

//go:embed desk.js
var js string

// icon is one cycle of hum. The page names it, or the browser would ask for one
// outside of the token and be refused.
const icon = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><path d="M1 8Q4.5-4 8 8T15 8" fill="none" stroke="#808080" stroke-width="2"/></svg>`

var blocks = template.Must(template.New("desk").Parse(source))

func styleSheet() string { return parts.StyleSheet() + css }
func script() string     { return parts.Script() + js }

// said is an error as the page shows it, with what to do about it.
func said(err error) string {
	s := err.Error()
	var known *fault.Error
	if errors.As(err, &known) && known.File != "" {
		s = words.File(filepath.Base(known.File)) + ": " + known.What
	}
	if hint := fault.Hint(err); hint != "" {
		s += ". Try: " + hint
	}
	return words.Printable(s)
}

// roles are what a capture can be, in the order in which they are recorded.
var roles = []struct {
	Role session.Condition
	Text string
}{
	{session.Quiet, "quiet: the lead away"},
	{session.Near, "near: the live lead beside the cable"},
	{session.Dead, "dead: the same lead unplugged"},
	{session.Residual, "residual: the input shorted"},
	{"", "not used"},
}

// shown is everything the page shows.
type shown struct {
	Version  int
	Folder   string
	Away     string // why the folder can't be read
	Root     string
	Settings Settings
	Mains    []option
	Captures []card
	Wrong    string
	Saved    string
	Pairs    int

	Measuring bool
	Percent   int
	Cancelled bool
	Failed    string
	Headline  string
	Found     []template.HTML
	NotShown  []template.HTML
	Report    string // the names under which things are offered to be saved
	Session   string
	CanSave   bool
	CanKeep   bool
}

type option struct {
	Value, Text string
	Chosen      bool
}

// card is one capture.
type card struct {
	ID         int
	Name       string
	Facts      string
	Wrong      string
	Reading    bool
	Overview   template.HTML
	Level      string
	Roles      []option
	Channels   []option // nil: it has one
	Start, End string
	Length     string
}

// page is the desk as HTML.
func (d *Desk) page(wrong string) ([]byte, error) {
	v := d.view()
	v.Wrong = words.Printable(wrong)
	var b bytes.Buffer
	if err := blocks.ExecuteTemplate(&b, "desk", v); err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	return b.Bytes(), nil
}

// view is what is shown, taken in one moment.
func (d *Desk) view() shown {
	d.mu.Lock()
	v := shown{Version: d.version, Folder: d.opt.Folder, Away: d.away, Root: d.root(), Report: d.free("hum-report"), Session: d.free("hum-session"), Settings: d.settings, Saved: d.saved, Pairs: len(d.pairs),
		Mains:   mainsOptions(d.settings.Mains),
		CanKeep: d.role(session.Quiet) != nil && d.role(session.Near) != nil}
	for _, c := range d.captures {
		v.Captures = append(v.Captures, cardOf(*c))
	}
	o := d.outcome
	next := d.missing()
	d.mu.Unlock()
	o.show(&v)
	v.NotShown = append(v.NotShown, parts.List(next...))
	return v
}

// missing is what the desk has not been given, and what each would show. The
// lock is held.
func (d *Desk) missing() (say []string) {
	for _, m := range []struct {
		role session.Condition
		text string
	}{
		{session.Quiet, "No quiet capture yet: record the cable as it will be, with the lead away."},
		{session.Near, "No near capture yet: record the same with the live lead beside the cable."},
		{session.Dead, "No dead run: the same lead in the same place, unplugged, shows whether its voltage did it."},
		{session.Residual, "No residual run: the input shorted at its connector shows what the instrument adds by itself."},
	} {
		if d.role(m.role) == nil {
			say = append(say, m.text)
		}
	}
	return say
}

func mainsOptions(chosen string) []option {
	var all []option
	for _, m := range [][2]string{{"auto", "found by itself"}, {"50", "50 Hz"}, {"60", "60 Hz"}} {
		all = append(all, option{m[0], m[1], chosen == m[0]})
	}
	return all
}

func cardOf(c Capture) card {
	k := card{ID: c.ID, Name: words.Printable(c.Name), Reading: c.Reading}
	for _, r := range roles {
		k.Roles = append(k.Roles, option{string(r.Role), r.Text, c.Role == r.Role})
	}
	if c.Err != nil {
		k.Wrong = said(c.Err)
		return k
	}
	if c.Reading {
		return k
	}
	k.Facts = fmt.Sprintf("%s, %s, %s, %s", words.Printable(c.Info.Format), words.Hz(result.Num(c.Info.Rate)),
		words.Count(c.Info.Channels, "channel"), words.Seconds(c.Overview.Seconds))
	k.Length = strconv.FormatFloat(c.Overview.Seconds, 'f', 3, 64)
	end := c.Address.End
	if math.IsInf(end, 1) {
		end = c.Overview.Seconds
	} else {
		k.End = strconv.FormatFloat(end, 'f', -1, 64)
	}
	if c.Address.Start > 0 {
		k.Start = strconv.FormatFloat(c.Address.Start, 'f', -1, 64)
	}
	k.Overview = template.HTML(c.Overview.SVG(c.Address.Start, end))
	k.Level = levelOf(c.Overview)
	if c.Info.Channels > 1 {
		k.Channels = append(k.Channels, option{"0", "every channel with a signal", c.Address.Channel == 0})
		for n := 1; n <= c.Info.Channels; n++ {
			k.Channels = append(k.Channels, option{strconv.Itoa(n), fmt.Sprintf("channel %d", n), c.Address.Channel == n})
		}
	}
	return k
}

// levelOf says in words what the overview shows.
func levelOf(o Overview) string {
	peak := 0.0
	for _, p := range o.Peak {
		peak = max(peak, p)
	}
	if peak == 0 {
		return "Silent from end to end."
	}
	return fmt.Sprintf("Peak %s.", words.DBFS(result.DB(peak*peak)))
}

// show puts the outcome into the page.
func (o outcome) show(v *shown) {
	v.Measuring, v.Cancelled = o.measuring, o.cancelled
	if o.total > 0 {
		v.Percent = int(100 * o.done / o.total)
	}
	if o.err != nil {
		v.Failed = said(o.err)
		return
	}
	switch {
	case o.compare != nil:
		o.showPair(v)
	case o.measure != nil:
		o.showAlone(v)
	}
}

func (o outcome) showPair(v *shown) {
	r := *o.compare
	statements := words.Pairs(r)
	if len(statements) == 0 {
		return
	}
	v.CanSave = true
	v.Headline = words.Headline(r.Pairs[0], r.Settings)
	if len(r.Pairs) > 1 {
		v.Headline = words.Count(len(r.Pairs), "channel") + " compared"
	}
	for i, s := range statements {
		body := s.Found
		if len(statements) == 1 {
			body = body[1:] // it is the headline
		} else {
			v.Found = append(v.Found, parts.Heading("", words.Channels(r.Pairs[i])))
		}
		v.Found = append(v.Found, parts.List(append(append([]string(nil), body...), s.StandsOn...)...))
	}
	if o.dead != nil && len(o.dead.Pairs) > 0 {
		v.Found = append(v.Found, parts.Heading("", "The dead run against quiet"), parts.Text(words.Headline(o.dead.Pairs[0], o.dead.Settings)))
	}
	v.Found = append(v.Found, parts.Warnings(table.Warnings(unsaid(r.Warnings))...))
	v.Found = append(v.Found, page.Figures(r)...)
	v.Found = append(v.Found, page.Lines(r)...)
	v.NotShown = append(v.NotShown, parts.List(words.NotShown(statements)...), parts.List(words.Would(statements)...))
}

func (o outcome) showAlone(v *shown) {
	r := *o.measure
	statements := words.Captures(r)
	if len(statements) == 0 {
		return
	}
	v.Headline = statements[0].Found[0]
	for i, s := range statements {
		body := s.Found
		if i == 0 {
			body = body[1:]
		}
		if s.Of != "" {
			v.Found = append(v.Found, parts.Heading("", s.Of))
		}
		v.Found = append(v.Found, parts.List(append(append([]string(nil), body...), s.StandsOn...)...))
	}
	v.Found = append(v.Found, parts.Warnings(table.Warnings(unsaid(r.Warnings))...))
	v.Found = append(v.Found, page.MeasuredLines(r)...)
	v.NotShown = append(v.NotShown, parts.List(words.NotShown(statements)...))
}

// unsaid leaves out the warnings that the sentences make already.
func unsaid(all []result.Warning) []result.Warning {
	return slices.DeleteFunc(slices.Clone(all), func(w result.Warning) bool { return w.Code == "one_placement" || w.Code == "scale_unknown" })
}
