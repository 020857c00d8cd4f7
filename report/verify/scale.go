package verify

import (
	"context"
	"fmt"

	"humdiff/fft/mains"
	"humdiff/report/assemble"
	"humdiff/report/result"
	"humdiff/report/volts"
)

// scales measures the captures again that a report's voltage scales stand on,
// and makes the scales anew from them. A scale with a further gain is made anew
// as far as its calibrations.
func (v *verifier) scales(ctx context.Context, s result.Settings, tree map[string]any, opt mains.Options) error {
	settings, _ := tree["settings"].(map[string]any)
	parts := list(settings["scales"])
	for i, scale := range s.Scales {
		if len(scale.Calibrations) == 0 {
			continue
		}
		whole, err := v.calibrations(ctx, i, &scale, parts[i], opt)
		if err != nil {
			return err
		}
		if !whole || scale.GainDB.Ok() {
			continue
		}
		again := volts.Calibrated(scale.Calibrations).State(scale.For)
		again.Calibrations = nil // compared by themselves
		if err := v.part(fmt.Sprintf("settings.scales[%d]", i), without(parts[i], "calibrations"), withoutCalibrations{again, nil}); err != nil {
			return err
		}
	}
	return nil
}

// withoutCalibrations is a scale whose calibrations aren't written.
type withoutCalibrations struct {
	result.Scale
	Calibrations *struct{} `json:"calibrations,omitempty"`
}

// calibrations measures a scale's tones again and puts them in place; whole says
// that all of them were there.
func (v *verifier) calibrations(ctx context.Context, i int, scale *result.Scale, reported any, opt mains.Options) (whole bool, err error) {
	m, _ := reported.(map[string]any)
	parts := list(m["calibrations"])
	whole = true
	var remade []result.Calibration
	for k, c := range scale.Calibrations {
		at, ok, err := v.address(ctx, c.Side)
		if err != nil {
			return false, err
		}
		if !ok {
			v.out.LeftOut += leftOut(parts[k])
			whole = false
			continue
		}
		again, err := assemble.Recalibrate(ctx, c, at, opt)
		if err != nil {
			return false, err
		}
		remade = append(remade, again)
		if err := v.part(fmt.Sprintf("settings.scales[%d].calibrations[%d]", i, k), parts[k], again); err != nil {
			return false, err
		}
	}
	scale.Calibrations = remade
	return whole, nil
}

// without is an object without one of its keys.
func without(reported any, key string) map[string]any {
	out := map[string]any{}
	m, _ := reported.(map[string]any)
	for k, x := range m {
		if k != key {
			out[k] = x
		}
	}
	return out
}
