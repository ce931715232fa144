package recordcmd

import (
	"fmt"
	"io"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sounds"
)

// story says in plain words what happened to a strip.
func (r *recorded) story() string {
	x, c := &r.readings, &r.chain
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if x.MicOverloadSamples > 0 {
		say("The microphone itself was driven above its maximum level; only more distance or another microphone helps there.")
	}
	if x.RailOvers > 0 {
		say("The preamp ran into its rail %s, before any converter.", cli.Counted(x.RailOvers, "time", "times"))
	}
	switch {
	case x.Overs > 0:
		say("The converter ran out of codes in %s, the loudest by %s: those peaks are gone.",
			cli.Counted(x.Overs, "place", "places"), picture.DB(-float64(x.HeadroomDB), "dB"))
		if c.Limiter.On {
			say("Its limiter sits after the converter, so it only turned down waves that were flat already; the file peaks at %s and a plain meter sees %s.",
				picture.DB(float64(x.PeakDBFS), "dBFS"), cli.Counted(x.MeterOvers, "over", "overs"))
		}
		if c.InputLimiter.On {
			say("Its limiter sits before the converter, but takes %g ms to act, and faster peaks pass.", c.InputLimiter.AttackMS)
		}
	case cli.Finite(x.HeadroomDB):
		say("Nothing was lost at the converter: %s of headroom were left at the loudest moment.", picture.DB(float64(x.HeadroomDB), "dB"))
		if c.InputLimiter.On && x.LimiterReductionMaxDB > 0.1 {
			say("The limiter before the converter turned down by up to %s, in time for the converter.", picture.DB(float64(x.LimiterReductionMaxDB), "dB"))
		}
		if c.Limiter.On && x.LimiterReductionMaxDB > 0.1 {
			say("The limiter after it turned down by up to %s.", picture.DB(float64(x.LimiterReductionMaxDB), "dB"))
		}
		if x.PeakDBFS > 0 {
			say("The file goes above 0 dBFS, which a float format holds; turn it down before it becomes an integer one.")
		}
	}
	if cli.Finite(x.DeliveredNoiseLUFS) {
		say("Delivered at −19 LUFS its noise would lie at %s.", picture.DB(float64(x.DeliveredNoiseLUFS), "LUFS"))
	}
	return strings.Join(out, " ")
}

// clipped names the strips that lost something.
func (s *session) clipped() []string {
	var out []string
	for _, r := range s.strips {
		if r.readings.Overs > 0 || r.readings.RailOvers > 0 {
			out = append(out, r.name)
		}
	}
	return out
}

// caution is said before clipped files are named.
func caution(names []string) string {
	what := "strip " + names[0] + " is"
	if len(names) > 1 {
		what = "strips " + strings.Join(names, ", ") + " are"
	}
	return fmt.Sprintf("Mind your ears: %s clipped, which sounds harsh. Turn the volume down before you play, and up slowly.", what)
}

// source names what was performed.
func (s *session) source() string {
	switch f := s.sc.Source.File; f {
	case "":
		return s.sc.Source.Talker
	case "-":
		return sounds.StdinName
	default:
		return f
	}
}

// describe says what was recorded.
func (s *session) describe(w io.Writer) {
	src := s.source()
	fmt.Fprintf(w, "%s: %s, %s, %d Hz\n", sounds.Shown(s.sc.Title), sounds.Shown(src), picture.Clock(s.seconds()), s.rate)
	for _, n := range s.notes {
		fmt.Fprintln(w, "Note: "+sounds.Shown(n)+".")
	}
	cli.WriteRecorder(w, s.sc, 78, true)
}

// A reading for people: its name, and its value as text.
type reading struct {
	key, name string
	text      func(*sim.Readings) string
}

func level(key, name, unit string, v func(*sim.Readings) sim.Level) reading {
	return reading{key, name, func(r *sim.Readings) string { return picture.DB(float64(v(r)), unit) }}
}

