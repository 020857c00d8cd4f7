package verify

import (
	"context"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/model"
	"humdiff/report/unit"
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
	req.Settings.FullScaleSaid = v.toneSaid(req.Settings.FullScaleSaid)
	for i := range req.Settings.Scales {
		v.toneNames(&req.Settings.Scales[i], set)
		req.Settings.Scales[i].Said = v.toneSaid(req.Settings.Scales[i].Said)
	}
	return req, nil
}

// tones is what was asked of volts, with calibrations where they lie now.
func (v *verifier) tones(ctx context.Context, set model.Settings) (asked model.Asked, found bool, err error) {
	asked, found = set.Asked, true
	var said []model.Calibration
	for _, s := range set.Scales {
		said = append(said, s.Calibrations...)
	}
	for _, list := range []*[]string{&asked.Calibration, &asked.Quiet.Calibration, &asked.Near.Calibration} {
		moved := []string{}
		for _, words := range *list {
			now, ok, err := v.tone(ctx, words, &said)
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

// tone is a calibration's words with its capture where that lies now. It is the first
// of those said that is meant, and is taken off them: both stand in one order. A
// session names its captures from its own folder.
func (v *verifier) tone(ctx context.Context, words string, said *[]model.Calibration) (string, bool, error) {
	tone, err := unit.ParseTone(words)
	if err != nil {
		return "", false, v.damaged(err)
	}
	slashed := filepath.ToSlash
	i := slices.IndexFunc(*said, func(c model.Calibration) bool {
		return c.Said == tone.Said && strings.HasSuffix("/"+slashed(c.File), "/"+strings.TrimPrefix(slashed(tone.Path), "/"))
	})
	if i < 0 {
		return words, false, nil
	}
	c := (*said)[i]
	*said = slices.Delete(*said, i, i+1)
	addr, ok, err := v.address(ctx, c.Side)
	addr.Channel = c.Channel
	v.toned[addr.String()] = c.Address
	return addr.String() + words[strings.LastIndex(words, "="):], ok, err
}

// toneSaid calls tones in a sentence as the report does.
func (v *verifier) toneSaid(sentence string) string {
	for now, reported := range v.toned {
		sentence = strings.ReplaceAll(sentence, " tone of "+doc.Base(now)+" is ", " tone of "+doc.Base(reported)+" is ")
	}
	return sentence
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
