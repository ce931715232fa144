package metercmd

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

// Facts says what kind of file it is.
func (m *Measured) Facts() string {
	chans := "mono"
	if m.Channels == 2 {
		chans = "stereo"
	} else if m.Channels > 2 {
		chans = fmt.Sprintf("%d channels", m.Channels)
	}
	kind := m.Format + " " + m.Encoding
	if m.Format == m.Encoding { // mp3
		kind = m.Format
	}
	return fmt.Sprintf("%s, %d Hz, %s, %s", kind, m.RateHz, chans, picture.Clock(m.Seconds))
}

// Rows are the figures that are shown.
func (m *Measured) Rows() [][2]string {
	rows := [][2]string{
		{"highest sample", picture.DB(float64(m.PeakDBFS), "dBFS")},
		{"true peak", picture.DB(float64(m.TruePeakDBTP), "dBTP")},
		{"loudness", picture.DB(float64(m.LoudnessLUFS), "LUFS")},
		{"loudness range", picture.DB(float64(m.LoudnessRangeLU), "LU")},
		{"loudest 3 s", picture.DB(float64(m.ShortTermMaxLUFS), "LUFS")},
		{"loudest 400 ms", picture.DB(float64(m.MomentaryMaxLUFS), "LUFS")},
		{"talk, rms", picture.DB(float64(m.TalkDBFS), "dBFS")},
		{"noise floor", picture.DB(float64(m.NoiseFloorDBFS), "dBFS")},
		{"talk above the noise", picture.DB(float64(m.SNRDB), "dB")},
		{"runs at full scale", fmt.Sprint(m.MeterOvers)},
		{"flat tops below it", fmt.Sprint(m.FlatTops)},
		{"samples in either", fmt.Sprintf("%.3f %%", float64(m.ClippedPercent))},
	}
	if m.AboveFullScale > 0 {
		rows = append(rows, [2]string{"samples above full scale", fmt.Sprint(m.AboveFullScale)})
	}
	return rows
}

// print shows the figures, the verdict, the findings and the advice.
func (m *Measured) print(w io.Writer) {
	fmt.Fprintf(w, "%s: %s\n\n", sounds.Shown(m.Path), m.Facts())
	rows := m.Rows()
	name, value := 0, 0
	for _, r := range rows {
		name, value = max(name, cli.Runes(r[0])), max(value, cli.Runes(r[1]))
	}
	for _, r := range rows {
		fmt.Fprintln(w, r[0]+strings.Repeat(" ", name-cli.Runes(r[0]))+"  "+cli.Left(r[1], value))
	}
	fmt.Fprintln(w, "\n"+m.Verdict)
	for i := range m.Findings {
		fmt.Fprintln(w)
		printFinding(w, &m.Findings[i], m.Channels)
	}
	if len(m.Findings) > 0 {
		fmt.Fprintln(w)
	}
	for _, a := range slices.Concat(notes(m.Notes), m.general) {
		fmt.Fprintln(w, "- "+a)
	}
}

// printFinding shows one finding.
func printFinding(w io.Writer, f *diagnose.Finding, channels int) {
	fmt.Fprintln(w, cli.Wrap(fmt.Sprintf("%s (confidence %.0f %%)%s.", f.Title, 100*f.Confidence, channelText(f, channels)), 78))
	line := func(name, text string) {
		if text == "" {
			return
		}
		const indent = 12
		body := strings.ReplaceAll(cli.Wrap(text, 78-indent), "\n", "\n"+strings.Repeat(" ", indent))
		fmt.Fprintf(w, "  %-10s%s\n", name, body)
	}
	line("where", f.Places(6))
	line("means", f.Means)
	now := f.Remedy
	if len(f.Treatments) > 0 {
		now += " Treatments: " + strings.Join(f.Treatments, ", ") + "."
	}
	line("now", now)
	line("next time", nextTime(f.Advice))
}

// nextTime takes from an advice the words that stand before it already.
func nextTime(advice string) string {
	t, ok := strings.CutPrefix(advice, "Next time ")
	if !ok {
		return advice
	}
	return cli.Capital(t)
}

// channelText names the channels of several that have the finding.
func channelText(f *diagnose.Finding, channels int) string {
	if w := f.On(channels); w != "" {
		return ", " + w
	}
	return ""
}

// notes makes sentences of remarks.
func notes(list []string) []string {
	out := make([]string, len(list))
	for i, n := range list {
		out[i] = "Note: " + n + "."
	}
	return out
}
