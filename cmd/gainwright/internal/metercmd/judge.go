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
	m.Advice = []string{}
	switch {
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
	}
	cut := m.lost()
	m.Verdict = m.verdict(cut)
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
	m.adviseOnLoss(cut)
	m.adviseOnLevel(cut)
	m.adviseOnDelivery()
	m.Advice = append(m.Advice, m.general...)
}

// say adds advice that belongs to no finding.
func (m *Measured) say(format string, a ...any) {
	m.general = append(m.general, fmt.Sprintf(format, a...))
}

// levelOf is the level at which a finding lies.
func levelOf(f *diagnose.Finding) string {
	v, _ := f.Number("level_dbfs")
	return picture.DB(v, "dBFS")
}

// verdict is the gravest there is to say; cut is the finding that tops were cut off,
// or nil.
func (m *Measured) verdict(cut *diagnose.Finding) string {
	switch bent, held, open := m.find(diagnose.Bent), m.find(diagnose.HeldDown), m.find(diagnose.CannotTell); {
	case m.MeterOvers > 0:
		how := "Clipped"
		switch p := float64(m.ClippedPercent); {
		case p < 0.005:
			how = "Clipped in a few peaks"
		case p > 0.5:
			how = "Badly clipped"
		}
		return fmt.Sprintf("%s: %s of three or more samples at full scale, the longest %.2f ms.", how, cli.Counted(m.MeterOvers, "run", "runs"), float64(m.LongestOverMS))
	case cut != nil:
		return m.cutVerdict(cut)
	case m.AboveFullScale > 0:
		return fmt.Sprintf("Whole, but above full scale by %s.", picture.DB(float64(m.PeakDBFS), "dB"))
	case bent != nil:
		return fmt.Sprintf("Overdriven, not clipped: its highest tops, near %s, are rounded off.", levelOf(bent))
	case open != nil:
		return open.Title + "."
	case cli.Finite(m.LoudnessLUFS) && m.LoudnessLUFS < lowLUFS:
		return fmt.Sprintf("Whole, but very low: %s.", picture.DB(float64(m.LoudnessLUFS), "LUFS"))
	case held != nil:
		return fmt.Sprintf("Whole: no clipping found; its peaks are held near %s by a limiter or compressor.", levelOf(held))
	case m.PeakDBFS > -1:
		return fmt.Sprintf("Whole, with no room to spare: the highest sample lies at %s.", picture.DB(float64(m.PeakDBFS), "dBFS"))
	default:
		return fmt.Sprintf("Whole: no clipping found, %s below full scale.", picture.DB(-float64(m.PeakDBFS), "dB"))
	}
}

// cutVerdict says how tops were cut off, none of them now at full scale.
func (m *Measured) cutVerdict(cut *diagnose.Finding) string {
	switch cut.Kind {
	case diagnose.FlatFull:
		n, _ := cut.Number("tops")
		return fmt.Sprintf("Clipped before it was written: %s, at %s.", cli.Counted(int(n), "flat top", "flat tops"), levelOf(cut))
	case diagnose.FlatLower:
		return fmt.Sprintf("Clipped earlier and turned down since: %s below full scale, most near %s.", cli.Counted(m.FlatTops, "flat top", "flat tops"), levelOf(cut))
	case diagnose.FlatMoving:
		return fmt.Sprintf("Clipped earlier, then turned by a moving gain: %s, most near %s.", cli.Counted(m.FlatTops, "flat top", "flat tops"), levelOf(cut))
	}
	return fmt.Sprintf("Clipped earlier, then filtered, resampled or coded: its tops end in a blurred wall near %s.", levelOf(cut))
}

// adviseOnLoss says what follows from what was lost, or would be.
func (m *Measured) adviseOnLoss(cut *diagnose.Finding) {
	if m.MeterOvers > 0 && cut == nil {
		m.say("The cut-off peaks are gone for good; repair can only guess at them, and turning the file down does not bring them back. Set the gain lower next time.")
	}
	if m.FlatTops > 0 {
		m.say("A limiter behind the converter, or a fader, cannot prevent flat tops: the gain before the converter must be lower.")
	}
	if m.AboveFullScale > 0 && m.find(diagnose.NearlyFull) == nil { // which says it
		m.say("Turn it down by %s or more before it is turned into an integer format, which would clip it.", picture.DB(float64(m.PeakDBFS)+1, "dB"))
	}
}

// adviseOnLevel says whether the gain was too high or too low for what is whole, and
// how near the noise is.
func (m *Measured) adviseOnLevel(cut *diagnose.Finding) {
	whole := cut == nil && m.MeterOvers == 0 && m.AboveFullScale == 0
	if whole && m.PeakDBFS > -3 && m.find(diagnose.NearlyFull, diagnose.HeldDown, diagnose.Bent, diagnose.CannotTell) == nil {
		m.say("If this is as it was recorded, it was a close call: 6 to 12 dB less gain leaves room for a louder moment.")
	}
	if whole && m.PeakDBFS < -30 && cli.Finite(m.PeakDBFS) && m.find(diagnose.LowNoisy) == nil {
		m.say("There was room for more gain: about %.0f dB, with the loudest moment still 12 dB below full scale.", math.Floor(-12-float64(m.PeakDBFS)))
	}
	// Without pauses the quietest tenth is no noise floor: nothing is said then.
	switch {
	case !cli.Finite(m.SNRDB) || m.SNRDB >= noisySNR || m.SNRDB <= noPauseSNR || m.find(diagnose.LowNoisy) != nil:
	case m.silent >= diagnose.NoPauses:
		m.say("%.0f %% of it is digital silence, as a gate, an edit or a made sound leaves it: what noise there was in pauses cannot be told, and the noise floor above is that of talk.", 100*m.silent)
	default:
		m.say("The noise lies only %s under the voice: come closer to the microphone, or find a quieter room. More gain lifts both.", picture.DB(float64(m.SNRDB), "dB"))
	}
}

// adviseOnDelivery says how far it is to the loudness of delivery.
func (m *Measured) adviseOnDelivery() {
	if !cli.Finite(m.LoudnessLUFS) {
		return
	}
	goal := float64(sim.DeliveryLUFS)
	if m.Channels > 1 {
		goal += 3
	}
	up := goal - float64(m.LoudnessLUFS)
	line := fmt.Sprintf("To deliver at %s, change its level by %s", picture.DB(goal, "LUFS"), cli.SignedDB(up))
	if over := float64(m.TruePeakDBTP) + up - topForSharing; over > 0 {
		line += fmt.Sprintf("; its peaks then need a limiter, by %s", picture.DB(over, "dB"))
	}
	m.say("%s.", line)
}

// ClippedTake tells whether tops were cut off.
func (m *Measured) ClippedTake() bool { return m.lost() != nil || m.MeterOvers > 0 }
