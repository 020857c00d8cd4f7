package plan

import (
	"fmt"
	"math"

	"humdiff/fft/fault"
	"humdiff/report/model"
)

// MostRepeats and MostCables bound what is planned for one sitting.
const (
	MostRepeats = 100
	MostCables  = 20
)

// falseAlarms of all lines together, as fft/mains has them.
const falseAlarms = 0.005

// shares of recordings that are to show the line.
var shares = []float64{0.9, 0.975}

// lengths of recordings of which it is said what they see, seconds.
var lengths = []float64{10, 60, 600}

// NoLevel is a level that wasn't given.
var NoLevel = model.PlanLevel{DBFS: model.None, Volts: model.None}

// Length says how long to record to see a line on a floor, of so many lines
// looked for together; and what recordings of some lengths see. see may be
// NoLevel. It is an error where line and floor are known in no common unit.
func Length(see, floor model.PlanLevel, lines int) (model.PlanLength, error) {
	l := model.PlanLength{See: see, Floor: floor, Lines: lines, FalseAlarmShare: falseAlarms,
		Times: []model.PlanTime{}, Alone: []model.PlanTime{}, Reach: []model.PlanTime{}}
	asked := see.DBFS.Ok() || see.Volts.Ok()
	line, noise := float64(see.DBFS), float64(floor.DBFS)
	if !floor.DBFS.Ok() || asked && !see.DBFS.Ok() {
		line, noise = decibels(see.Volts), decibels(floor.Volts)
	}
	if math.IsNaN(noise) || asked && math.IsNaN(line) {
		return l, fault.New("give the input's full scale, e.g. --full-scale 2.0V, or both in the same unit", "--see and the floor are in different units")
	}
	sought := Sought{LineDB: line, FloorDB: noise, Lines: lines, Alarms: falseAlarms}
	for _, share := range shares {
		sought.Share = share
		if asked {
			l.Times = append(l.Times, model.PlanTime{Share: share, Seconds: model.Of(Seconds(sought)), Line: see})
			l.Alone = append(l.Alone, model.PlanTime{Share: share, Seconds: model.Of(SecondsAlone(sought)), Line: see})
		}
	}
	for _, seconds := range lengths {
		up := model.Num(Level(sought, seconds) - noise)
		l.Reach = append(l.Reach, model.PlanTime{Share: sought.Share, Seconds: model.Num(seconds),
			Line: model.PlanLevel{DBFS: floor.DBFS + up, Volts: floor.Volts * model.Num(math.Pow(10, float64(up)/20))}})
	}
	return l, nil
}

func decibels(v model.Num) float64 { return 20 * math.Log10(float64(v)) }

// Recommended is how long to record each capture, in whole tens of seconds: as
// long as the line takes that was to be seen, else a minute. It is not ok where
// no recording of six hours shows that line.
func Recommended(l *model.PlanLength) (seconds float64, ok bool) {
	const aMinute = 60.0
	if l == nil || len(l.Times) == 0 {
		return aMinute, true
	}
	last := l.Times[len(l.Times)-1].Seconds
	if !last.Ok() {
		return aMinute, false
	}
	return 10 * math.Ceil(float64(last)/10), true
}

// Shown is what repeats are to show, dB; None: not stated. One of the first two is.
type Shown struct{ Difference, Within, Spread model.Num }

// Count says how many repeats to make of each of so many cables: given ones
// (0: none), or enough to tell a difference at a spread, or sameness within a margin, or
// six.
func Count(cables int, show Shown, given int) (model.PlanRepeats, error) {
	p := model.PlanRepeats{DifferenceDB: show.Difference, WithinDB: show.Within, SpreadDB: show.Spread, Pairs: max(1, cables*(cables-1)/2),
		Powers: []model.PlanPower{}, Chosen: Unknown, Why: model.RepeatsUnknown, Power: model.None}
	p.Alpha = 0.05 / float64(p.Pairs)
	ratio, spread := float64(show.Difference), float64(show.Spread)
	repeats, reached := Repeats, Power
	if show.Within.Ok() {
		p.Alpha, ratio, spread = 0.05, float64(show.Within), spread*math.Sqrt2 // of a pair's difference
		repeats, reached = RepeatsSame, func(n int, margin, spread, alpha float64) float64 { return PowerSame(n, margin, 0, spread, alpha) }
	}
	sought := show.Difference.Ok() || show.Within.Ok()
	if sought {
		for _, power := range []float64{0.8, 0.95} {
			p.Powers = append(p.Powers, model.PlanPower{Power: power, Repeats: repeats(ratio, spread, power, p.Alpha)})
		}
		n := p.Powers[0].Repeats
		if given == 0 && (n == 0 || n > MostRepeats) {
			return p, fault.New("look for a larger ratio, make the spread smaller, or say --repeats",
				"to tell %gdB at a spread of %gdB takes more than %d repeats", ratio, float64(show.Spread), MostRepeats)
		}
		p.Chosen, p.Why = n+n%2, model.RepeatsPower
	}
	if given != 0 {
		p.Chosen, p.Why = given, model.RepeatsGiven
	}
	if given < 0 || given == 1 || given > MostRepeats {
		return p, fault.New(fmt.Sprintf("write a whole number from 2 to %d", MostRepeats), "--repeats %d is no number of repeats", given)
	}
	if sought {
		p.Power = model.Num(reached(p.Chosen, ratio, spread, p.Alpha))
	}
	return p, nil
}
