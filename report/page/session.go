package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"humdiff/report/figure"
	"humdiff/report/page/parts"
	"humdiff/report/result"
	"humdiff/report/table"
	"humdiff/report/words"
)

// chapter is a part of a session's report, whatever it is written as.
type chapter struct {
	id, title string
	blocks    []block
}

// block is one of: a heading, a list, notes, warnings, names with values, a
// table's group, a figure. Each form of output shows what it can.
type block struct {
	heading  string
	text     string
	items    []string
	advice   []parts.Item
	notes    []string
	warnings []string
	caution  []string
	facts    []parts.Fact
	hashes   []parts.Fact
	table    *table.Table
	group    int
	links    []string // a file for each shown row's first cell; "" none
	figure   *figure.Figure
	id       string
}

// Session is the page of a judged session. runs names the file beside the page
// that has a run's own figures; empty where there is none.
func Session(s result.Session, runs func(number int) string) ([]byte, error) {
	p := parts.Page{
		Title:  words.SessionTitle(s),
		Lead:   sessionLead(s),
		Footer: "Made by humdiff " + words.Printable(s.Tool.Version) + ". The numbers are in session.json and in the CSV files beside this page.",
	}
	for _, c := range chapters(s, runs) {
		var body []template.HTML
		for _, b := range c.blocks {
			body = append(body, b.html())
		}
		p.Sections = append(p.Sections, parts.Section{ID: c.id, Title: c.title, Body: body})
	}
	return p.HTML()
}

// SessionMarkdown is the same as Markdown, without the figures, which are in
// files of their own.
func SessionMarkdown(s result.Session, runs func(number int) string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n%s\n\n", table.EscapeMarkdown(words.SessionTitle(s)), table.EscapeMarkdown(sessionLead(s)))
	for _, c := range chapters(s, runs) {
		fmt.Fprintf(&b, "## %s\n\n", c.title)
		for _, x := range c.blocks {
			x.markdown(&b)
		}
	}
	fmt.Fprintf(&b, "Made by humdiff %s.\n", table.EscapeMarkdown(words.Printable(s.Tool.Version)))
	return b.String()
}

func sessionLead(s result.Session) string {
	lead := words.Printable(s.Title)
	if s.Blind {
		lead = strings.TrimSpace(lead + " (cables are letters until the key is given)")
	}
	return lead
}

func (b block) html() template.HTML {
	switch {
	case b.heading != "":
		return parts.Heading(b.id, b.heading)
	case b.text != "":
		return parts.Text(b.text)
	case b.items != nil:
		return parts.List(b.items...)
	case b.advice != nil:
		return parts.Advice(b.advice...)
	case b.notes != nil:
		return parts.Notes(b.notes...)
	case b.warnings != nil:
		return parts.Warnings(b.warnings...)
	case b.caution != nil:
		return parts.Caution("caution", "Before you go to the bench", b.caution...)
	case b.facts != nil:
		return parts.Facts(b.facts...)
	case b.hashes != nil:
		return parts.Hashes(b.hashes...)
	case b.table != nil:
		return b.sheet()
	case b.figure != nil:
		return parts.Figure(b.id, "", *b.figure)
	}
	return ""
}

func (b block) sheet() template.HTML {
	g := b.table.Groups[b.group]
	s := parts.Table{Label: g.Title, Sorts: true}
	for _, c := range b.table.Printed() {
		s.Columns = append(s.Columns, parts.Column{Head: c.Head, Unit: c.Unit})
	}
	for i, row := range b.table.Shown(g) {
		cells := cells(row)
		for j := range cells {
			if cells[j].Value != nil { // numbers stay in one piece
				cells[j].Text = strings.ReplaceAll(cells[j].Text, " ", "\u00a0")
			}
		}
		if i < len(b.links) {
			cells[0].Link = b.links[i]
		}
		s.Rows = append(s.Rows, parts.Row{Cells: cells})
	}
	return parts.Sheet(s)
}

