package diagram

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/ui"
	"gainwright/sim"
)

// briefly are words for columns too narrow for the usual ones.
var briefly = map[string]string{"overload": "most", "full scale": "full", "threshold": "limit", "self noise": "own"}

func (d *Diagram) ceilingWords(i int, k *column, c sim.Chain) (name, value string) {
	n := &d.ceil[i]
	switch k.st {
	case sim.AtMicOut:
		return "overload", stated(n, "", c.Microphone.MaxSPLDB, " dB SPL")
	case sim.AtPreamp:
		return "rail", stated(n, sign(c.Preamp.RailDBu), c.Preamp.RailDBu, " dBu")
	case sim.AtInputLimiter:
		return "threshold", stated(n, sign(c.InputLimiter.ThresholdDBFS), c.InputLimiter.ThresholdDBFS, " dBFS")
	case sim.AtConverter:
		fs := c.Converter.FullScaleDBu + c.Converter.DualRangeDB
		return "full scale", stated(n, sign(fs), fs, " dBu")
	case sim.AtLimiter:
		name = "threshold"
		if c.Limiter.LookAheadMS > 0 {
			name = "ceiling"
		}
		return name, stated(n, "", c.Limiter.ThresholdDBFS, " dBFS")
	}
	if c.File.Format == sim.PCM16 {
		return "16 bit", "0 dBFS"
	}
	return "24 bit", "0 dBFS"
}

func (d *Diagram) floorWords(i int, k *column, c sim.Chain) (name, value string) {
	n := &d.floor[i]
	switch k.st {
	case sim.AtTalker:
		if p := d.data.OwnRoom; p > 0 {
			return "your room", n.Text("", sim.Pressure.Level(p), 0, " dB SPL")
		}
	case sim.AtMicrophone:
		return "room", stated(n, "", c.Room.NoiseDBA, " dBA")
	case sim.AtMicOut:
		if c.Microphone.SelfNoiseDBA > 0 {
			return "self noise", stated(n, "", c.Microphone.SelfNoiseDBA, " dBA")
		}
		return "source", stated(n, "", c.Microphone.SourceOhm, " Ω")
	case sim.AtPreamp:
		return "EIN", stated(n, "", c.Preamp.EINDBu, " dBu")
	case sim.AtConverter:
		return "range", stated(n, "", c.Converter.DynamicRangeDBA, " dBA")
	}
	return "", ""
}

// sign is the plus of a level that can lie on either side of 0.
func sign(v float64) string {
	if v > 0 {
		return "+"
	}
	return ""
}

// stated writes a setting as it was set: to the tenth where it has one.
func stated(n *ui.Num, sign string, v float64, unit string) string {
	digits := 0
	if math.Abs(v-math.Round(v)) >= 0.05 {
		digits = 1
	}
	return n.Text(sign, v, digits, unit)
}

// level writes the level of the loudest moment in the station's own unit. The
// peak of a wave is given as the level of the sine that has the same peak, so
// that it compares with the station's ceiling, which is stated so.
func (d *Diagram) level(n *ui.Num, k *column) string {
	q := k.st.Quantity()
	switch q {
	case sim.Pressure:
		digits := 0
		if d.Printed {
			digits = 1
		}
		return n.Text("", q.Level(k.native/math.Sqrt2), digits, " dB SPL")
	case sim.Voltage:
		return n.Text("", q.Level(k.native/math.Sqrt2), 1, " dBu")
	}
	return n.Text("", k.held, 1, " dBFS")
}

func eventUnit(what string) string {
	switch what {
	case "over":
		return " dB over"
	case "down":
		return " dB down"
	}
	return " dB left"
}

// Words are what the diagram of the strip of that name shows, for those who do not see it.
func (d *Diagram) Words(strip string) string {
	cols := d.columns()
	var b strings.Builder
	fmt.Fprintf(&b, "Strip %s, loudest moment.", strip)
	for i := range cols {
		k := &cols[i]
		var n ui.Num
		fmt.Fprintf(&b, " %s %s", k.st.Columns()[0], d.level(&n, k))
		if p := d.data.OwnRoom; p > 0 && k.st == sim.AtTalker {
			fmt.Fprintf(&b, ", with it the noise of your own room, %s dB SPL at 1 m, which the noise of the simulation does not count", ui.Decimal(sim.Pressure.Level(p), 0))
		}
		switch {
		case k.lost >= 0.05:
			fmt.Fprintf(&b, ", %s dB over its ceiling, lost for good", ui.Decimal(k.lost, 1))
		case k.turned >= 0.05 && k.scarry:
			fmt.Fprintf(&b, ", turned down %s dB but already flat", ui.Decimal(k.turned, 1))
		case k.turned >= 0.05:
			fmt.Fprintf(&b, ", turned down %s dB", ui.Decimal(k.turned, 1))
		case k.st == sim.AtConverter && !math.IsInf(k.ceil, 1):
			fmt.Fprintf(&b, ", %s dB left", ui.Decimal(k.left, 1))
		}
		b.WriteByte('.')
	}
	return b.String()
}
