package kit

import (
	"fmt"

	"gainwright/scenes/ui"
)

// Number works an intent out on a number.
func Number(it ui.Intent, now, def, step, lo, hi float64) (float64, error) {
	switch it.Do {
	case ui.DoSet:
		v := it.Value
		if it.Text != "" {
			var ok bool
			if v, ok = ui.ParseNumber(it.Text); !ok {
				return 0, fmt.Errorf("%s: %q is not a number", it.ID, it.Text)
			}
		}
		if !(v >= lo && v <= hi) {
			return 0, fmt.Errorf("%s: %s is outside %s to %s", it.ID, ui.Decimal(v, 1), ui.Decimal(lo, 1), ui.Decimal(hi, 1))
		}
		return v, nil
	case ui.DoNudge:
		return ui.Nudge(now, it.Value, step, lo, hi), nil
	case ui.DoDefault:
		return def, nil
	}
	return 0, fmt.Errorf("%s cannot be asked to %q", it.ID, it.Do)
}
