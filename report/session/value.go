package session

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"humdiff/fft/fault"
	"humdiff/report/model"
	"humdiff/report/unit"
)

// value reads what is said of a key into where it is kept, and gives what is kept
// to be written; nil where nothing is stated.
type value struct {
	read  func(said any) error
	write func() any
}

// kept is a value whose zero means that nothing is stated.
func kept[V comparable](to *V, as func(any) (V, error)) value {
	return value{reads(to, as), func() any {
		var zero V
		if *to == zero {
			return nil
		}
		return *to
	}}
}

// written is a value that stands in the file as a function makes it.
func (v value) written(as func(any) any) value {
	return value{v.read, func() any {
		if now := v.write(); now != nil {
			return as(now)
		}
		return nil
	}}
}

// reads keeps what as makes of what is said, if it can.
func reads[V any](to *V, as func(any) (V, error)) func(any) error {
	return func(said any) error {
		v, err := as(said)
		if err == nil {
			*to = v
		}
		return err
	}
}

func text(to *string) value       { return kept(to, asText) }
func yes(to *bool) value          { return kept(to, asYes) }
func instant(to *time.Time) value { return kept(to, asTime) }

func list(to *[]string) value {
	return value{reads(to, asList), func() any {
		if len(*to) == 0 {
			return nil
		}
		return *to
	}}
}

func photos(to *[]model.Photo) value {
	as := func(said any) ([]model.Photo, error) {
		all := []model.Photo{}
		files, err := asList(said)
		for _, f := range files {
			all = append(all, model.Photo{File: f})
		}
		return all, err
	}
	return value{reads(to, as), func() any {
		var files []string
		for _, p := range *to {
			files = append(files, p.File)
		}
		return list(&files).write()
	}}
}

// answer is yes, no, what else the words for it stand for, or empty.
func answer(to *string, words map[string]string) value {
	as := func(said any) (string, error) {
		if is := words[strings.NewReplacer(" ", "", "_", "").Replace(folded(fmt.Sprint(said)))]; is != "" {
			return is, nil
		}
		if is, err := asYes(said); err != nil || !is {
			return model.No, err
		}
		return model.Yes, nil
	}
	return kept(to, as).written(func(v any) any {
		if v == model.ClassTwo {
			return "class2"
		}
		return v == model.Yes
	})
}

// count is a whole number from 1.
func count(to *int, most int) value {
	return kept(to, func(said any) (int, error) {
		x, err := asNumber(said)
		if err == nil && (x != math.Trunc(x) || x < 1 || x > float64(most)) {
			err = fmt.Errorf("%s is no whole number from 1 to %d", decimal(x), most)
		}
		if err != nil {
			return 0, err
		}
		return int(x), nil
	})
}

// reference is a channel of a run's own file, as an address names it.
func reference(to *int) value {
	number := count(to, math.MaxUint16)
	return value{func(said any) error {
		if s, err := asText(said); err == nil {
			said = cell(strings.TrimPrefix(folded(s), "ch="))
		}
		return number.read(said)
	}, number.write}.written(func(n any) any { return fmt.Sprintf("ch=%d", n) })
}

// word is one of a few, or what stands for one.
func word(to *string, also map[string]string, words ...string) value {
	return kept(to, func(said any) (string, error) {
		s, err := asText(said)
		if w := folded(s); err != nil || slices.Contains(words, w) {
			return w, err
		}
		if w := also[folded(s)]; w != "" {
			return w, nil
		}
		return "", fault.New("write one of "+strings.Join(words, ", "), "%q is not known", s)
	})
}

func mains(to *model.Num) value {
	return value{reads(to, func(said any) (model.Num, error) {
		if hz, _, err := amount(said, unit.Hz, 1, false); err == nil && (hz == 50 || hz == 60) {
			return model.Num(hz), nil
		}
		return 0, fault.New("write 50 or 60, or leave it out to have both looked for", "%s is no nominal mains frequency", quoted(said))
	}), func() any { return num(*to) }}
}

// number is a number that is at least 0, without its unit or with it; so many of
// it are one of the unit. within is where the share goes that it may be off by;
// nil where a tolerance has no use.
func number(to *model.Num, in unit.Unit, many float64, within *model.Num) value {
	read := func(said any) error {
		v, off, err := amount(said, in, many, within != nil)
		if err == nil && v < 0 {
			err = fmt.Errorf("%s is less than 0", decimal(v))
		}
		if err != nil {
			return err
		}
		*to = model.Num(v)
		if within != nil {
			*within = model.Of(off)
		}
		return nil
	}
	return value{read, func() any {
		if within == nil || !within.Ok() || !to.Ok() {
			return num(*to)
		}
		return in.WriteNumber(float64(*to)/many) + " +-" + decimal(model.Digits(100*float64(*within), 7)) + "%"
	}}
}

