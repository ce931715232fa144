package identify

import (
	"fmt"

	"gainwright/sim/say"
)

// fewFlat is the share of flat stretches that a limiter before the converter alone leaves at
// most: those in which its attack bends the wave. Up to 0.053 on emulated devices.
const fewFlat = 0.06

// decide says where the limiter acts, and why, or what is missing to know it; stopped is by how
// many dB over the first recording's ceiling an earlier stage stops the second.
func (l *Limiter) decide(p *pairing, w *law, place Place, odds, stopped float64) {
	l.Place = Undecided
	full := p.a.Full
	if full > 1 {
		full = 1
	}
	earlier := l.Ceiling.Found() && dB(l.Ceiling.Level/full) < -0.1
	told := l.Stretches >= leastStretches && odds >= leastOdds
	switch {
	case w.blocks < blockRate/20:
		l.Why = "the sound hardly rises above the noise: record a louder pair"
	case w.rises:
		l.Threshold, l.Ratio, l.AttackMS, l.ReleaseMS, l.Smooths = Unknown(), Unknown(), Unknown(), Unknown(), ""
		l.Why = "where it is loud the second recording gains on the first: were the two mixed up? The limiter is off in the first"
	case w.automatic:
		l.Place = Automatic
		l.Why = "the gain drifts also where nothing is loud: an automatic level control rather than a limiter"
	case !w.acts:
		l.idle(p, w, earlier)
	case !l.Ceiling.Found() && p.a.Bent:
		l.Why = fmt.Sprintf("a stage before the converter bends the wave below %s dBFS, so that nothing is flat and the limiter's place does not show", say.Number("%.1f", dB(p.a.Peak())))
	case !l.Ceiling.Found():
		l.Why = "the limiter acts, but the first recording is nowhere clipped, so its place does not show: record a louder pair"
	case earlier && !(told && place == Before):
		l.Why = fmt.Sprintf("a stage before the converter clips first, at %s dBFS: what the limiter is given is flat wherever it sits, so its place does not show", say.Number("%.1f", dB(l.Ceiling.Level)))
	case stopped > 0 && place != Before:
		l.Why = fmt.Sprintf("a stage before the converter stops %s dB above full scale: what a limiter is given is flat there wherever it sits, so its place does not show: record the pair at a higher mark", say.Number("%.1f", stopped))
	case l.Stretches < leastStretches:
		l.Why = fmt.Sprintf("cannot tell the place: %d clipped stretches say something, %d are needed: record a louder pair", l.Stretches, leastStretches)
	case odds < leastOdds:
		l.Why = fmt.Sprintf("cannot tell the place: odds of %.1f to 1, 20 to 1 are needed: record a louder pair", odds)
	case place == Before && l.Flat >= 5 && float64(l.Flat) > fewFlat*float64(l.Stretches):
		l.Why = fmt.Sprintf("cannot tell the place for sure: of %d stretches in which the recording without limiter is clipped, the one with it is round in %d, so a limiter acts before the converter, but flat in %d, which is more than chance: perhaps another acts behind it: record a louder pair", l.Stretches, l.Round, l.Flat)
	default:
		l.Place, l.Odds, l.BehindUnseen = place, odds, place == Before
		l.Why = l.told()
	}
}

func (l *Limiter) told() string {
	switch l.Place {
	case Before:
		return fmt.Sprintf("in %d of %d stretches in which the recording without limiter is clipped, the one with it is round and whole: a limiter acts before the converter. One behind it would be given nothing that is clipped, and would not show: there may be two", l.Round, l.Stretches)
	case After:
		return fmt.Sprintf("in %d of %d stretches in which the recording without limiter is clipped, the one with it is flat too, only lower: the limiter acts after the converter", l.Flat, l.Stretches)
	}
	return fmt.Sprintf("of %d stretches in which the recording without limiter is clipped, the one with it is round in %d and flat in %d: a limiter acts on both sides of the converter", l.Stretches, l.Round, l.Flat)
}

// idle is what can be said of a gain that follows no law; earlier tells that a stage before
// the converter clips first. That no limiter acts is said only where one would have shown:
// where the wave reaches full scale unbent and the gain stays the same there, too. The
// odds of a place are of one that acts, and tell nothing of that.
func (l *Limiter) idle(p *pairing, w *law, earlier bool) {
	peak := dB(p.a.Peak())
	switch {
	case w.falls:
		l.Why = fmt.Sprintf("the gain is up to %s dB lower where it is loudest, but follows no law that is known: something acts there: record a louder pair", say.Number("%.1f", w.deepest))
	case earlier:
		l.Why = fmt.Sprintf("the gain stays the same up to %s dBFS, where a stage before the converter stops: a limiter that begins above that is not reached and does not show: record a pair at another mark", say.Number("%.1f", dB(l.Ceiling.Level)))
	case p.a.Bent && !l.Ceiling.Found():
		l.Why = fmt.Sprintf("the gain stays the same up to %s dBFS, where a stage before the converter bends the wave: a limiter that begins above that is not reached and does not show: record a pair at another mark", say.Number("%.1f", peak))
	case peak > -1 && (l.AtCeiling >= 3 || !l.Ceiling.Found()):
		l.Place = None
		l.Why = "the gain stays the same up to the ceiling: no limiter acts, or none that begins below it"
	case l.Ceiling.Found() && l.AtCeiling < 3:
		l.Why = "the gain stays the same, but the recording with the limiter does not reach the ceiling that the one without it does: was it made at another level? Record the pair again"
	default:
		l.Why = fmt.Sprintf("the gain stays the same up to %s dBFS; louder than that nothing was recorded: record a louder pair", say.Number("%.1f", peak))
	}
}
