package table

import (
	"fmt"
	"reflect"
	"strings"

	"humdiff/report/result"
	"humdiff/report/words"
)

// checkedChannel is a channel with the file it belongs to; without a channel
// where the file has none that could be measured.
type checkedChannel struct {
	*result.CheckedFile
	*result.CheckedChannel
	warnings []result.Warning // of the channel and of the file
}

type checkField = field[checkedChannel, *result.CheckedFile]

// Check is the table of files looked at: a group for each, with a row for each
// channel. CSV has everything that is known of a channel's health, whatever that is.
func Check(r result.Check) Table {
	fields := checkFields()
	t := Table{Columns: columns(fields)}
	for i := range r.Files {
		t.Groups = append(t.Groups, checkedGroup(&r.Files[i], r.Warnings, fields))
	}
	t.Notes = []string{"peak: the largest sample against full scale; mean: of all samples, full scale is 1 (an offset). What a file says about itself is printed as it stands, unchecked."}
	return t
}

func checkFields() []checkField {
	file := func(name string, value func(f *result.CheckedFile) any) checkField {
		return hidden[checkedChannel, *result.CheckedFile](name, func(c checkedChannel) any { return value(c.CheckedFile) })
	}
	fields := []checkField{
		file("file", func(f *result.CheckedFile) any { return f.File }),
		file("problem", func(f *result.CheckedFile) any { return f.Problem.What }),
		file("container", func(f *result.CheckedFile) any { return f.Container }),
		file("format", func(f *result.CheckedFile) any { return f.Format }),
		file("rate_hz", func(f *result.CheckedFile) any { return asCount(f.RateHz) }),
		file("bits", func(f *result.CheckedFile) any { return asCount(f.Bits) }),
		file("float", func(f *result.CheckedFile) any { return f.Float }),
		file("channel_count", func(f *result.CheckedFile) any { return asCount(f.Count) }),
		file("frames", func(f *result.CheckedFile) any { return asCount(f.Frames) }),
		file("file_s", func(f *result.CheckedFile) any { return f.FileS }),
		file("start_s", func(f *result.CheckedFile) any { return f.StartS }),
		file("end_s", func(f *result.CheckedFile) any { return f.EndS }),
		file("sha256", func(f *result.CheckedFile) any { return f.SHA256 }),
		file("recorded", func(f *result.CheckedFile) any { return f.Metadata.Recorded }),
		file("recorded_source", func(f *result.CheckedFile) any { return f.Metadata.Source }),
		file("texts", func(f *result.CheckedFile) any { return texts(f.Metadata.Texts) }),
	}
	return append(append(fields, channelFields()...), healthFields()...)
}

// asCount writes a count without an exponent.
func asCount(n result.Num) any {
	if !n.Ok() {
		return nil
	}
	return int64(n)
}

// texts is all a file says about itself, in one cell.
func texts(all []result.Text) string {
	var parts []string
	for _, t := range all {
		parts = append(parts, t.Name+": "+t.Value)
	}
	return strings.Join(parts, "; ")
}

// channelFields are the printed columns.
func channelFields() []checkField {
	column := func(head, unit string, cell func(c *result.CheckedChannel) string, plain ...string) checkField {
		return checkField{Column{Head: head, Unit: unit, Plain: plain}, func(c checkedChannel) Cell {
			if c.CheckedChannel == nil {
				return Cell{Plain: make([]any, len(plain))}
			}
			return Cell{Text: cell(c.CheckedChannel)}
		}, nil}
	}
	channel := column("channel", "", func(c *result.CheckedChannel) string { return fmt.Sprint(c.Channel) }, "channel")
	channel.line = plainly(channel.line, func(c checkedChannel) any { return c.Channel })
	mains := column("mains", "Hz", func(c *result.CheckedChannel) string { return mainsFound(c.Mains) }, "mains_hz")
	mains.line = plainly(mains.line, func(c checkedChannel) any { return c.Mains.Hz })
	warned := checkField{Column{Head: "warnings", Plain: []string{"warnings"}}, func(c checkedChannel) Cell {
		return Cell{Text: fmt.Sprint(len(c.warnings)), Plain: []any{warningCodes(c.warnings)}}
	}, nil}
	return []checkField{channel,
		column("peak", "dB", func(c *result.CheckedChannel) string { return peak(c.Health) }),
		column("mean", "of full scale", func(c *result.CheckedChannel) string { return mean(c.Health) }),
		column("clipped", "samples", func(c *result.CheckedChannel) string { return fmt.Sprint(c.Health.Clipped) }),
		mains, warned}
}

