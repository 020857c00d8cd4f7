package verify

import (
	"context"
	"fmt"

	"humdiff/report"
	"humdiff/report/model"
)

// scaledAgain is the request that remakes a result, its scales worked out anew from
// what was asked of volts: tones of known voltage are measured again. Where one
// isn't found the scales are taken as reported, and counted as left out.
func (v *verifier) scaledAgain(ctx context.Context, set model.Settings) (report.Request, error) {
	req, err := v.request(set)
	if err != nil {
		return req, err
	}
	scaling, found, err := v.tones(ctx, set)
	if err != nil {
		return req, err
	}
	if !found {
		v.out.LeftOut += len(set.Scales)
		return req, nil
	}
	req.Settings, req.Scaling = nil, scaling
	if req, err = req.Scaled(ctx); err != nil {
		if report.IsMisuse(err) {
			err = v.damaged(err)
		}
		return req, err
	}
	req.Settings.Asked = set.Asked // in the words it was given in, not with the places where tones lie now
	for i := range req.Settings.Scales {
		v.toneNames(&req.Settings.Scales[i], set)
	}
	return req, nil
}

// tones is what was asked of volts, with calibrations where they lie now.
func (v *verifier) tones(ctx context.Context, set model.Settings) (asked model.Asked, found bool, err error) {
	asked, found = set.Asked, true
	said := map[string]model.Calibration{}
	for _, s := range set.Scales {
		for _, c := range s.Calibrations {
			said[c.Address] = c
		}
	}
	for _, list := range []*[]string{&asked.Calibration, &asked.Quiet.Calibration, &asked.Near.Calibration} {
		moved := []string{}
		for _, tone := range *list {
			now, ok, err := v.tone(ctx, tone, said)
			if err != nil {
				return asked, false, err
			}
			found = found && ok
			moved = append(moved, now)
		}
		*list = moved
	}
	return asked, found, nil
}

// tone is a calibration's words with its capture where that lies now.
func (v *verifier) tone(ctx context.Context, words string, said map[string]model.Calibration) (string, bool, error) {
	for address, c := range said {
		if len(words) <= len(address) || words[:len(address)] != address {
			continue
		}
		addr, ok, err := v.address(ctx, c.Side)
		addr.Channel = c.Channel
		return fmt.Sprintf("%s%s", addr, words[len(address):]), ok, err
	}
	return words, true, nil
}

// toneNames calls a scale's tones as the report does.
func (v *verifier) toneNames(s *model.Scale, set model.Settings) {
	for i := range s.Calibrations {
		c := &s.Calibrations[i]
		for _, old := range set.Scales {
			for _, o := range old.Calibrations {
				if o.SHA256 == c.SHA256 && o.StartS == c.StartS && o.Channel == c.Channel {
					c.File, c.Address, c.Named = o.File, o.Address, o.Named
				}
			}
		}
	}
}