func count(key, name string, v func(*sim.Readings) int) reading {
	return reading{key, name, func(r *sim.Readings) string { return fmt.Sprint(v(r)) }}
}

// readingList is what tables show, in the order of the signal.
var readingList = []reading{
	level("gain_db", "preamp gain", "dB", func(r *sim.Readings) sim.Level { return r.GainDB }),
	level("talk_peak_dbfs", "talk peaks at", "dBFS", func(r *sim.Readings) sim.Level { return r.TalkPeakDBFS }),
	level("peak_dbfs", "highest sample", "dBFS", func(r *sim.Readings) sim.Level { return r.PeakDBFS }),
	level("true_peak_dbtp", "true peak", "dBTP", func(r *sim.Readings) sim.Level { return r.TruePeakDBTP }),
	level("headroom_db", "headroom left", "dB", func(r *sim.Readings) sim.Level { return r.HeadroomDB }),
	count("overs", "overs (lost for good)", func(r *sim.Readings) int { return r.Overs }),
	{"longest_over_ms", "longest over", func(r *sim.Readings) string { return fmt.Sprintf("%.2f ms", float64(r.LongestOverMS)) }},
	{"clipped_percent", "samples lost", func(r *sim.Readings) string { return fmt.Sprintf("%.3f %%", float64(r.ClippedPercent)) }},
	count("meter_overs", "overs a plain meter sees", func(r *sim.Readings) int { return r.MeterOvers }),
	count("rail_overs", "times at the preamp's rail", func(r *sim.Readings) int { return r.RailOvers }),
	count("mic_overload_samples", "microphone overloads (samples)", func(r *sim.Readings) int { return r.MicOverloadSamples }),
	level("limiter_reduction_max_db", "limiter turned down by", "dB", func(r *sim.Readings) sim.Level { return r.LimiterReductionMaxDB }),
	level("sdr_db", "distance from the true wave (SDR)", "dB", func(r *sim.Readings) sim.Level { return r.SDRDB }),
	level("lost_energy_db", "lost energy", "dB", func(r *sim.Readings) sim.Level { return r.LostEnergyDB }),
	level("noise_floor_dbfs", "noise floor", "dBFS", func(r *sim.Readings) sim.Level { return r.NoiseFloorDBFS }),
	level("snr_db", "talk above the noise", "dB", func(r *sim.Readings) sim.Level { return r.SNRDB }),
	level("loudness_lufs", "loudness", "LUFS", func(r *sim.Readings) sim.Level { return r.LoudnessLUFS }),
	level("loudness_range_lu", "loudness range", "LU", func(r *sim.Readings) sim.Level { return r.LoudnessRangeLU }),
	level("delivered_gain_db", "gain to deliver at −19 LUFS", "dB", func(r *sim.Readings) sim.Level { return r.DeliveredGainDB }),
	level("delivered_noise_lufs", "noise after delivery", "LUFS", func(r *sim.Readings) sim.Level { return r.DeliveredNoiseLUFS }),
}

// table prints the readings, a column a strip.
func table(w io.Writer, strips []*recorded) {
	name := 0
	for _, r := range readingList {
		name = max(name, cli.Runes(r.name))
	}
	rows := make([][]string, len(readingList))
	widths := make([]int, len(strips))
	for k, s := range strips {
		widths[k] = cli.Runes(s.name)
		for i, r := range readingList {
			rows[i] = append(rows[i], r.text(&s.readings))
			widths[k] = max(widths[k], cli.Runes(rows[i][k]))
		}
	}
	if len(strips) > 1 {
		fmt.Fprint(w, strings.Repeat(" ", name))
		for k, s := range strips {
			fmt.Fprint(w, "  "+cli.Left(s.name, widths[k]))
		}
		fmt.Fprintln(w)
	}
	for i, r := range readingList {
		fmt.Fprint(w, r.name+strings.Repeat(" ", name-cli.Runes(r.name)))
		for k := range strips {
			fmt.Fprint(w, "  "+cli.Left(rows[i][k], widths[k]))
		}
		fmt.Fprintln(w)
	}
}