// plainly adds a column's plain value where there is a channel.
func plainly(cell func(checkedChannel) Cell, value func(checkedChannel) any) func(checkedChannel) Cell {
	return func(c checkedChannel) Cell {
		out := cell(c)
		if c.CheckedChannel != nil {
			out.Plain = []any{value(c)}
		}
		return out
	}
}

func peak(h result.Health) string {
	if !h.PeakDBFS.Ok() {
		return "none"
	}
	return words.Fixed(h.PeakDBFS, 1)
}

func mean(h result.Health) string {
	return words.Fixed(h.DC, 6)
}

func mainsFound(m result.CaptureMains) string {
	if !m.Detected {
		return "not found"
	}
	return words.Fixed(m.Hz, 3)
}

func warningCodes(all []result.Warning) string {
	var codes []string
	for _, w := range all {
		codes = append(codes, w.Code)
	}
	return strings.Join(codes, " ")
}

// healthFields are CSV's columns of all that result.Health holds, by its own
// keys; lists are counted.
func healthFields() []checkField {
	var fields []checkField
	walkHealth(reflect.TypeFor[result.Health](), "health_", nil, func(name string, index []int) {
		fields = append(fields, checkField{Column{Plain: []string{name}}, func(c checkedChannel) Cell {
			if c.CheckedChannel == nil {
				return Cell{Plain: []any{nil}}
			}
			return Cell{Plain: []any{healthValue(reflect.ValueOf(c.Health).FieldByIndex(index))}}
		}, nil})
	})
	return fields
}

func walkHealth(t reflect.Type, prefix string, at []int, leaf func(name string, index []int)) {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(append([]int{}, at...), i)
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous:
			walkHealth(f.Type, prefix, index, leaf)
		case f.Type.Kind() == reflect.Struct:
			walkHealth(f.Type, prefix+key+"_", index, leaf)
		default:
			leaf(prefix+key, index)
		}
	}
}

func healthValue(v reflect.Value) any {
	switch v.Kind() {
	case reflect.Slice, reflect.Map:
		return v.Len()
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return healthValue(v.Elem())
	}
	return v.Interface()
}

func checkedGroup(f *result.CheckedFile, warnings []result.Warning, fields []checkField) Group {
	g := Group{Title: words.File(f.File), Conditions: words.CheckedFormat(*f)}
	if f.Problem.What != "" {
		g.Conditions = append(g.Conditions, "not usable: "+words.Printable(f.Problem.What))
		if f.Problem.Hint != "" {
			g.Conditions = append(g.Conditions, "hint: "+words.Printable(f.Problem.Hint))
		}
	}
	for i := range f.Channels {
		c := checkedChannel{f, &f.Channels[i], about(warnings, f.File, f.Channels[i].Channel)}
		g.Rows = append(g.Rows, Row{Shown: true, Cells: lineCells(fields, c)})
	}
	if len(f.Channels) == 0 { // in CSV a file that can't be used has a row too
		g.Rows = append(g.Rows, Row{Cells: lineCells(fields, checkedChannel{f, nil, about(warnings, f.File, 0)})})
	}
	for _, w := range warnings {
		if w.File == f.File {
			g.Notes = append(g.Notes, "warning: "+ofChannel(w)+words.Printable(w.Message))
		}
	}
	return g
}

// about is the warnings of a channel and of its file.
func about(all []result.Warning, file string, channel int) (some []result.Warning) {
	for _, w := range all {
		if w.File == file && (w.Channel == 0 || w.Channel == channel) {
			some = append(some, w)
		}
	}
	return some
}

func ofChannel(w result.Warning) string {
	if w.Channel == 0 {
		return ""
	}
	return fmt.Sprintf("channel %d: ", w.Channel)
}