func (b block) markdown(w *strings.Builder) {
	list := func(before string, items []string) {
		for _, i := range items {
			w.WriteString("- " + before + table.EscapeMarkdown(i) + "\n")
		}
		w.WriteString("\n")
	}
	facts := func(all []parts.Fact) {
		for _, f := range all {
			fmt.Fprintf(w, "- %s: %s\n", table.EscapeMarkdown(f.Name), table.EscapeMarkdown(f.Value))
		}
		w.WriteString("\n")
	}
	switch {
	case b.heading != "":
		fmt.Fprintf(w, "### %s\n\n", table.EscapeMarkdown(b.heading))
	case b.text != "":
		w.WriteString(table.EscapeMarkdown(b.text) + "\n\n")
	case b.items != nil:
		list("", b.items)
	case b.advice != nil:
		for _, i := range b.advice {
			w.WriteString("- " + table.EscapeMarkdown(i.What))
			if i.Do != "" {
				w.WriteString(" **" + table.EscapeMarkdown(i.Do) + "**")
			}
			w.WriteString("\n")
		}
		w.WriteString("\n")
	case b.notes != nil:
		list("", b.notes)
	case b.warnings != nil:
		list("Warning: ", b.warnings)
	case b.caution != nil:
		w.WriteString("### Before you go to the bench\n\n")
		list("", b.caution)
	case b.facts != nil:
		facts(b.facts)
	case b.hashes != nil:
		facts(b.hashes)
	case b.table != nil:
		w.WriteString(linked(b.table.Group(b.group), b.links) + "\n\n")
	case b.figure != nil:
		fmt.Fprintf(w, "Figure: %s.svg\n\n", b.id)
	}
}

// linked makes the first cell of each row of a Markdown table lead to its link.
func linked(table string, links []string) string {
	const head = 2 // lines before the first row
	lines := strings.Split(table, "\n")
	for i, to := range links {
		if cells := strings.SplitN(lines[head+i], "|", 3); to != "" && len(cells) == 3 {
			lines[head+i] = fmt.Sprintf("| [%s](%s) |%s", strings.TrimSpace(cells[1]), to, cells[2])
		}
	}
	return strings.Join(lines, "\n")
}

func chapters(s result.Session, runs func(int) string) []chapter {
	all := []chapter{
		{"found", "What was found", foundBlocks(s)},
		{"figures", "Cables and exposures", figureBlocks(s)},
		{"claims", "Claims", claimBlocks(s)},
		{"objections", "What could still explain it", objectionBlocks(s)},
		{"mechanism", "How the hum gets in", mechanismBlocks(s)},
		{"audible", "Could it be heard", audibleBlocks(s)},
		{"means", "What the repeats come to", meanBlocks(s)},
		{"warnings", "Warnings", warningBlocks(s)},
		{"runs", "Every run", runBlocks(s, runs)},
		{"bench", "The bench", benchBlocks(s)},
		{"method", "How it was judged", []block{{items: sessionMethod(s)}}},
		{"hashes", "Files", hashBlocks(s)},
	}
	return slices.DeleteFunc(all, func(c chapter) bool { return len(c.blocks) == 0 })
}

func foundBlocks(s result.Session) []block {
	return []block{{items: words.SessionFound(s)}}
}

// figureBlocks are the matrix, and for each ranking its figure and its tables.
func figureBlocks(s result.Session) []block {
	var out []block
	for _, f := range SessionFigures(s) {
		out = append(out, block{figure: &f.Figure, id: f.Name})
	}
	places, pairs := table.SessionPlaces(s), table.SessionPairs(s)
	for i, r := range s.Rankings {
		out = append(out, block{heading: words.Place(r.Where), id: fmt.Sprintf("ranking%d", i+1)})
		if len(r.Places) > 0 {
			out = append(out, block{table: &places, group: i})
		}
		if notes := places.Groups[i].Notes; len(notes) > 0 {
			out = append(out, block{notes: notes})
		}
		if len(r.Pairs) > 0 {
			out = append(out, block{table: &pairs, group: i})
		}
	}
	return out
}

