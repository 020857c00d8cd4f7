package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"humdiff/fft"
	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/unit"
)

// choice is a flag with a few words to choose from.
type choice struct {
	value string
	of    []string
}

func (c *choice) String() string { return c.value }
func (c *choice) Type() string   { return strings.Join(c.of, "|") }

func (c *choice) Set(s string) error {
	if !slices.Contains(c.of, s) {
		if len(c.of) == 1 {
			return fmt.Errorf("only %s is known", c.of[0])
		}
		return fmt.Errorf("choose one of %s", strings.Join(c.of, ", "))
	}
	c.value = s
	return nil
}

// frequency is a flag in hertz, such as 5kHz.
type frequency float64

const (
	lowestUpTo  = 100   // Hz; below, no line but the fundamental is left
	highestUpTo = 20000 // Hz
)

func (f *frequency) String() string {
	if *f >= 1000 {
		return strconv.FormatFloat(float64(*f)/1000, 'g', -1, 64) + "kHz"
	}
	return strconv.FormatFloat(float64(*f), 'g', -1, 64) + "Hz"
}

func (f *frequency) Type() string { return "FREQUENCY" }

func (f *frequency) Set(s string) error {
	x, err := unit.Hz.Number(s)
	if err != nil {
		return errors.New("write a number and its unit, such as 5kHz or 800Hz")
	}
	if !(x >= lowestUpTo && x <= highestUpTo) {
		return fmt.Errorf("it has to lie between %d and %d Hz", lowestUpTo, highestUpTo)
	}
	*f = frequency(x)
	return nil
}

// channel is a flag that counts from 1; 0 is every channel.
type channel int

func (n *channel) String() string { return strconv.Itoa(int(*n)) }
func (n *channel) Type() string   { return "N" }

func (n *channel) Set(s string) error {
	x, err := strconv.ParseUint(s, 10, 16)
	if err != nil || x == 0 {
		return errors.New("write a channel's number, counted from 1")
	}
	*n = channel(x)
	return nil
}

// measuring is the flags that say how captures are measured.
type measuring struct {
	mains   choice
	wide    bool
	upTo    frequency
	window  choice
	channel channel
	weigh   choice

	reference reference
	scaling
}

func (m *measuring) defaults() {
	m.mains = choice{"auto", []string{"auto", "50", "60"}}
	m.upTo = 5000
	var names []string
	for _, w := range fft.Windows {
		names = append(names, w.Name)
	}
	m.window = choice{names[0], names}
}

func (m *measuring) add(c *cobra.Command) {
	m.addHow(c)
	m.scaling.add(c.Flags())
	c.Flags().Var(&m.channel, "channel", "this channel alone, counted from 1 (default: every one with a signal)")
}

// addHow adds the flags that say how, not what.
func (m *measuring) addHow(c *cobra.Command) {
	m.defaults()
	f := c.Flags()
	f.Var(&m.mains, "mains", "nominal mains frequency in Hz; auto looks for both")
	f.BoolVar(&m.wide, "wide-mains", false, "for generators: look from 42.5 to 57.5 and from 51 to 69 Hz")
	f.Var(&m.upTo, "up-to", "measure hum lines up to this frequency")
	f.Var(&m.window, "window", "window of the spectra and of the line estimates")
}

// addWeighting adds the flag of what is read beside lines and noise.
func (m *measuring) addWeighting(c *cobra.Command) {
	m.weigh.of = []string{report.Weighting468}
	c.Flags().Var(&m.weigh, "weighting", "also read the whole signal by the quasi-peak meter of ITU-R BS.468-4")
}

// request is what the flags ask for.
func (m *measuring) request() report.Request {
	r := report.Request{Scaling: m.Scaling, Version: version()}
	r.Wide, r.UpTo = m.wide, float64(m.upTo)
	r.Window, _ = fft.WindowByName(m.window.value) // one of the choices
	if m.mains.value != "auto" {
		r.Nominal, _ = strconv.ParseFloat(m.mains.value, 64)
	}
	r.Scaling.Channel, r.Weighting = int(m.channel), m.weigh.value
	r.Reference = int(m.reference)
	return r
}

