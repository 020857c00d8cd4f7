package verdict

import (
	"math"
	"time"

	"humdiff/fft/capture"
	"humdiff/report/result"
	"humdiff/report/session"
)

// Again is what a judged session was judged by, so that anyone who has its JSON
// can judge it anew: Judge(Again(s)) is s. It fails where times or addresses
// aren't what they were written as.
func Again(s result.Session) (Input, error) {
	in := Input{Settings: s.Settings, Version: s.Tool.Version, Photos: s.Bench.Photos, Warnings: s.Warnings, Blind: s.Blind}
	in.Session = session.Session{Path: s.File, Title: s.Title, Bench: benchAgain(s.Bench), Roles: session.Roles{Witness: s.Witness, Idle: s.Idle}, Playback: playbackAgain(s.Playback)}
	for _, r := range s.Runs {
		run, measured, err := runAgain(r)
		if err != nil {
			return Input{}, err
		}
		in.Session.Runs, in.Runs = append(in.Session.Runs, run), append(in.Runs, measured)
	}
	for _, c := range s.Claims {
		claim, err := claimAgain(c)
		if err != nil {
			return Input{}, err
		}
		in.Session.Claims = append(in.Session.Claims, claim)
	}
	return in, nil
}

func benchAgain(b result.Bench) session.Bench {
	out := session.Bench{
		MainsVolts: number(b.MainsVolts), FullScale: b.FullScale, Gain: b.Gain, Calibration: b.Calibration,
		InputOhms: number(b.InputOhms), InputFarads: number(b.InputFarads), Balanced: tri(b.Balanced),
		SpacingMM: number(b.SpacingMM), ParallelMM: number(b.ParallelMM), Notes: b.Notes,
	}
	if b.MainsHz.Ok() {
		out.MainsHz = float64(b.MainsHz)
	}
	return out
}

func runAgain(r result.SessionRun) (session.Run, Run, error) {
	start, err := timeOf(r.Start)
	if err != nil {
		return session.Run{}, Run{}, err
	}
	out := session.Run{
		Line: r.Line, Cable: r.Cable, Termination: ohms(r.Termination), Exposure: r.Exposure, Condition: session.Condition(r.Condition),
		Repeat: r.Repeat, Replaced: r.Replaced, Plug: r.Plug, Loaded: tri(r.Loaded), LoadAmps: number(r.LoadAmps), Bonded: tri(r.Bonded),
		Measured: r.Measured, Start: start, Note: r.Note, Guessed: r.Guessed,
	}
	if r.Address != "" {
		if out.Address, err = capture.ParseAddress(r.Address); err != nil {
			return session.Run{}, Run{}, err
		}
	}
	measured := Run{Capture: r.Capture, Idle: r.IdleCapture}
	switch {
	case r.Failed:
		measured.Why = r.LeftOut
	case !r.Used && r.LeftOut != whyClipped && r.LeftOut != whySilent:
		out.LeftOut = r.LeftOut
	}
	return out, measured, nil
}

func claimAgain(c result.ClaimResult) (session.Claim, error) {
	written, err := timeOf(c.Written)
	return session.Claim{
		Line: c.Line, Name: c.Name, Says: c.Says, Written: written, By: c.By, Kind: session.ClaimKind(c.Kind), Cable: c.Cable, Than: c.Than,
		DB: number(c.DB), Volts: number(c.Volts), Termination: ohms(c.Termination), Exposure: c.Exposure,
		Of: session.Quantity{Harmonic: c.Quantity.Harmonic, AWeighted: c.Quantity.AWeighted},
	}, err
}

func timeOf(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.RFC3339Nano, s)
}

func number(n result.Num) float64 {
	if !n.Ok() {
		return math.NaN()
	}
	return float64(n)
}

func ohms(t result.Termination) float64 {
	if t.Open {
		return session.Open
	}
	return number(t.Ohms)
}

func tri(s string) session.Tri {
	return map[string]session.Tri{result.Yes: session.Yes, result.No: session.No}[s]
}
