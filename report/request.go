// Package report is the way through: a request goes in, a model value comes out,
// measured, judged and sealed with its fingerprint. The command, the bench page
// and verify call it and nothing beneath it; it shows nothing and writes no file.
package report

import (
	"context"
	"errors"

	"humdiff/report/measure"
	"humdiff/report/model"
	"humdiff/report/unit"
	"humdiff/report/wire"
)

// Request is how to measure, and what volts stand on. The zero value measures as
// humdiff does by default, and knows no volts.
type Request struct {
	measure.Options         // also the engine of the transforms, and who is told of progress
	Scaling         Scaling // empty: no volts are known
	Version         string  // of the program, for the result's head

	// Moved is where the captures of tones lie that aren't where Scaling's words say.
	Moved map[string]string

	// Settings, where given, are taken as they stand instead of what Scaling comes
	// to: see Scaled. The options still say how to measure.
	Settings *model.Settings
}

// Weighting468 is the Weighting to ask for.
const Weighting468 = measure.Weighting468

// Misused is an error in what was asked, not in the captures or the work.
type Misused struct{ Err error }

func (m Misused) Error() string { return m.Err.Error() }

// Unwrap gives the error itself.
func (m Misused) Unwrap() error { return m.Err }

// IsMisuse says that the request's words are wrong.
func IsMisuse(err error) bool {
	var m Misused
	return errors.As(err, &m)
}

func misused(err error) error {
	if err == nil {
		return nil
	}
	return Misused{err}
}

// read puts a quantity where it is kept, if one was said.
func read[V ~float64](said string, in unit.Unit, to *V) error {
	if said == "" {
		return nil
	}
	v, err := in.Number(said)
	if err == nil {
		*to = V(v)
	}
	return misused(err)
}

// Again is a request that measures as these settings say a result was measured,
// on the scales they state.
func Again(s model.Settings) (Request, error) {
	opt, err := measure.OptionsOf(s)
	return Request{Options: opt, Settings: &s}, err
}

// Scaled is the request with its scales read, calibrations measured among them:
// its Settings say whether volts are known before anything else is measured. All
// requests are scaled sooner or later; one that is isn't again.
func (r Request) Scaled(ctx context.Context) (Request, error) {
	if r.Settings != nil {
		return r, nil
	}
	scales, err := r.scales(ctx)
	if err != nil {
		return r, err
	}
	set := measure.Settings(r.Options, scales...)
	set.Asked = r.Scaling
	r.Settings = &set
	return r, nil
}

// head is the head of a result.
func (r Request) head(schema string) model.Head {
	return model.Head{Schema: schema, Tool: model.Tool{Version: r.Version}}
}

// sealed puts the fingerprint on a result that is whole.
func sealed[R any, P interface {
	*R
	wire.Result
}](r R) (R, error) {
	err := wire.Seal(P(&r))
	return r, err
}
