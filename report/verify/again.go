package verify

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"strings"

	"humdiff/fft/capture"
	"humdiff/report"
	"humdiff/report/model"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// again measures what a result was measured from, and compares: the captures, what
// was warned of, and what volts stand on.
func (v *verifier) again(ctx context.Context, r wire.Result) error {
	switch r := r.(type) {
	case *model.Compare:
		return v.compareAgain(ctx, r)
	case *model.Measure:
		return v.measureAgain(ctx, r)
	case *model.Trend:
		return v.trendAgain(ctx, r)
	case *model.Session:
		return v.sessionAgain(ctx, r)
	case *model.Passport:
		return v.passportAgain(ctx, r)
	}
	return fmt.Errorf("verify: a %T isn't made again", r)
}

// scaled is the request that remakes a result, its scales worked out anew from what was
// asked of volts: tones of known voltage are measured again. Where one isn't found the
// scales are taken as reported, and counted as left out.
func (v *verifier) scaled(ctx context.Context, set model.Settings) (report.Request, error) {
	req, err := v.request(set)
	if err != nil {
		return req, err
	}
	req.Moved = map[string]string{}
	found, err := v.tones(ctx, set, req.Moved)
	if err != nil {
		return req, err
	}
	if !found {
		v.out.LeftOut += len(set.Scales)
		return req, nil
	}
	req.Settings, req.Scaling = nil, set.Asked
	if req, err = req.Scaled(ctx); report.IsMisuse(err) {
		err = v.damaged(err)
	}
	return req, err
}

// compareAgain measures the pairs again, which are all of one pair of files.
func (v *verifier) compareAgain(ctx context.Context, r *model.Compare) error {
	req, err := v.scaled(ctx, r.Settings)
	if err != nil {
		return err
	}
	var files report.Compared
	found := len(r.Pairs) > 0
	for i, p := range r.Pairs {
		of, ok, err := v.filesOf(ctx, p)
		if err != nil {
			return err
		}
		if i == 0 {
			files = of
		}
		found = found && ok && reflect.DeepEqual(of, files)
	}
	if !found {
		v.leftOut("pairs", r)
		return nil
	}
	if a := r.Pairs[0].Audibility; a != nil {
		files.Playback = &a.Playback
	}
	made, err := report.Compare(ctx, req, files)
	if err != nil {
		return err
	}
	return v.measured(r, &made)
}

// filesOf is where a pair's captures lie now; ok: all of them were found.
func (v *verifier) filesOf(ctx context.Context, p model.Pair) (c report.Compared, ok bool, err error) {
	ok = true
	at := func(s model.Side) capture.Address {
		addr, there, failed := v.address(ctx, s)
		ok, err = ok && there, cmp.Or(err, failed)
		return addr
	}
	c.Quiet, c.Near = at(p.Quiet.Side), at(p.Near.Side)
	if p.Residual != nil {
		residual := at(p.Residual.Side)
		c.Residual = &residual
	}
	return c, ok, err
}

func (v *verifier) measureAgain(ctx context.Context, r *model.Measure) error {
	var sides []model.Side
	for _, c := range r.Captures {
		sides = append(sides, c.Side)
	}
	return v.capturesAgain(ctx, r, sides, func(req report.Request, captures []capture.Address) (wire.Result, error) {
		made, err := report.Measure(ctx, req, captures)
		return &made, err
	})
}

func (v *verifier) trendAgain(ctx context.Context, r *model.Trend) error {
	if len(r.Captures) == 0 {
		return nil
	}
	return v.capturesAgain(ctx, r, []model.Side{r.Captures[0].Side}, func(req report.Request, captures []capture.Address) (wire.Result, error) {
		made, err := report.Trend(ctx, req, captures[0], r.Captures[0].Harmonics)
		return &made, err
	})
}

// capturesAgain makes a result again of its captures, if all of them are found.
func (v *verifier) capturesAgain(ctx context.Context, r wire.Result, sides []model.Side, remake func(report.Request, []capture.Address) (wire.Result, error)) error {
	req, err := v.scaled(ctx, wire.SettingsOf(r))
	if err != nil {
		return err
	}
	var captures []capture.Address
	found := true
	for _, s := range sides {
		addr, ok, err := v.address(ctx, s)
		if err != nil {
			return err
		}
		found = found && ok
		if n := len(captures); addr.Channel != 0 || n == 0 || captures[n-1] != addr { // channels of one file come together
			captures = append(captures, addr)
		}
	}
	if !found {
		v.leftOut("captures", r)
		return nil
	}
	made, err := remake(req, captures)
	if err != nil {
		return err
	}
	return v.measured(r, made)
}

// measured compares a result with what was measured again, both as humdiff writes
// them. Sentences and fingerprints are compared elsewhere.
func (v *verifier) measured(r, made wire.Result) error {
	said, again, err := v.trees(r, made)
	if err != nil || v.tooLong {
		return err
	}
	v.ledger.skip = func(key string) bool {
		switch key {
		case "tool", "fingerprint", "may_publish", "message", "delta", "pickup":
			return true // what follows from levels is judged again from those reported
		}
		return false
	}
	v.compare("", said, v.renamed(again))
	return nil
}

// trees are a result as it was reported and as it was made again, as humdiff writes them,
// decoded. One that is far longer than what its captures make is no further looked at: to
// judge and draw it could take for ever.
func (v *verifier) trees(r, made wire.Result) (said, again any, err error) {
	reported, err := wire.Write(r)
	if err != nil {
		return nil, nil, err
	}
	remade, err := wire.Write(made)
	if err != nil {
		return nil, nil, err
	}
	if len(reported) > 2*len(remade)+1<<20 {
		v.tooLong = true
		v.differs("", exactly, publish.SizeSaid(int64(len(reported))), publish.SizeSaid(int64(len(remade))))
		return nil, nil, nil
	}
	if said, err = written(reported); err == nil {
		again, err = written(remade)
	}
	return said, again, err
}

// renamed calls files as the report does: they may have been moved since.
func (v *verifier) renamed(t any) any {
	switch x := t.(type) {
	case string:
		path, _, _ := strings.Cut(x, "#") // of an address
		if name, ok := v.places[path]; ok {
			return name + x[len(path):]
		}
	case map[string]any:
		for k := range x {
			x[k] = v.renamed(x[k])
		}
	case []any:
		for i := range x {
			x[i] = v.renamed(x[i])
		}
	}
	return t
}

// leftOut counts the values under a key, of which the captures weren't found.
func (v *verifier) leftOut(key string, r wire.Result) {
	text, err := wire.Write(r)
	if len(text) > longest {
		v.out.LeftOut++ // all of them
		return
	}
	if t, unread := written(text); err == nil && unread == nil {
		v.out.LeftOut += values(t.(map[string]any)[key])
	}
}
