package doc

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"humdiff/report/model"
)

// checked is a channel with the file it belongs to; without a channel where the
// file has none that could be measured.
type checked struct {
	*model.CheckedFile
	*model.CheckedChannel
	warnings []model.Warning // of the channel and of the file
}

// CheckTable is a row for each channel of the files looked at, those first with
// which something is wrong or odd. CSV has everything that is known of a channel's
// health, whatever that is.
func CheckTable(r model.Check) Table {
	fields := slices.Concat(fileFields(), channelFields(), healthFields())
	t := Table{ID: "files", Title: "Each file", Columns: columns(fields)}
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
	for i := range r.Files {
		f := &r.Files[i]
		for k := range f.Channels {
			rows = append(rows, checked{f, &f.Channels[k], about(r.Warnings, f.File, f.Channels[k].Channel)})
		}
		if len(f.Channels) == 0 {
			rows = append(rows, checked{f, nil, about(r.Warnings, f.File, 0)})
		}
	}
	return rows
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

func fileFields() []field[checked] {
	file := func(name string, of func(f *model.CheckedFile) any) field[checked] {
		return hidden(name, func(c checked) any { return of(c.CheckedFile) })
	}
	return []field[checked]{
		{Column: Column{Head: "file", Left: true, Plain: []string{"file"}}, cell: func(c checked) Cell { return Cell{Text: File(c.File), Plain: []any{c.File}} }},
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

// ofItself is all a file says about itself, in one cell.
func ofItself(all []model.Text) string {
	var parts []string
	for _, t := range all {
		parts = append(parts, t.Name+": "+t.Value)
	}
	return strings.Join(parts, "; ")
}

// channelFields are the printed columns.
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
	switch {
	case c.Problem.What != "":
		return "can't be used: " + Printable(c.Problem.What)
	case c.CheckedChannel == nil:
		return "can't be measured"
	case c.Health.Silent:
		return "nothing recorded"
	}
	var said []string
	if n := c.Health.Clipped; n > 0 {
		said = append(said, Count(n, "sample")+" clipped")
	}
	for _, w := range c.warnings {
		if w.Code != "clipped" {
			said = append(said, strings.ReplaceAll(Printable(w.Code), "_", " "))
		}
	}
	return strings.Join(slices.Compact(said), ", ")
}

func warningCodes(all []model.Warning) string {
	var codes []string
	for _, w := range all {
		codes = append(codes, w.Code)
	}
	return strings.Join(codes, " ")
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
			v := reflect.ValueOf(c.Health).FieldByIndex(index)
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