// amount is a number without its unit or with it, and the share by which it may be
// off, NaN where nothing was said of that; of two ends that lie unlike, the farther
// one. Where a tolerance has no use it is refused.
func amount(said any, in unit.Unit, many float64, tolerance bool) (v, share float64, err error) {
	s, _ := asText(said)
	if _, ok := said.(cell); ok {
		s = strings.Replace(s, ",", ".", 1)
	}
	hasUnit := strings.ContainsFunc(s, func(r rune) bool { return r > '9' && r != 'e' && r != 'E' && r != '−' || r == '%' })
	switch {
	case !hasUnit:
		v, err = asNumber(said)
		return v, math.NaN(), err
	case !tolerance:
		v, err = in.Number(s)
		return v * many, math.NaN(), err
	}
	q, err := in.Parse(s)
	v, lo, hi := q.Numbers()
	return v * many, model.Digits(math.Max(v-lo, hi-v)/v, 7), err
}

// stated is a quantity with its unit, such as "87dB".
func stated(to *model.Num, in unit.Unit) value {
	return value{reads(to, func(said any) (model.Num, error) {
		s, err := asText(said)
		if err != nil {
			return 0, err
		}
		v, err := in.Number(s)
		return model.Num(v), err
	}), func() any {
		if !to.Ok() {
			return nil
		}
		return in.WriteNumber(float64(*to))
	}}
}

// limit is what a number of a cable is claimed to be at most, as "5pF" or "5pF/m"; of
// several limits of one claim each has a unit of its own.
func limit(to *model.Limit, in unit.Unit, base string) value {
	return value{reads(to, func(said any) (model.Limit, error) {
		s, err := asText(said)
		if err != nil {
			return *to, err
		}
		l := *to
		amount, perMetre := strings.TrimSpace(s), false
		if l.Unit = base; base != "V" {
			amount, perMetre = strings.CutSuffix(amount, "/m")
		}
		if perMetre {
			l.Unit += "/m"
		}
		v, err := in.Number(amount)
		l.Value = model.Num(v)
		return l, err
	}), func() any {
		if of, _ := strings.CutSuffix(to.Unit, "/m"); of != base {
			return nil
		}
		return in.WriteNumber(float64(to.Value)) + strings.TrimPrefix(to.Unit, base)
	}}
}

// termination is a resistance, or "open".
func termination(to *model.Termination) value {
	as := func(said any) (model.Termination, error) {
		s, err := asText(said)
		if err == nil && openWords[folded(s)] {
			return model.Termination{Ohms: model.None, Open: true}, nil
		}
		if ohms, ok := ohmsOf(s); err == nil && ok {
			return model.Termination{Ohms: model.Num(ohms)}, nil
		}
		x, err := asNumber(said)
		if err != nil || x < 0 {
			return model.Termination{}, fault.New(`write ohms, such as 20 or "4.7kohm", or "open"`, "%s is no resistance", quoted(said))
		}
		return model.Termination{Ohms: model.Num(x)}, nil
	}
	return value{reads(to, as), func() any {
		if to.Open {
			return "open"
		}
		return num(to.Ohms)
	}}
}

// Words for what a claim is about.
const (
	aWeightedHum = "A-weighted hum"
	harmonicWord = "harmonic "
)

func quantity(to *model.Quantity) value {
	as := func(said any) (model.Quantity, error) {
		s, err := asText(said)
		if err != nil {
			return model.Quantity{}, err
		}
		number, isLine := strings.CutPrefix(folded(s), harmonicWord)
		h, err := strconv.Atoi(strings.TrimSpace(number))
		switch {
		case folded(s) == "hum":
			return model.Quantity{}, nil
		case folded(s) == folded(aWeightedHum):
			return model.Quantity{AWeighted: true}, nil
		case isLine && err == nil && h >= 1 && h <= 1000:
			return model.Quantity{Harmonic: h}, nil
		}
		return model.Quantity{}, fault.New(`write "hum", "A-weighted hum", or a line such as "harmonic 3"`, "%q is not known", s)
	}
	return value{reads(to, as), func() any {
		switch {
		case to.AWeighted:
			return aWeightedHum
		case to.Harmonic > 0:
			return harmonicWord + strconv.Itoa(to.Harmonic)
		}
		return nil
	}}
}

// num is nil for a number that isn't there.
func num(n model.Num) any {
	if !n.Ok() {
		return nil
	}
	return float64(n)
}