func claimBlocks(s result.Session) []block {
	var out []block
	for i, c := range s.Claims {
		out = append(out, block{heading: fmt.Sprintf("%s: %s", words.ClaimName(c), c.Verdict), id: fmt.Sprintf("claim%d", i+1)},
			block{items: claimItems(c)})
		for _, p := range c.Parts {
			said := fmt.Sprintf("%s: %s; measured %s (%s).", words.Place(p.Where), p.Verdict, words.PartValue(p), words.Runs(p.Runs))
			for _, n := range p.Reasons {
				said += " " + words.Reason(n)
			}
			var decide []string
			for _, n := range p.Decide {
				decide = append(decide, words.Decide(n))
			}
			item := parts.Item{What: said}
			if len(decide) > 0 {
				item.Do = "What would decide it: " + strings.Join(decide, " ")
			}
			out = append(out, block{advice: []parts.Item{item}})
		}
	}
	return out
}

func claimItems(c result.ClaimResult) []string {
	out := []string{"Claimed: " + words.ClaimSays(c) + ".", "Tested as: " + words.ClaimMeans(c) + ".", words.ClaimDated(c)}
	for _, n := range c.Reasons {
		out = append(out, words.Reason(n))
	}
	if c.P.Ok() {
		out = append(out, "Were the verdict wrong, runs that speak for it as strongly would come about with a chance (p) of at most: "+words.P(c.P)+", if placements are independent, random draws.")
	}
	return out
}

func objectionBlocks(s result.Session) []block {
	var items []parts.Item
	for _, o := range s.Objections {
		item := parts.Item{What: words.Objects(o.Code) + " " + words.Answers(o)}
		if o.State == result.NotTested || o.State == result.Open {
			item.Do = words.WouldSettle(o.Code)
		}
		items = append(items, item)
	}
	return []block{{advice: items}, {caution: words.Cautions}}
}

func mechanismBlocks(s result.Session) []block {
	var out []block
	for i, m := range s.Mechanisms {
		said := words.Mechanism(m)
		out = append(out, block{heading: said[0], id: fmt.Sprintf("mechanism%d", i+1)}, block{items: said[1:]})
	}
	return out
}

func audibleBlocks(s result.Session) []block {
	if len(s.Audible) == 0 {
		return nil
	}
	return []block{{items: words.SessionAudible(s)}}
}

func meanBlocks(s result.Session) []block {
	if len(s.Cells) == 0 {
		return []block{{text: "No near run could be held against a quiet one."}}
	}
	means, repeats := table.SessionCells(s), table.SessionRepeats(s)
	return []block{{table: &means}, {heading: "Each near run", id: "repeats"}, {table: &repeats},
		{notes: []string{"Intervals of one run hold its recording noise and the drift of quiet around it; those of means hold how placements scatter as well.",
			"A pickup is a range, as the phase between old and new hum is unknown; the value is what a right angle would give."}}}
}

func warningBlocks(s result.Session) []block {
	var all []string
	for _, f := range s.Findings {
		all = append(all, words.Finding(f))
	}
	all = append(all, table.Warnings(s.Warnings)...)
	if len(all) == 0 {
		return []block{{text: "No warnings."}}
	}
	return []block{{warnings: all}}
}

func runBlocks(s result.Session, runs func(int) string) []block {
	t := table.SessionRuns(s)
	var links []string
	for _, r := range s.Runs {
		links = append(links, runs(r.Number))
	}
	note := "The order of the list is taken for the order in which runs were made, as start times are not known of all."
	switch {
	case s.ByTime:
		note = "Runs are taken in the order of their start times."
	case s.OrderUnknown:
		note = "In which order the runs were made isn't known: they are listed by file name."
	}
	return []block{{table: &t, links: links}, {notes: []string{note, "A run's number leads to its own figures, line by line: a near run's against a quiet one, with which it shares a page."}}}
}

