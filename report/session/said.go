package session

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"humdiff/fft/fault"
	"humdiff/report/formula"
	"humdiff/report/model"
)

// cell is a value of a CSV file, in which everything is text.
type cell string

func asText(said any) (string, error) {
	switch v := said.(type) {
	case cell:
		return formula.Unguard(strings.TrimSpace(string(v))), nil
	case string:
		return v, nil
	}
	return "", fault.New("write it in quotes", "%s is no text", quoted(said))
}

// asNumber reads a number; in a cell the decimal sign may be a comma.
func asNumber(said any) (float64, error) {
	switch v := said.(type) {
	case int64:
		return float64(v), nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, errors.New("it has to be finite")
		}
		return v, nil
	case cell:
		s := strings.Replace(strings.TrimSpace(string(v)), ",", ".", 1)
		s = strings.Replace(s, "−", "-", 1) // a typographic minus is a minus
		x, err := strconv.ParseFloat(s, 64)
		if err == nil && !math.IsInf(x, 0) && !math.IsNaN(x) {
			return x, nil
		}
		return 0, fault.New("write digits alone, without unit and without a sign between thousands", "%q is no number", string(v))
	}
	return 0, fault.New("write digits, without quotes and without unit", "%s is no number", quoted(said))
}

// asSeconds reads how long something takes.
func asSeconds(said any) (float64, error) {
	v, err := asNumber(said)
	if err == nil && v <= 0 {
		err = fault.New("write seconds, such as 60", "%s is no length of a capture", decimal(v))
	}
	return v, err
}

// yesWords are as people and spreadsheets of some languages write them.
var yesWords = map[string]bool{
	"yes": true, "true": true, "1": true, "ja": true, "wahr": true, "oui": true, "vrai": true, "si": true, "verdadero": true, "vero": true,
	"no": false, "false": false, "0": false, "nein": false, "falsch": false, "non": false, "faux": false, "falso": false,
}

func asYes(said any) (bool, error) {
	switch v := said.(type) {
	case bool:
		return v, nil
	case cell:
		if is, ok := yesWords[folded(string(v))]; ok {
			return is, nil
		}
		return false, fault.New("write yes or no", "%q is neither", string(v))
	}
	return false, fault.New("write true or false, without quotes", "%s is neither", quoted(said))
}

// Forms of dates in cells: that of ISO 8601, and day first where points part it,
// as nowhere else is another order written with points. Those with strokes are
// put in order where the whole list is known.
var (
	dateForms  = []string{"2006-1-2", "2.1.2006", "2.1.06"}
	clockForms = []string{"", " 15:04", " 15:04:05", " 3:04 PM", " 3:04:05 PM"}
)

// asTime reads a date, or a date and time; without a zone the clock on the wall
// is meant, and kept as UTC.
func asTime(said any) (time.Time, error) {
	switch v := said.(type) {
	case time.Time:
		return v, nil
	case toml.LocalDate:
		return v.AsTime(time.UTC), nil
	case toml.LocalDateTime:
		return v.AsTime(time.UTC), nil
	case cell:
		if t, ok := timeOf(strings.TrimSpace(string(v))); ok {
			return t, nil
		}
		if strokes.MatchString(string(v)) {
			return time.Time{}, fault.New("write 2026-05-31, or 2026-05-31 14:05", "in %s no other date tells whether the day or the month comes first", quoted(said))
		}
	}
	return time.Time{}, fault.New("write 2026-05-31, or 2026-05-31 14:05", "%s is no date or time", quoted(said))
}

func timeOf(s string) (t time.Time, ok bool) {
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return t, true
	}
	s = tInside.ReplaceAllString(s, "$1 ")
	for _, date := range dateForms {
		for _, clock := range clockForms {
			if t, err := time.Parse(date+clock, s); err == nil {
				return t, true
			}
		}
	}
	return serialTime(s)
}

var tInside = regexp.MustCompile(`^([0-9-]+)T`)

// serialTime is a date as a spreadsheet keeps it, in days since 1899-12-30.
func serialTime(s string) (time.Time, bool) {
	days, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || !(days > 36526 && days < 73051) { // the years 2000 to 2099
		return time.Time{}, false
	}
	at := time.Duration(math.Round(days*86400)) * time.Second
	return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Add(at), true
}

// strokes is a date with strokes, of which some countries write the day first and
// others the month.
var strokes = regexp.MustCompile(`^\s*([0-9]{1,2})/([0-9]{1,2})/([0-9]{4})(.*)$`)

// dated puts dates with strokes in the order of ISO 8601, where one of them all
// tells which number is the day: it is more than 12.
func dated(runs []entry) {
	first, second := 0, 0 // the largest of each
	each := func(do func(g *given, m []string)) {
		for _, e := range runs {
			for i := range e.keys {
				c, _ := e.keys[i].said.(cell)
				if m := strokes.FindStringSubmatch(string(c)); m != nil && e.keys[i].name == model.StartKey {
					do(&e.keys[i], m)
				}
			}
		}
	}
	each(func(_ *given, m []string) {
		a, _ := strconv.Atoi(m[1])
		b, _ := strconv.Atoi(m[2])
		first, second = max(first, a), max(second, b)
	})
	if (first > 12) == (second > 12) {
		return
	}
	each(func(g *given, m []string) {
		if first > 12 {
			m[1], m[2] = m[2], m[1]
		}
		g.said = cell(m[3] + "-" + m[1] + "-" + m[2] + m[4])
	})
}

func asList(said any) ([]string, error) {
	all := []string{}
	switch v := said.(type) {
	case cell:
		return append(all, strings.Fields(formula.Unguard(string(v)))...), nil
	case []any:
		for _, each := range v {
			s, err := asText(each)
			if err != nil {
				return nil, err
			}
			all = append(all, s)
		}
		return all, nil
	}
	return nil, fault.New(`write ["this", "that"]`, "%s is no list", quoted(said))
}

// quoted is a value as it may be told to the one who wrote it.
func quoted(said any) string {
	switch v := said.(type) {
	case string:
		return strconv.Quote(v)
	case cell:
		return strconv.Quote(string(v))
	case map[string]any:
		return "a table"
	case []any:
		return "a list"
	}
	return fmt.Sprint(said)
}

// decimal writes the shortest decimal that reads back as x.
func decimal(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
