package assemble

import (
	"math"
	"slices"

	"humdiff/report/level"
	"humdiff/report/noise"
	"humdiff/report/result"
)

// OnScale is a capture's result with its voltages on the scale of these settings,
// whatever scale it was stated on before, or none. Levels relative to full scale
// stay as they are.
func OnScale(settings result.Settings, c result.Capture) result.Capture {
	s := scaleOf(settings, result.ForAll)
	c.Hum, c.HumA = s.level(level.OfHum(c.Hum)), s.level(level.OfHum(c.HumA))
	c.Lines = slices.Clone(c.Lines)
	for i, l := range c.Lines {
		on := s.level(level.OfLine(l.Line))
		c.Lines[i].Volts, c.Lines[i].Absolute = on.Volts, on.Absolute
		c.Lines[i].FloorVolts = s.Voltage(inPower(l.FloorDBFSHz)).Volts
	}
	c.Tones = slices.Clone(c.Tones)
	for i, t := range c.Tones {
		c.Tones[i].Voltage = s.Voltage(inPower(t.DBFS))
	}
	n := &c.Noise
	n.Voltage = s.noise(noise.Totals{Flat: inPower(n.DBFS), A: inPower(n.ADBFS), W468: inPower(n.W468DBFS)})
	return c
}

func inPower(db result.Num) float64 { return math.Pow(10, float64(db)/10) }
