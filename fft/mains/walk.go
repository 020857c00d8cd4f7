package mains

import "math"

// The mains is modelled as a phase whose rate (2π times the frequency) walks
// at random: state (phase, rate), process noise of strength q in rad²/s³,
// phases observed with variance v, step dt. Kalman filter and
// Rauch–Tung–Striebel smoother, written out for two states.

// walkState is a filtered estimate and its covariance.
type walkState struct {
	phase, rate float64
	pp, pr, rr  float64
}

// filtered is a state and what was predicted before its observation.
type filtered struct {
	walkState
	predicted walkState
}

// phases are observed at even times; where missing, nothing was. A nil missing
// means all were.
type phases struct {
	at      []float64
	missing []bool
}

func (p *phases) add(phase float64, missing bool) {
	p.at, p.missing = append(p.at, phase), append(p.missing, missing)
}

func (p phases) lack(b int) bool { return p.missing != nil && p.missing[b] }

// known are the numbers of the first and the last that were observed.
func (p phases) known() (first, last int) {
	first, last = 0, len(p.at)-1
	for first < last && p.lack(first) {
		first++
	}
	for last > first && p.lack(last) {
		last--
	}
	return first, last
}

// step is the state dt later.
func (s walkState) step(dt, q float64) walkState {
	return walkState{
		phase: s.phase + dt*s.rate, rate: s.rate,
		pp: s.pp + 2*dt*s.pr + dt*dt*s.rr + q*dt*dt*dt/3,
		pr: s.pr + dt*s.rr + q*dt*dt/2,
		rr: s.rr + q*dt,
	}
}

// observe takes in an observation; it also returns its log-likelihood.
func (s walkState) observe(phase, v float64) (walkState, float64) {
	innovation, total := phase-s.phase, s.pp+v
	kp, kr := s.pp/total, s.pr/total
	after := walkState{
		phase: s.phase + kp*innovation, rate: s.rate + kr*innovation,
		pp: (1 - kp) * s.pp, pr: (1 - kp) * s.pr, rr: s.rr - kr*s.pr,
	}
	return after, -0.5 * (math.Log(total) + innovation*innovation/total)
}

// ratePrior is the variance of the rate about the mean slope before any phase is
// seen, wide enough to say nothing: a hundred times what two phases leave open,
// and ten times what the walk may have strayed. Much wider, and what the phases
// then say would be lost in rounding.
func ratePrior(n int, dt, v, q float64) float64 {
	return 100*v/(dt*dt) + 10*q*dt*float64(n)
}

// filterWalk runs the filter into states, one for each phase. The likelihood
// leaves out the first two phases, which only fix where the walk starts.
func filterWalk(states []filtered, p phases, dt, v, q float64) (likelihood float64) {
	n := len(p.at)
	first, last := p.known()
	slope := (p.at[last] - p.at[first]) / (dt * float64(max(last-first, 1)))
	start := walkState{phase: p.at[first], rate: slope, pp: v, rr: ratePrior(n, dt, v, q)}
	if first > 0 { // where it was before is as open as the rate
		back := dt * float64(first)
		start.phase -= back * slope
		start.pp += back * back * start.rr
	}
	states[0] = filtered{walkState: start}
	seen := 1
	for b := 1; b < n; b++ {
		before := states[b-1].step(dt, q)
		if p.lack(b) {
			states[b] = filtered{before, before}
			continue
		}
		after, l := before.observe(p.at[b], v)
		states[b] = filtered{after, before}
		if first > 0 && b == first {
			continue
		}
		if seen++; seen > 2 {
			likelihood += l
		}
	}
	return likelihood
}

// strength is a candidate q with its probability.
type strength struct{ q, p float64 }

// walkStrengths weighs the strengths that the phases leave open, each decade
// as likely as the next beforehand.
func walkStrengths(p phases, dt, v float64) []strength {
	var all []strength
	most, states := math.Inf(-1), make([]filtered, len(p.at))
	for e := -18.0; e <= 2; e += 0.5 {
		q := math.Pow(10, e)
		l := filterWalk(states, p, dt, v, q)
		all = append(all, strength{q, l})
		most = max(most, l)
	}
	var open []strength
	sum := 0.0
	for _, s := range all {
		if s.p = math.Exp(s.p - most); s.p > 0.01 {
			open = append(open, s)
			sum += s.p
		}
	}
	for i := range open {
		open[i].p /= sum
	}
	return open
}

// averageWalks smooths under every strength and averages, so that not knowing
// the strength shows in the variances. It also returns the mean strength.
func averageWalks(observed phases, dt, v float64, strengths []strength) (mean []walkState, q float64) {
	mean = make([]walkState, len(observed.at))
	var each [][]filtered
	for _, s := range strengths {
		states := smoothWalk(observed, dt, v, s.q)
		each = append(each, states)
		q += s.p * s.q
		for b, x := range states {
			mean[b].phase += s.p * x.phase
			mean[b].rate += s.p * x.rate
		}
	}
	for i, s := range strengths {
		for b, x := range each[i] {
			dp, dr := x.phase-mean[b].phase, x.rate-mean[b].rate
			mean[b].pp += s.p * (x.pp + dp*dp)
			mean[b].pr += s.p * (x.pr + dp*dr)
			mean[b].rr += s.p * (x.rr + dr*dr)
		}
	}
	return mean, q
}

// smoothWalk returns the smoothed state at every step.
func smoothWalk(observed phases, dt, v, q float64) []filtered {
	states := make([]filtered, len(observed.at))
	filterWalk(states, observed, dt, v, q)
	for b := len(states) - 2; b >= 0; b-- {
		s, next, p := states[b].walkState, states[b+1].walkState, states[b+1].predicted
		// Gain C = P·Fᵀ·P_predicted⁻¹.
		det := p.pp*p.rr - p.pr*p.pr
		a1, a2 := s.pp+dt*s.pr, s.pr // rows of P·Fᵀ
		b1, b2 := s.pr+dt*s.rr, s.rr
		c11, c12 := (a1*p.rr-a2*p.pr)/det, (a2*p.pp-a1*p.pr)/det
		c21, c22 := (b1*p.rr-b2*p.pr)/det, (b2*p.pp-b1*p.pr)/det
		dp, dr := next.phase-p.phase, next.rate-p.rate
		dpp, dpr, drr := next.pp-p.pp, next.pr-p.pr, next.rr-p.rr
		states[b].walkState = walkState{
			phase: s.phase + c11*dp + c12*dr,
			rate:  s.rate + c21*dp + c22*dr,
			pp:    s.pp + c11*c11*dpp + 2*c11*c12*dpr + c12*c12*drr,
			pr:    s.pr + c11*c21*dpp + (c11*c22+c12*c21)*dpr + c12*c22*drr,
			rr:    s.rr + c21*c21*dpp + 2*c21*c22*dpr + c22*c22*drr,
		}
	}
	return states
}
