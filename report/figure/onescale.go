package figure

import (
	"fmt"

	"humdiff/report/result"
	"humdiff/report/words"
)

// oneScale puts quiet on near's scale, so that one axis holds both, and says
// so; a pair on one scale stays as it is.
func oneScale(set result.Settings, p result.Pair) (result.Settings, result.Pair, []string) {
	if !set.Step.DB.Ok() || set.Step.DB == 0 {
		return set, p, nil
	}
	said := fmt.Sprintf("quiet is drawn on near's scale: its own full scale is %s from near's", words.DB(-set.Step.DB))
	set, p = result.OnNearScale(set, p)
	return set, p, []string{said}
}