func benchBlocks(s result.Session) []block {
	b := s.Bench
	var facts []parts.Fact
	add := func(name, value string) {
		if value != "" {
			facts = append(facts, parts.Fact{Name: name, Value: words.Printable(value)})
		}
	}
	number := func(n result.Num, unit string) string {
		if !n.Ok() {
			return ""
		}
		p := words.PrefixFor(n)
		return p.Digits(n) + " " + p.Name + unit
	}
	add("Mains", number(b.MainsVolts, "V"))
	if b.MainsHz.Ok() {
		add("Mains frequency", words.Hz(b.MainsHz))
	}
	add("Full scale, as written", b.FullScale)
	add("Gain", b.Gain)
	add("Calibration", strings.Join(b.Calibration, ", "))
	add("Input", number(b.InputOhms, "Ω"))
	add("Input capacitance", number(b.InputFarads, "F"))
	add("Balanced", b.Balanced)
	if b.SpacingMM.Ok() {
		add("Lead to cable", words.Fixed(b.SpacingMM, 0)+" mm")
	}
	if b.ParallelMM.Ok() {
		add("Beside each other", words.Fixed(b.ParallelMM, 0)+" mm")
	}
	add("Witness", s.Witness)
	if s.Idle > 0 {
		add("Idle channel", fmt.Sprint(s.Idle))
	}
	add("Notes", b.Notes)
	out := []block{{facts: append(facts, settings(s.Settings)...)}}
	if len(b.Photos) > 0 {
		var photos []parts.Fact
		for _, p := range b.Photos {
			photos = append(photos, parts.Fact{Name: words.File(p.File), Value: p.SHA256})
		}
		out = append(out, block{heading: "Photos, by SHA-256", id: "photos"}, block{hashes: photos})
	}
	return out
}

// sessionMethod says how a session was judged, in the order in which it was.
func sessionMethod(s result.Session) []string {
	left := ""
	if n := len(s.LinesWithout); n > 0 {
		left = fmt.Sprintf(", without %d that a tone hides in some run", n)
	}
	held := "Each near run is held against the quiet runs of the same cable just before and after it; quiet may have been anywhere between the two."
	if s.OrderUnknown {
		held = "Each near run is held against every quiet run of the same cable, as the order of the runs isn't known; quiet may have been anywhere between the lowest and the highest."
	}
	return []string{
		fmt.Sprintf("Hum is the power sum over one fixed set of lines, harmonics 1 to %d%s, in every run, noise taken off.", s.Lines, left),
		held,
		"The pickup is the range from |near − quiet| to near + quiet in volts, since the phase between them is unknown.",
		fmt.Sprintf("Repeats whose lead stayed in place are one placement. Both ends of the range are averaged over placements in decibels, and each has its %s Student bound on its own side.", words.Percent(1-(1-s.Settings.Confidence)/2)),
		"Two cables are held against each other by Welch's statistic with the degrees of freedom of the smaller sample, and all pairs of a ranking together by Holm's procedure.",
		fmt.Sprintf("A claim is supported or refuted only where the %s interval lies wholly on one side of it, and where the controls it needs bear it out.", words.Percent(s.Settings.Confidence)),
		"A claim is about the middle placement. Where one placement by itself breaks it, it isn't supported.",
		words.ChancesHold,
	}
}

func hashBlocks(s result.Session) []block {
	var out []parts.Fact
	seen := map[string]bool{}
	for _, r := range s.Runs {
		if r.Capture != nil && !seen[r.Capture.File+r.Capture.SHA256] {
			seen[r.Capture.File+r.Capture.SHA256] = true
			out = append(out, parts.Fact{Name: words.File(r.Capture.File), Value: words.Printable(r.Capture.SHA256)})
		}
	}
	if len(out) == 0 {
		return nil
	}
	return []block{{text: "SHA-256 of the captures, so that anyone can tell whether they have the same ones:"}, {hashes: out}}
}

// NamedFigure is a figure with the name of its file, without an ending.
type NamedFigure struct {
	Name string
	figure.Figure
}

