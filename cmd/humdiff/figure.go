package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"humdiff/fft/fault"
	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/figure"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// drawing is the flags that say how figures look.
type drawing struct {
	only              []string
	formats           []string
	size, theme, unit choice
	density           int
	limits            bool
	hz, level         ends
	title             string
	out               string
	force             bool
}

// ends is a flag with the two ends of a part of an axis, so that figures of several
// results can share it.
type ends [2]float64

func (e *ends) String() string { return "" }
func (e *ends) Type() string   { return "LOW:HIGH" }

func (e *ends) Set(said string) (err error) {
	lo, hi, _ := strings.Cut(said, ":")
	var errs [2]error
	e[0], errs[0] = strconv.ParseFloat(strings.TrimSpace(lo), 64)
	e[1], errs[1] = strconv.ParseFloat(strings.TrimSpace(hi), 64)
	if errors.Join(errs[:]...) != nil || !(e[0] < e[1]) || !model.Num(e[1]-e[0]).Ok() {
		return errors.New("write the lower end, a colon, the upper end, such as -160:-80")
	}
	return nil
}

func figureCommand(s screen) *cobra.Command {
	f := drawing{
		size: choice{value: ""}, theme: choice{value: "light"},
		unit: choice{"dBFS", []string{"dBFS", "dBV", "volts"}},
	}
	for _, size := range figure.SizeNames {
		f.size.of = append(f.size.of, size.Name)
	}
	for _, theme := range figure.ThemeNames {
		f.theme.of = append(f.theme.of, theme.Name)
	}
	c := &cobra.Command{
		Use:   "figure RESULT",
		Short: "Draw figures again from a result's JSON, in other forms",
		Long: `RESULT is the JSON that compare, measure, trend or batch wrote. figure draws its
figures again, without the captures, in other sizes, colours and forms.`,
		Example: `  humdiff figure "hum-report/compare.json"
  humdiff figure "hum-report/compare.json" --only spectrum --size square --theme dark --as png --density 2
  humdiff figure "hum-report/compare.json" --size print --theme print --as pdf
  humdiff figure "hum-report/compare.json" --only spectrum --units dBV --frequency 40:2000 --level -180:-100`,
		Args: takes(1, 1, "result", `humdiff figure "RESULT.json"`),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c.Context(), s, args[0]) },
	}
	fl := c.Flags()
	fl.StringSliceVar(&f.only, "only", nil, "draw only the figures of these `NAMES`, such as spectrum,lines (default: all there are)")
	fl.StringSliceVar(&f.formats, "as", []string{"svg"}, "the `FORMS` to write: svg, png, pdf")
	fl.Var(&f.size, "size", "size; print is 170 mm wide (default: column; a card 1200 by 630)")
	fl.Var(&f.theme, "theme", "colours; print is black ink and greys")
	fl.IntVar(&f.density, "density", 1, "pixels of a PNG to each of its size, 1 to `4`")
	fl.Var(&f.unit, "units", "unit of the levels in a spectrum")
	fl.BoolVar(&f.limits, "limits", false, "mark the upper limits of lines not found in a spectrum")
	fl.Var(&f.hz, "frequency", "the part of a spectrum's frequency axis to show, in hertz")
	fl.Var(&f.level, "level", "the part of a spectrum's level axis to show, in dBFS, or in dBV with --units")
	fl.StringVar(&f.title, "title", "", "a `TITLE` instead of the figure's own")
	fl.StringVar(&f.out, "out", "humdiff-figures", "write into the folder `DIR`, beside what is there")
	fl.BoolVar(&f.force, "force", false, "replace unchanged figures of the same names")
	return c
}

func (f drawing) run(ctx context.Context, s screen, path string) error {
	if err := f.check(); err != nil {
		return err
	}
	figures, o, err := f.read(path)
	if err != nil {
		return err
	}
	var files []publish.File
	for _, fig := range figures {
		for _, form := range f.formats {
			file, err := fig.Draw(form, o)
			if err != nil {
				return err
			}
			files = append(files, file)
		}
	}
	if err := publish.Add(ctx, f.out, f.force, files); err != nil {
		return err
	}
	for _, file := range files {
		fmt.Fprintf(s.stdout, "%s\n", doc.Printable(f.out+string(os.PathSeparator)+file.Name))
	}
	return nil
}

// check is what is wrong with the words whatever the result holds.
func (f *drawing) check() error {
	for i, form := range f.formats {
		if f.formats[i] = strings.ToLower(form); !slices.Contains(report.FileTypes, f.formats[i]) {
			return misusedf("--as takes "+strings.Join(report.FileTypes, ", "), "--as %s: there is no such form", form)
		}
	}
	if f.density < 1 || f.density > 4 {
		return misusedf("--density takes 1 to 4", "--density %d: out of range", f.density)
	}
	return nil
}

// read is the figures to draw of a result, and how they are to look.
func (f drawing) read(path string) ([]report.NamedFigure, figure.Options, error) {
	var o figure.Options
	const hint = "give the JSON that compare wrote, with --out or with --format json"
	if isFile(path) {
		return nil, o, &fault.Error{File: path, What: "is a capture, not a result", Hint: hint}
	}
	r, err := report.ReadAny(path, hint)
	if err != nil {
		return nil, o, err
	}
	all, err := report.Figures(r)
	if err != nil {
		return nil, o, &fault.Error{File: path, What: err.Error(), Hint: hint, Err: err}
	}
	set := wire.SettingsOf(r)
	if o, err = f.options(set); err != nil {
		return nil, o, err
	}
	chosen, err := f.choose(path, all)
	return chosen, o, err
}

// choose takes the figures that --only names: "spectrum" is that of every pair.
func (f drawing) choose(path string, all []report.NamedFigure) ([]report.NamedFigure, error) {
	if len(f.only) == 0 {
		if len(all) == 0 {
			return nil, &fault.Error{File: path, What: "has nothing to draw"}
		}
		return all, nil
	}
	var names []string
	for _, fig := range all {
		names = append(names, fig.Name)
	}
	var out []report.NamedFigure
	for _, name := range f.only {
		found := false
		for _, fig := range all {
			if fig.Name == name || fig.Figure.Name == name {
				out, found = append(out, fig), true
			}
		}
		if !found {
			return nil, misusedf("it has "+strings.Join(names, ", "), "%s has no figure called %q", path, name)
		}
	}
	return out, nil
}

func (f drawing) options(set model.Settings) (figure.Options, error) {
	o := figure.Options{Title: f.title, Hz: f.hz, Level: f.level, Density: f.density, Limits: f.limits, Unit: doc.Unit(f.unit.value)}
	for _, s := range figure.SizeNames {
		if s.Name == f.size.value {
			o.Size = s.Size
		}
	}
	for _, t := range figure.ThemeNames {
		if t.Name == f.theme.value {
			o.Theme = t.Theme
		}
	}
	if !slices.Contains(figure.Units(set), o.Unit) {
		return o, misusedf("make the result with --full-scale, or leave --units out", "--units %s: the result doesn't know volts", o.Unit)
	}
	if f.hz != (ends{}) && f.hz[0] <= 0 {
		return o, misusedf("the axis is logarithmic: begin above zero, e.g. 20:20000", "--frequency begins at zero or below")
	}
	return o, nil
}
