package live

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"

	"humdiff/fft/fault"
	"humdiff/fft/likeness"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/page"
)

//go:embed live.html
var source string

//go:embed live.css
var css string

//go:embed live.js
var js string

// icon is one cycle of hum. The page names it, or the browser would ask for one
// outside of the room and be refused.
const icon = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><path d="M1 8Q4.5-4 8 8T15 8" fill="none" stroke="#808080" stroke-width="2"/></svg>`

var blocks = template.Must(template.New("live").Funcs(template.FuncMap{"printable": doc.Printable}).Parse(source))

func styleSheet() string { return page.StyleSheet() + css }
func script() string     { return page.Script() + js }

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

type option struct {
	Value, Text string
	Chosen      bool
}

// chosen are options with the one of a value chosen.
func chosen(value string, all []option) []option {
	all = slices.Clone(all)
	for i := range all {
		all[i].Chosen = all[i].Value == value
	}
	return all
}

// roles are what a capture can be, in the order in which they are recorded.
var roles = []option{
	{Value: model.Quiet, Text: "quiet: the lead away"},
	{Value: model.Near, Text: "near: the live lead beside the cable"},
	{Value: model.Unplugged, Text: "unplugged: the same lead, unplugged"},
	{Value: model.Residual, Text: "residual: the input shorted"},
	{Value: "", Text: "not used"},
}

var mainsOptions = []option{{Value: "auto", Text: "found by itself"}, {Value: "50", Text: "50 Hz"}, {Value: "60", Text: "60 Hz"}}

// shown is everything the page shows, taken in one moment.
type shown struct {
	said
	told
	Settings
	Version      int
	Folder, Root string
	MainsOptions []option
	Captures     []card
	Asks         []question
	Pairs        int

	Reading, Measuring, Cancelled bool
	Percent                       int
	Failed                        string
	Report, Session               string // the names under which things are offered to be saved
	CanSave, CanKeep              bool
}

// question is what is asked, or said, before a result can be trusted.
type question struct {
	Text, Yes string
	Question  string // what Yes answers; empty: nothing is asked
}

// page is the bench as HTML.
func (b *Bench) page() ([]byte, error) {
	var html bytes.Buffer
	err := blocks.ExecuteTemplate(&html, "live", b.view())
	return html.Bytes(), err
}

func (b *Bench) view() shown {
	b.mu.Lock()
	defer b.mu.Unlock()
	o := &b.outcome
	v := shown{said: b.said, told: o.told, Settings: b.settings, Version: b.version, Folder: b.opt.Folder, Root: b.root(), Pairs: len(b.pairs),
		MainsOptions: chosen(b.settings.Mains, mainsOptions), Asks: b.questions(), Reading: b.reading(), Measuring: o.measuring, Cancelled: o.cancelled,
		Report: b.free("hum-report"), Session: b.free("hum-session"), CanSave: o.compare != nil && o.err == nil}
	v.Stale = v.Stale && o.told.Headline != ""
	_, _, v.CanKeep = b.couple()
	if o.total > 0 {
		v.Percent = int(100 * o.done / o.total)
	}
	if o.err != nil {
		v.Failed = sentence(o.err)
	}
	for i, c := range b.captures {
		v.Captures = append(v.Captures, cardOf(*c, b.captures[:i]))
	}
	return v
}

// questions are what to ask of the pair before its result is trusted: whether it is
// of one cable, and of two recordings. The lock is held.
func (b *Bench) questions() (all []question) {
	quiet, near, both := b.couple()
	if !both {
		return nil
	}
	if quiet.twin(near) {
		all = append(all, question{Text: fmt.Sprintf("%s and %s hold the same samples: they are one recording, and no pair.", doc.Printable(quiet.Name), doc.Printable(near.Name))})
	}
	pair := fmt.Sprintf("cable %d %d", quiet.ID, near.ID)
	if n, asks := likeness.NamesDiffer(quiet.Name, near.Name); asks && !b.asked[pair] {
		all = append(all, question{Text: doc.Says(n), Question: pair, Yes: "They are of one cable"})
	}
	return all
}

// twin says that two captures are one recording: their samples are the same, and
// more than silence.
func (c *Capture) twin(o *Capture) bool {
	return c.Overview.sum != "" && c.Overview.sum == o.Overview.sum
}

// card is one capture.
type card struct {
	ID         int
	Name       string
	Facts      string
	Wrong      string
	Reading    bool
	Overview   template.HTML
	Roles      []option
	Channels   []option // nil: it has one
	Start, End string
	Length     string
}

func cardOf(c Capture, before []*Capture) card {
	k := card{ID: c.ID, Name: doc.Printable(c.Name), Reading: c.Reading, Roles: chosen(c.Role, roles)}
	if c.Err != nil {
		k.Wrong = sentence(c.Err)
	}
	if c.Err != nil || c.Reading {
		return k
	}
	if i := slices.IndexFunc(before, c.twin); i >= 0 {
		k.Wrong = fmt.Sprintf("The same recording as %s: it holds the same samples.", doc.Printable(before[i].Name))
	}
	o := c.Overview
	k.Facts = fmt.Sprintf("%s, %s, %s, %s. %s", doc.Printable(c.Info.Format), doc.Hz(model.Num(c.Info.Rate)), doc.Count(c.Info.Channels, "channel"), doc.Seconds(o.Seconds), o.level())
	k.Length = strconv.FormatFloat(o.Seconds, 'f', 3, 64)
	end := c.Address.End
	if math.IsInf(end, 1) {
		end = o.Seconds
	} else {
		k.End = strconv.FormatFloat(end, 'f', -1, 64)
	}
	if c.Address.Start > 0 {
		k.Start = strconv.FormatFloat(c.Address.Start, 'f', -1, 64)
	}
	k.Overview = template.HTML(o.svg(c.Address.Start, end))
	if c.Info.Channels > 1 {
		channels := []option{{Value: "0", Text: "every channel with a signal"}}
		for n := 1; n <= c.Info.Channels; n++ {
			channels = append(channels, option{Value: strconv.Itoa(n), Text: fmt.Sprintf("channel %d", n)})
		}
		k.Channels = chosen(strconv.Itoa(c.Address.Channel), channels)
	}
	return k
}

// level says in words what the overview shows.
func (o Overview) level() string {
	peak := 0.0
	for _, p := range o.Peak {
		peak = max(peak, p)
	}
	if peak == 0 {
		return "Silent from end to end."
	}
	return "Peak " + doc.DBFS(model.DB(peak*peak)) + "."
}
