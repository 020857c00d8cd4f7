package doc

import (
	"cmp"
	"fmt"
	"reflect"
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
		Section{ID: "files", Title: "Each file", Short: shortLines, Blocks: []Block{checkTable(r, false)}},
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
	names := apart(r.Files)
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

// CheckTable is a row for each channel of the files looked at, those first with
// which something is wrong or odd, for CSV: with everything that is known of a
// channel's health, whatever that is.
func CheckTable(r model.Check) Table { return checkTable(r, true) }

func checkTable(r model.Check, plain bool) Table {
	fields := slices.Concat([]field[checked]{fileField()}, channelFields())
	if plain {
		fields = slices.Concat(fields[:1], fileFields(), fields[1:], healthFields())
	}
	t := Table{ID: "files", Columns: columns(fields)}
	rows := checkedRows(r)
	slices.SortStableFunc(rows, func(a, b checked) int { return wrongness(b) - wrongness(a) })
	for i, c := range rows {
		t.Rows = append(t.Rows, Row{Shown: true, Key: i < keyFiles, Cells: cellsOf(fields, c)})
	}
	t.Rest = more(len(rows)-keyFiles, "channel")
	t.Notes = []string{"Peak: the largest sample, from full scale. DC offset: the mean of all samples.", "What a file says about itself is printed as it stands, unchecked."}
	return t
}

func checkedRows(r model.Check) []checked {
	var rows []checked
	names, warnings := apart(r.Files), byFile(r.Warnings)
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

// apart are the files' names, by their paths: without folders, but for those by which
// alone two that are called alike can be told apart.
func apart(files []model.CheckedFile) map[string]string {
	names, left := map[string]string{}, map[string]bool{}
	for _, f := range files {
		left[f.File] = true
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

func fileField() field[checked] {
	return field[checked]{Column: Column{Head: "file", Left: true, Plain: []string{"file"}}, cell: func(c checked) Cell { return Cell{Text: shorten(c.name, longestName), Plain: []any{c.File}} }}
}

// fileFields are CSV's columns of what a file says.
func fileFields() []field[checked] {
	file := func(name string, of func(f *model.CheckedFile) any) field[checked] {
		return hidden(name, func(c checked) any { return of(c.CheckedFile) })
	}
	return []field[checked]{
		file("problem", func(f *model.CheckedFile) any { return f.Problem.What }),
		file("container", func(f *model.CheckedFile) any { return f.Container }),
		file("format", func(f *model.CheckedFile) any { return f.Format }),
		file("rate_hz", func(f *model.CheckedFile) any { return asCount(f.RateHz) }),
		file("bits", func(f *model.CheckedFile) any { return asCount(f.Bits) }),
		file("float", func(f *model.CheckedFile) any { return f.Float }),
		file("channel_count", func(f *model.CheckedFile) any { return asCount(f.Count) }),
		file("frames", func(f *model.CheckedFile) any { return asCount(f.Frames) }),
		file("file_s", func(f *model.CheckedFile) any { return f.FileS }),
		file("start_s", func(f *model.CheckedFile) any { return f.StartS }),
		file("end_s", func(f *model.CheckedFile) any { return f.EndS }),
		file("sha256", func(f *model.CheckedFile) any { return f.SHA256 }),
		file("recorded", func(f *model.CheckedFile) any { return f.Metadata.Recorded }),
		file("recorded_source", func(f *model.CheckedFile) any { return f.Metadata.Source }),
		file("texts", func(f *model.CheckedFile) any { return ofItself(f.Metadata.Texts) }),
	}
}

// asCount writes a count without an exponent.
func asCount(n model.Num) any {
	if !n.Ok() || n < 0 || n > 1<<62 {
		return nil
	}
	return int64(n)
}

func ofItself(all []model.Text) string {
	return strings.Join(each(all, func(t model.Text) string { return t.Name + ": " + t.Value }), "; ")
}

func channelFields() []field[checked] {
	column := func(spare int, head, unit, plain string, text func(c checked) string, of func(c checked) any) field[checked] {
		f := field[checked]{Column: Column{Head: head, Unit: unit, Spare: spare}}
		if plain != "" {
			f.Plain = []string{plain}
		}
		f.cell = func(c checked) Cell {
			if c.CheckedChannel == nil {
				return Cell{Plain: make([]any, len(f.Plain))}
			}
			out := Cell{Text: text(c)}
			if plain != "" {
				out.Plain = []any{of(c)}
			}
			return out
		}
		return f
	}
	return []field[checked]{
		column(0, "channel", "", "channel", func(c checked) string { return fmt.Sprint(c.Channel) }, func(c checked) any { return c.Channel }),
		column(3, "length", "s", "", func(c checked) string { return strings.TrimSuffix(tenths(float64(c.EndS-c.StartS)), " s") }, nil),
		column(2, "peak", "dB", "", func(c checked) string { return peak(c.Health) }, nil),
		column(5, "DC offset", "of full scale", "", func(c checked) string { return Fixed(c.Health.DC, 6) }, nil),
		column(4, "mains", "Hz", "mains_hz", func(c checked) string { return mainsCell(c.Mains) }, func(c checked) any { return c.Mains.Hz }),
		{Column: Column{Head: "wrong or odd", Left: true, Plain: []string{"warnings"}}, cell: func(c checked) Cell {
			return Cell{Text: wrong(c), Plain: []any{warningCodes(c.warnings)}}
		}},
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
	said := map[string]any{"problem": c.Problem.What, "measured": c.CheckedChannel != nil, "silent": false, "clipped": 0, "codes": []string{}}
	if c.CheckedChannel != nil {
		said["silent"], said["clipped"] = c.Health.Silent, c.Health.Clipped
	}
	for _, w := range c.warnings {
		if w.Code != "clipped" {
			said["codes"] = appendOnce(said["codes"].([]string), strings.ReplaceAll(Printable(w.Code), "_", " "))
		}
	}
	return tellOne("check.wrong", said)
}

func warningCodes(all []model.Warning) string {
	return strings.Join(each(all, codeOf), " ")
}

// healthFields are CSV's columns of all that model.Health holds, by its own keys;
// lists are counted.
func healthFields() []field[checked] {
	var fields []field[checked]
	walkHealth(reflect.TypeFor[model.Health](), "health_", nil, func(name string, index []int) {
		fields = append(fields, hidden(name, func(c checked) any {
			if c.CheckedChannel == nil {
				return nil
			}
			v := reflect.ValueOf(&c.Health).Elem().FieldByIndex(index) // not of a copy, which each value would hold
			if v.Kind() == reflect.Slice {
				return v.Len()
			}
			return v.Interface()
		}))
	})
	return fields
}

func walkHealth(t reflect.Type, prefix string, at []int, leaf func(name string, index []int)) {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(slices.Clone(at), i)
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Type.Kind() == reflect.Struct {
			walkHealth(f.Type, prefix+key+"_", index, leaf)
			continue
		}
		leaf(prefix+key, index)
	}
}
