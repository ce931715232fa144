package metercmd

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/diagnose"
)

// Levels behind the advice: common practice among people who record talk, no
// source.
const (
	lowLUFS       = -45 // below this a recording is a case of too little gain
	noPauseSNR    = 3
	noisySNR      = 25 // dB of talk above the noise under which it is heard
	topForSharing = -1 // dBTP, EBU R 128's most for delivery
)

// find returns the finding of a kind, or nil.
func (m *Measured) find(kinds ...diagnose.Kind) *diagnose.Finding {
	for i := range m.Findings {
		if slices.Contains(kinds, m.Findings[i].Kind) {
			return &m.Findings[i]
		}
	}
	return nil
}

// nearSilence reports whether no channel has more than near silence.
func (m *Measured) nearSilence() bool {
	f := m.find(diagnose.NearSilence)
	return f != nil && len(f.Channels) == m.Channels
}

// lost returns the finding that tops were cut off, or nil.
func (m *Measured) lost() *diagnose.Finding {
	return m.find(diagnose.FlatFull, diagnose.FlatLower, diagnose.FlatMoving, diagnose.FlatSoftened)
}

// judge says in plain words what the figures mean.
func (m *Measured) judge() {
	say := func(format string, a ...any) { m.general = append(m.general, fmt.Sprintf(format, a...)) }
	m.Advice = []string{}
	cut := m.lost()
	level := func(f *diagnose.Finding) string {
		v, _ := f.Number("level_dbfs")
		return picture.DB(v, "dBFS")
	}
	switch bent, held := m.find(diagnose.Bent), m.find(diagnose.HeldDown); {
	case math.IsInf(float64(m.PeakDBFS), -1):
		m.Verdict = "Silent: every sample is zero."
		m.Advice = append(m.Advice, "Check the microphone, its cable, its power and which input was recorded.")
		m.general = m.Advice
		return
	case m.nearSilence():
		m.Verdict = m.find(diagnose.NearSilence).Title + "."
		for _, f := range m.Findings {
			m.Advice = append(m.Advice, f.Remedy, f.Advice)
		}
		return
	case m.MeterOvers > 0:
		how := "Clipped"
		switch p := float64(m.ClippedPercent); {
		case p < 0.005:
			how = "Clipped in a few peaks"
		case p > 0.5:
			how = "Badly clipped"
		}
		m.Verdict = fmt.Sprintf("%s: %s of three or more samples at full scale, the longest %.2f ms.", how, cli.Counted(m.MeterOvers, "run", "runs"), float64(m.LongestOverMS))
	case cut != nil && cut.Kind == diagnose.FlatFull:
		n, _ := cut.Number("tops")
		m.Verdict = fmt.Sprintf("Clipped before it was written: %s, at %s.", cli.Counted(int(n), "flat top", "flat tops"), level(cut))
	case cut != nil && cut.Kind == diagnose.FlatLower:
		m.Verdict = fmt.Sprintf("Clipped earlier and turned down since: %s below full scale, most near %s.", cli.Counted(m.FlatTops, "flat top", "flat tops"), level(cut))
	case cut != nil && cut.Kind == diagnose.FlatMoving:
		m.Verdict = fmt.Sprintf("Clipped earlier, then turned by a moving gain: %s, most near %s.", cli.Counted(m.FlatTops, "flat top", "flat tops"), level(cut))
	case cut != nil:
		m.Verdict = fmt.Sprintf("Clipped earlier, then filtered, resampled or coded: its tops end in a blurred wall near %s.", level(cut))
	case m.AboveFullScale > 0:
		m.Verdict = fmt.Sprintf("Whole, but above full scale by %s.", picture.DB(float64(m.PeakDBFS), "dB"))
	case bent != nil:
		m.Verdict = fmt.Sprintf("Overdriven, not clipped: its highest tops, near %s, are rounded off.", level(bent))
	case cli.Finite(m.LoudnessLUFS) && m.LoudnessLUFS < lowLUFS:
		m.Verdict = fmt.Sprintf("Whole, but very low: %s.", picture.DB(float64(m.LoudnessLUFS), "LUFS"))
	case held != nil:
		m.Verdict = fmt.Sprintf("Whole: no clipping found; its peaks are held near %s by a limiter or compressor.", level(held))
	case m.PeakDBFS > -1:
		m.Verdict = fmt.Sprintf("Whole, with no room to spare: the highest sample lies at %s.", picture.DB(float64(m.PeakDBFS), "dBFS"))
	default:
		m.Verdict = fmt.Sprintf("Whole: no clipping found, %s below full scale.", picture.DB(-float64(m.PeakDBFS), "dB"))
	}
	if cut != nil {
		m.Verdict = strings.TrimSuffix(m.Verdict, ".") + channelText(cut, m.Channels) + "."
	}
	for i := range m.Findings {
		f := &m.Findings[i]
		m.Advice = append(m.Advice, f.Remedy)
		if f.Advice != "" {
			m.Advice = append(m.Advice, f.Advice)
		}
	}
	if m.MeterOvers > 0 && cut == nil {
		say("The cut-off peaks are gone for good; repair can only guess at them, and turning the file down does not bring them back. Set the gain lower next time.")
	}
	if m.FlatTops > 0 {
		say("A limiter behind the converter, or a fader, cannot prevent flat tops: the gain before the converter must be lower.")
	}
	if m.AboveFullScale > 0 {
		say("Turn it down by %s or more before it is turned into an integer format, which would clip it.", picture.DB(float64(m.PeakDBFS)+1, "dB"))
	}
	whole := cut == nil && m.MeterOvers == 0 && m.AboveFullScale == 0
	if whole && m.PeakDBFS > -3 && m.find(diagnose.NearlyFull, diagnose.HeldDown, diagnose.Bent) == nil {
		say("If this is as it was recorded, it was a close call: 6 to 12 dB less gain leaves room for a louder moment.")
	}
	if whole && m.PeakDBFS < -30 && cli.Finite(m.PeakDBFS) && m.find(diagnose.LowNoisy) == nil {
		say("There was room for more gain: about %.0f dB, with the loudest moment still 12 dB below full scale.", math.Floor(-12-float64(m.PeakDBFS)))
	}
	// Without pauses the quietest tenth is no noise floor: nothing is said then.
	if cli.Finite(m.SNRDB) && m.SNRDB < noisySNR && m.SNRDB > noPauseSNR && m.find(diagnose.LowNoisy) == nil {
		say("The noise lies only %s under the voice: come closer to the microphone, or find a quieter room. More gain lifts both.", picture.DB(float64(m.SNRDB), "dB"))
	}
	if cli.Finite(m.LoudnessLUFS) {
		goal := float64(sim.DeliveryLUFS)
		if m.Channels > 1 {
			goal += 3
		}
		up := goal - float64(m.LoudnessLUFS)
		line := fmt.Sprintf("To deliver at %s, change its level by %s", picture.DB(goal, "LUFS"), cli.SignedDB(up))
		if over := float64(m.TruePeakDBTP) + up - topForSharing; over > 0 {
			line += fmt.Sprintf("; its peaks then need a limiter, by %s", picture.DB(over, "dB"))
		}
		say("%s.", line)
	}
	m.Advice = append(m.Advice, m.general...)
}

// ClippedTake tells whether tops were cut off.
func (m *Measured) ClippedTake() bool { return m.lost() != nil || m.MeterOvers > 0 }
