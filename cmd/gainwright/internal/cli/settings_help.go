package cli

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"gainwright/sim"
	"gainwright/sim/say"
)

// NewSettingsTopic is what "gainwright help settings" prints.
func NewSettingsTopic() *cobra.Command {
	var b strings.Builder
	b.WriteString(`Every setting of a strip, by its path in a scenario: what it is, what it can be, and
what it is unless told. --set changes it on all strips, or on one:

  gainwright take --set preamp.gain_db=52
  gainwright compare --set strips.B.limiter.true_peak=true

`)
	rows, wide := settingRows(), [3]int{}
	for _, r := range rows {
		for i := range wide {
			wide[i] = max(wide[i], utf8.RuneCountInString(r[i]))
		}
	}
	for _, r := range rows {
		line := "  "
		for i, w := range wide {
			line += r[i] + strings.Repeat(" ", w-utf8.RuneCountInString(r[i])+2)
		}
		b.WriteString(line + r[3] + "\n")
	}
	b.WriteString("\nroom, distance_m and microphone can stand above the strips, for all of them.")
	return &cobra.Command{Use: "settings", Short: "Every setting that --set and a scenario can change", Long: b.String()}
}

// settingRows lists the settings for people: path, name, range, default.
func settingRows() [][4]string {
	def := sim.Default()
	var out [][4]string
	for _, s := range sim.Settings() {
		d := fmt.Sprint(s.Value(&def))
		if v, ok := s.Value(&def).(float64); ok {
			d = say.Number("%v", v)
			if math.IsInf(v, 1) {
				d = "inf"
			}
		}
		out = append(out, [4]string{s.Key, s.Name, s.Range(), d})
	}
	return out
}

// rangeOf tells what a setting can be.
func rangeOf(key string) string {
	s, _ := sim.SettingByKey(key)
	return s.Range()
}
