package verify

import (
	"humdiff/report/judge"
	"humdiff/report/model"
	"humdiff/report/wire"
)

// judged judges a result anew, from its own measurements as reported, and compares
// all that follows from them.
func (v *verifier) judged(r wire.Result) error {
	var made wire.Result
	switch r := r.(type) {
	case *model.Compare:
		again := *r
		again.Pairs = nil
		for _, p := range r.Pairs {
			q := judge.Pair(r.Settings, p.Quiet, p.Near)
			q.Residual = p.Residual
			if p.Audibility != nil {
				heard := judge.AudiblePair(r.Settings, q, p.Audibility.Playback)
				q.Audibility = &heard
			}
			again.Pairs = append(again.Pairs, q)
		}
		again.MayPublish = judge.MayPublishCompare(again)
		made = &again
	case *model.Measure:
		again := *r
		again.MayPublish = judge.MayPublishMeasure(again)
		made = &again
	case *model.Trend:
		again := *r
		again.MayPublish = judge.MayPublishTrend(again)
		made = &again
	case *model.Session:
		again := judge.Session(*r)
		made = &again
	case *model.Passport:
		again := judge.Passport(*r)
		again.MayPublish = model.MayPublish{} // nobody says
		made = &again
	}
	said, again, err := v.trees(r, made)
	if err != nil || v.tooLong {
		return err
	}
	v.ledger.skip = func(key string) bool { return key == "tool" || key == "fingerprint" }
	// The same program makes the same digits of the same numbers.
	v.strict = v.out.Report.Version == v.out.Tool.Version
	v.compare("", said, again)
	v.strict = false
	return nil
}