// SessionFigures are the figures of a session: what each cable did under each
// exposure, and each ranking.
func SessionFigures(s result.Session) []NamedFigure {
	var out []NamedFigure
	if m := matrix(s); len(m.Rows) > 0 {
		out = append(out, NamedFigure{"matrix", m.Figure()})
	}
	for i, r := range s.Rankings {
		if len(r.Places) > 0 {
			out = append(out, NamedFigure{fmt.Sprintf("ranking-%d", i+1), ranking(s, r).Figure()})
		}
	}
	return out
}

func matrix(s result.Session) figure.Matrix {
	m := figure.Matrix{Title: "What each exposure did to each cable", Axis: "hum, near minus quiet, dB",
		Conditions: []string{fmt.Sprintf("hum over harmonics 1 to %d", s.Lines), "means over placements"}}
	for _, e := range s.Exposures {
		m.Columns = append(m.Columns, words.Place(e.Where))
	}
	for _, c := range s.Cells {
		if c.Quantity != (result.Quantity{}) {
			continue
		}
		i := slices.IndexFunc(m.Rows, func(r figure.MatrixRow) bool { return r.Name == c.Cable })
		if i < 0 {
			i = len(m.Rows)
			m.Rows = append(m.Rows, figure.MatrixRow{Name: c.Cable, Cells: make([]figure.Estimate, len(m.Columns))})
		}
		if j := slices.Index(m.Columns, words.Place(c.Where)); j >= 0 {
			m.Rows[i].Cells[j] = estimate(c.Delta)
		}
	}
	return m
}

// estimate is an interval as figures show it.
func estimate(i result.Interval) figure.Estimate {
	e := figure.Estimate{State: result.NotMeasurable, Value: i.Value, Lo: i.Lo, Hi: i.Hi}
	switch {
	case i.Value.Ok():
		e.State = result.Measured
	case i.Lo.Ok() && i.Hi.Ok():
		e.State, e.Value = result.Measured, (i.Lo+i.Hi)/2
	case i.Lo.Ok():
		e.State = result.AtLeast
	case i.Hi.Ok():
		e.State = result.AtMost
	}
	return e
}

func ranking(s result.Session, r result.Ranking) figure.Ranking {
	f := figure.Ranking{
		Title: "Pickup of each cable: " + words.Place(r.Where), Axis: "pickup, dB re full scale",
		Desc:       "Cables, least pickup first.",
		Conditions: []string{fmt.Sprintf("hum over harmonics 1 to %d", s.Lines), words.Percent(s.Settings.Confidence) + " intervals over placements", "groups by Holm over all pairs"},
	}
	onScale := result.Num(0)
	if v := s.Settings.FullScaleVolts; v.Ok() {
		f.Axis, onScale = "pickup, dBV", result.Num(20*math.Log10(float64(v)))
	}
	for _, p := range r.Places {
		note := words.Count(p.Placements, "placement")
		if p.Volts.Hi.Ok() {
			note = words.VoltsInterval(p.Volts) + ", " + note
		}
		if d := words.Doubts(p); d != "" {
			note += ", in doubt"
		}
		f.Ranked = append(f.Ranked, figure.Ranked{Name: p.Cable, Value: estimate(shifted(p.Pickup, onScale)), Note: note})
	}
	for _, g := range r.Groups {
		f.Alike = append(f.Alike, spans(r, g)...)
	}
	return f
}

// shifted is an interval of levels on another scale.
func shifted(i result.Interval, db result.Num) result.Interval {
	return result.Interval{Value: i.Value + db, Lo: i.Lo + db, Hi: i.Hi + db} // None stays None
}

// spans are a group's places in a ranking, where they are next to each other.
func spans(r result.Ranking, group []string) [][2]int {
	var out [][2]int
	first := -1
	for i := 0; i <= len(r.Places); i++ {
		in := i < len(r.Places) && slices.Contains(group, r.Places[i].Cable)
		switch {
		case in && first < 0:
			first = i
		case !in && first >= 0:
			if i-1 > first {
				out = append(out, [2]int{first, i - 1})
			}
			first = -1
		}
	}
	return out
}