// address reads a capture's address, and puts in the channel of --channel.
func (m *measuring) address(arg string) (capture.Address, error) {
	addr, err := capture.ParseAddress(arg)
	if err != nil {
		return addr, misused(err)
	}
	if m.channel == 0 {
		return addr, nil
	}
	if addr.Channel != 0 {
		return addr, misusedf("leave one of them out", "%s names a channel, and so does --channel", arg)
	}
	addr.Channel = int(m.channel)
	return addr, nil
}

// reference is a flag that names the channel that records the field, as an address does.
type reference int

func (n *reference) String() string { return "" }
func (n *reference) Type() string   { return "ch=N" }

func (n *reference) Set(s string) error {
	var c channel
	if err := c.Set(strings.TrimPrefix(strings.TrimPrefix(s, "#"), "ch=")); err != nil {
		return errors.New("write ch= and a channel's number, such as ch=2: a reference is a channel of the same file")
	}
	*n = reference(c)
	return nil
}

// addReference adds the flag to a command that can use one.
func (m *measuring) addReference(c *cobra.Command) {
	c.Flags().Var(&m.reference, "reference", "the channel that records the field, such as ch=2")
}

// within puts a span flag's span into an address.
func within(addr capture.Address, flag, span string) (capture.Address, error) {
	if span == "" {
		return addr, nil
	}
	if addr.Start != 0 || !math.IsInf(addr.End, 1) {
		return addr, misusedf("leave one of them out", "%s names a span, and so does --%s", addr, flag)
	}
	var err error
	addr.Start, addr.End, err = capture.ParseSpan(span)
	return addr, misused(err)
}

// scaling is the flags that say what full scale is in volts.
type scaling struct{ report.Scaling }

func (s *scaling) add(f *pflag.FlagSet) {
	f.StringVar(&s.FullScale, "full-scale", "", "rms `VOLTAGE` of a full-scale sine, such as 2.0V, 500mV, 6dBV, 4dBu or \"2.0V ±1%\"")
	f.StringVar(&s.Gain, "gain", "", "`GAIN` ahead of the converter, such as 40dB or \"40dB ±0.1dB\"; needs --full-scale")
	f.StringArrayVar(&s.Calibration, "calibration", nil, "instead, a tone of known rms voltage, as `CAPTURE=VOLTAGE`, such as "+
		"\"tone.wav=1.0V ±0.5% at 1kHz\"; twice gives the drift")
}

// sides is the flags for quiet and near on two scales.
type sides struct{ quiet, near report.OwnScale }

func (s *sides) add(c *cobra.Command) {
	for _, of := range []struct {
		*report.OwnScale
		name string
	}{{&s.quiet, "quiet"}, {&s.near, "near"}} {
		c.Flags().StringVar(&of.Gain, of.name+"-gain", "", "`GAIN` of "+of.name+", where not that of --gain")
		c.Flags().StringArrayVar(&of.Calibration, of.name+"-calibration", nil, "calibration of "+of.name+" alone, as `CAPTURE=VOLTAGE`")
	}
}

// complete tells the shells' completion what may follow a flag: the words of a choice, or
// folders; else files are offered.
func complete(root *cobra.Command) {
	for _, c := range root.Commands() {
		complete(c)
	}
	root.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if value, is := f.Value.(*choice); is {
			// The error is that of a flag registered twice; those that several commands share
			// by design are not registered anew.
			_ = root.RegisterFlagCompletionFunc(f.Name, cobra.FixedCompletions(value.of, cobra.ShellCompDirectiveNoFileComp))
		} else if name, _ := pflag.UnquoteUsage(f); name == "DIR" {
			_ = root.MarkFlagDirname(f.Name)
		}
	})
}
