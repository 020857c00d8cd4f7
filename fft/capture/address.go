package capture

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"

	"humdiff/fft/fault"
)

// Address says where a capture is: a WAV or FLAC file, one of its channels or all, and
// a span in seconds from the file's start.
//
// Address{Path: p} is the whole file: an End of 0 counts as open, as does +Inf.
type Address struct {
	Path       string
	Channel    int     // from 1; 0 is all
	Start, End float64 // seconds; End is +Inf when open
}

const (
	addressHint = `write "take.wav#t=10,20&ch=1": seconds 10 to 20 of channel 1; "t=10" runs to the end, "t=,20" from the start`
	spanHint    = `write START:END in seconds, e.g. 90:150; 90: runs to the end, :60 from the start`
	maxSeconds  = 1e9 // past any capture; keeps frame counts far from overflow
	maxChannel  = 1<<16 - 1
)

// ParseAddress reads FILE or FILE#t=START,END&ch=N.
//
// t is the temporal part of W3C Media Fragments 1.0 in normal play time:
// seconds (12.5), mm:ss or hh:mm:ss with optional decimals, after an optional
// "npt:"; either end may be left out. ch counts from 1. The parts may come in
// either order, each once. Nothing is percent-decoded: paths are taken as they
// stand.
//
// A "#" may be part of a file's name. What follows the last "#" is read as a
// fragment only if one of its parts, split at "&", begins with "t=" or "ch=",
// and never if a file of the whole name exists. Any other file is reached by
// adding a fragment: "odd#t=1.wav#t=0" is the whole of "odd#t=1.wav".
func ParseAddress(s string) (Address, error) {
	path, fragment, found := cutFragment(s)
	if !found || exists(s) {
		path, fragment = s, ""
	}
	a := Address{Path: path, End: math.Inf(1)}
	if path == "" {
		return Address{}, fault.New(addressHint, "%q names no file", s)
	}
	if fragment == "" {
		return a, nil
	}
	if err := a.parseFragment(fragment); err != nil {
		return Address{}, fault.In(path, err)
	}
	return a, nil
}

func cutFragment(s string) (path, fragment string, found bool) {
	i := strings.LastIndexByte(s, '#')
	if i < 0 {
		return s, "", false
	}
	for part := range strings.SplitSeq(s[i+1:], "&") {
		if strings.HasPrefix(part, "t=") || strings.HasPrefix(part, "ch=") {
			return s[:i], s[i+1:], true
		}
	}
	return s, "", false
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

func (a *Address) parseFragment(fragment string) error {
	seen := map[string]bool{}
	for part := range strings.SplitSeq(fragment, "&") {
		key, value, _ := strings.Cut(part, "=")
		if seen[key] {
			return fault.New(addressHint, "%q is given twice in %q", key, fragment)
		}
		seen[key] = true
		var err error
		switch key {
		case "t":
			a.Start, a.End, err = parseTimes(value)
		case "ch":
			a.Channel, err = parseChannel(value)
		default:
			err = fault.New(addressHint, "%q in the address is neither t= nor ch=", part)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func parseChannel(s string) (int, error) {
	n, err := strconv.ParseUint(s, 10, 32)
	if err != nil || n < 1 || n > maxChannel {
		return 0, fault.New("channels count from 1", "%q is no channel number", s)
	}
	return int(n), nil
}

// parseTimes reads W3C's "START", "START,END" or ",END".
func parseTimes(s string) (start, end float64, err error) {
	from, to, _ := strings.Cut(strings.TrimPrefix(s, "npt:"), ",")
	return parseEnds(s, from, to, addressHint, playTime)
}

// ParseSpan reads the START:END of the span flags, both in plain seconds;
// either may be left out. End is +Inf when open.
func ParseSpan(s string) (start, end float64, err error) {
	from, to, found := strings.Cut(s, ":")
	if !found || strings.Contains(to, ":") {
		return 0, 0, fault.New(spanHint, "%q is no span", s)
	}
	return parseEnds(s, from, to, spanHint, plainSeconds)
}

func parseEnds(whole, from, to, hint string, parse func(string) (float64, error)) (start, end float64, err error) {
	if from == "" && to == "" {
		return 0, 0, fault.New(hint, "%q gives neither a start nor an end", whole)
	}
	end = math.Inf(1)
	if from != "" {
		if start, err = parse(from); err != nil {
			return 0, 0, fault.New(hint, "%s in span %q", err, whole)
		}
	}
	if to != "" {
		if end, err = parse(to); err != nil {
			return 0, 0, fault.New(hint, "%s in span %q", err, whole)
		}
	}
	if start >= end {
		return 0, 0, fault.New(hint, "span %q is empty: it starts at %s s and ends at %s s", whole, decimal(start), decimal(end))
	}
	return start, end, nil
}

var (
	secondsForm = regexp.MustCompile(`^[0-9]+(\.[0-9]*)?$`)
	clockForm   = regexp.MustCompile(`^(?:([0-9]+):([0-5][0-9])|([0-5]?[0-9])):([0-5][0-9](?:\.[0-9]*)?)$`)
)

func plainSeconds(s string) (float64, error) {
	if strings.Contains(s, ",") {
		return 0, fmt.Errorf("%q has a decimal comma: write a decimal point", s)
	}
	if !secondsForm.MatchString(s) {
		return 0, fmt.Errorf("%q is no number of seconds", s)
	}
	return checkSeconds(s, toFloat(s))
}

// playTime reads seconds, mm:ss or hh:mm:ss. One digit is enough for the minutes
// of mm:ss, where W3C wants two.
func playTime(s string) (float64, error) {
	if m := clockForm.FindStringSubmatch(s); m != nil {
		return checkSeconds(s, toFloat(m[1])*3600+toFloat(m[2]+m[3])*60+toFloat(m[4]))
	}
	return plainSeconds(s)
}

// toFloat converts digits the caller has matched; empty is 0.
func toFloat(digits string) float64 {
	x, _ := strconv.ParseFloat(digits, 64) // out of range is +Inf, which checkSeconds refuses
	return x
}

func checkSeconds(s string, x float64) (float64, error) {
	if x > maxSeconds {
		return 0, fmt.Errorf("%q is longer than any capture", s)
	}
	return x, nil
}

// String writes the address as ParseAddress reads it.
func (a Address) String() string {
	var parts []string
	open := a.End == 0 || math.IsInf(a.End, 1)
	switch {
	case !open && a.Start == 0:
		parts = append(parts, "t=,"+decimal(a.End))
	case !open:
		parts = append(parts, "t="+decimal(a.Start)+","+decimal(a.End))
	case a.Start > 0:
		parts = append(parts, "t="+decimal(a.Start))
	}
	if a.Channel != 0 {
		parts = append(parts, "ch="+strconv.Itoa(a.Channel))
	}
	if _, _, ambiguous := cutFragment(a.Path); ambiguous && len(parts) == 0 {
		parts = append(parts, "t=0")
	}
	if len(parts) == 0 {
		return a.Path
	}
	return a.Path + "#" + strings.Join(parts, "&")
}

// decimal writes the shortest decimal that reads back as x.
func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
