package doc

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"humdiff/report/model"
)

// Check tells what files are, and what is wrong with them.
func Check(r model.Check) Document {
	d := Document{Title: checkHeadline(r), Gate: gate(r.MayPublish), Footer: madeBy(r.Head)}
	warnings := warningSection(r.Warnings)
	warnings.Short = 0 // the table has them in a word each
	d.Sections = filled(
		Section{ID: "files", Title: "Each file", Short: shortLines, Blocks: []Block{checkTable(r)}},
		hintSection(r),
		warnings,
		Section{ID: "formats", Title: "What each file says", Folded: true, Blocks: fileFacts(r)},
	)
	return d
}

// checkHeadline says how many files can be used.
func checkHeadline(r model.Check) string {
	bad, spoilt, odd := 0, 0, 0
	warnings := byFile(r.Warnings)
	for _, f := range r.Files {
		switch {
		case f.Problem.What != "" || len(f.Channels) == 0:
			bad++
		case spoiltBy(f):
			spoilt++
		case len(warnings[f.File]) > 0:
			odd++
		}
	}
	return tellOne("check.headline", map[string]any{"files": len(r.Files), "sound": len(r.Files) - bad - spoilt - odd, "odd": odd, "spoilt": spoilt, "bad": bad})
}

func spoiltBy(f model.CheckedFile) bool {
	for _, c := range f.Channels {
		if c.Health.Clipped > 0 || c.Health.Silent {
			return true
		}
	}
	return false
}

func hintSection(r model.Check) Section {
	items := tell("check.problems", r)
	return Section{ID: "problems", Title: "Not usable", Blocks: []Block{List{Items: items, Brief: first(items, 3)}}}
}

// fileFacts say of each file how its samples are written and how many there are,
// when it says it was recorded, and what else it says.
func fileFacts(r model.Check) []Block {
	var blocks []Block
	names := apart(filesOf(r))
	for _, f := range r.Files {
		if !f.RateHz.Ok() {
			continue
		}
		blocks = append(blocks, Heading{Text: names[f.File]}, Facts{Of: factsOf(tell("check.facts", f))})
	}
	return blocks
}

// checked is a channel with the file it belongs to; without a channel where the
// file has none that could be measured.
type checked struct {
	*model.CheckedFile
	*model.CheckedChannel
	name     string          // of the file, as it is told
	warnings []model.Warning // of the channel and of the file
}

// checkTable is a row for each channel of the files looked at, those first with
// which something is wrong or odd.
func checkTable(r model.Check) Table {
	rows := checkedRows(r)
	slices.SortStableFunc(rows, func(a, b checked) int { return wrongness(b) - wrongness(a) })
	return tableOf("files", "", checkFields(), rows,
		"Peak: the largest sample, from full scale. DC offset: the mean of all samples.",
		"What a file says about itself is printed as it stands, unchecked.").upTo(keyFiles, "channel")
}

func checkedRows(r model.Check) []checked {
	var rows []checked
	names, warnings := apart(filesOf(r)), byFile(r.Warnings)
	for i := range r.Files {
		f := &r.Files[i]
		for k := range f.Channels {
			rows = append(rows, checked{f, &f.Channels[k], names[f.File], about(warnings[f.File], f.File, f.Channels[k].Channel)})
		}
		if len(f.Channels) == 0 {
			rows = append(rows, checked{f, nil, names[f.File], warnings[f.File]})
		}
	}
	return rows
}

func byFile(all []model.Warning) map[string][]model.Warning {
	of := map[string][]model.Warning{}
	for _, w := range all {
		of[w.File] = append(of[w.File], w)
	}
	return of
}

func filesOf(r model.Check) []string {
	return each(r.Files, func(f model.CheckedFile) string { return f.File })
}

// apart are files' names, by their paths: without folders, but for those by which
// alone two that are called alike can be told apart.
func apart(files []string) map[string]string {
	names, left := map[string]string{}, map[string]bool{}
	for _, f := range files {
		left[f] = true
	}
	for parts := 1; len(left) > 0; parts++ {
		called := map[string]int{}
		for path := range left {
			called[ending(path, parts)]++
		}
		for path := range left {
			if end := ending(path, parts); called[end] == 1 || end == path {
				names[path] = Printable(cmp.Or(end, "(no name)"))
				delete(left, path)
			}
		}
	}
	return names
}

// longestName is how much of a name a row of 100 columns has room for.
const longestName = 30

// ending is the last parts of a path: its name, and the folders before it.
func ending(path string, parts int) string {
	at := len(strings.TrimRight(path, `/\`))
	for range parts {
		if at = strings.LastIndexAny(path[:max(at, 0)], `/\`); at < 0 {
			return path
		}
	}
	return path[at+1:]
}

// wrongness puts what can't be used before what is odd before the rest.
func wrongness(c checked) int {
	switch {
	case c.CheckedChannel == nil:
		return 3
	case c.Health.Clipped > 0 || c.Health.Silent:
		return 2
	case len(c.warnings) > 0:
		return 1
	}
	return 0
}

func checkFields() []field[checked] {
	of := func(spare int, head, unit string, said func(checked) string) field[checked] {
		return field[checked]{Column: Column{Head: head, Unit: unit, Spare: spare}, cell: func(c checked) Cell {
			if c.CheckedChannel == nil {
				return Cell{}
			}
			return Cell{Text: said(c)}
		}}
	}
	return []field[checked]{
		worded("file", func(c checked) string { return shorten(c.name, longestName) }),
		of(0, "channel", "", func(c checked) string { return fmt.Sprint(c.Channel) }),
		of(3, "length", "s", func(c checked) string { return strings.TrimSuffix(tenths(float64(c.EndS-c.StartS)), " s") }),
		of(2, "peak", "dB", func(c checked) string { return peak(c.Health) }),
		of(5, "DC offset", "of full scale", func(c checked) string { return Fixed(c.Health.DC, 6) }),
		of(4, "mains", "Hz", func(c checked) string { return mainsCell(c.Mains) }),
		worded("wrong or odd", wrong),
	}
}

func peak(h model.Health) string {
	if !h.PeakDBFS.Ok() {
		return "none"
	}
	return Fixed(h.PeakDBFS, 1)
}

// wrong is what is wrong or odd with a channel, in a few words.
func wrong(c checked) string {
	said := map[string]any{"problem": c.Problem.What, "measured": c.CheckedChannel != nil, "silent": false, "clipped": 0}
	codes := []string{}
	if c.CheckedChannel != nil {
		said["silent"], said["clipped"] = c.Health.Silent, c.Health.Clipped
	}
	for _, w := range c.warnings {
		if w.Code != "clipped" {
			codes = appendOnce(codes, strings.ReplaceAll(Printable(w.Code), "_", " "))
		}
	}
	if n := len(codes); n > mostKinds {
		codes = append(codes[:mostKinds:mostKinds], fmt.Sprintf("%d more", n-mostKinds))
	}
	said["codes"] = codes
	return tellOne("check.wrong", said)
}
