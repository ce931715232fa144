package gain

import (
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/diagram"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// ShowLevels has a diagram show the levels of the strip that is looked at.
func ShowLevels(d *diagram.Diagram, v *bench.Sight) {
	d.Title = "Where the level sits"
	d.Fill = func(x *diagram.Data) {
		sv := &v.Bench.View().Strip[v.Shown]
		*x = diagram.Data{Chain: v.Chain(v.Shown), Peak: sv.Peak, RMS: sv.RMS, Whole: v.Bench.Shown() != nil,
			Held: sv.Held, Native: sv.Native, Demand: sv.Demand, Truth: sv.Truth, OwnRoom: v.Bench.OwnRoomPa()}
	}
	said := new(ui.Strs)
	d.Subtitle = func(st ink.Style, width float32) string {
		mode := v.Bench.Mode()
		number, id := 0, int64(0)
		if t := v.Bench.Take(); t != nil && mode != bench.ModeCheck {
			number, id = t.Number, t.ID<<1|kit.Bit(t.Done)
		}
		return said.Get([6]int64{int64(mode), id, int64(v.Shown), int64(width), int64(st.Size * 100)}, func() string {
			strip := "strip " + bench.StripNames[v.Shown]
			switch mode {
			case bench.ModeReview:
				if when := v.LoudestWords(); when != "" {
					base := fmt.Sprintf("%s, take %d", strip, number)
					return ui.Fit(st, width, base+": loudest "+when, base, strip, "")
				}
				fallthrough
			case bench.ModeRecord:
				return ui.Fit(st, width, fmt.Sprintf("%s, take %d: its loudest moment and the rest", strip, number), fmt.Sprintf("%s, take %d", strip, number), strip, "")
			}
			return ui.Fit(st, width, strip+": now, and the loudest moment so far", strip+", loudest so far", strip, "")
		})
	}
}
