package plancmd

import (
	"fmt"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/equipment"
)

// knob is the knob of the user's own recorder, if what its marks stand for is known.
func (p *planned) knob() *equipment.Knob {
	if k := p.sc.Knob(); k != nil && k.Anchored {
		return k
	}
	return nil
}

// at is the chain that is planned for, at a gain.
func (p *planned) at(gainDB float64) sim.Chain {
	c := p.setup.Chain
	c.Preamp.GainDB = gainDB
	return c
}

func (p *planned) knobAt(k *equipment.Knob, gainDB float64) *cli.KnobAt {
	if math.IsInf(gainDB, 0) {
		return nil
	}
	return cli.NewKnobAt(k, p.at(gainDB))
}

// markWords says at which mark a gain lies.
func (p *planned) markWords(k *equipment.Knob, gainDB float64) string {
	s := k.Find(p.at(gainDB))
	switch {
	case math.IsNaN(s.Mark):
		return ""
	case s.Beyond > 0.5:
		return "above the knob"
	case s.Beyond < -0.5:
		return "below the knob"
	}
	return "mark " + equipment.MarkText(k.Near(s.Mark))
}

// gainText is a gain as the user's knob has it: "mark 4½", else in dB.
func (p *planned) gainText(gainDB float64, of string) string {
	if k := p.knob(); k != nil {
		if s := k.Find(p.at(gainDB)); math.Abs(s.Beyond) <= 0.5 {
			return "mark " + equipment.MarkText(k.Near(s.Mark))
		}
	}
	return whole(gainDB, "dB") + of
}

// setting says what to set.
func (p *planned) setting(gainDB float64, gain string) string {
	if p.knob() == nil {
		return gain + whole(gainDB, "dB")
	}
	return fmt.Sprintf("the knob near %s (%s of gain in this chain)", p.gainText(gainDB, ""), whole(gainDB, "dB"))
}

// nearly says where the knob then is.
func (p *planned) nearly(gainDB float64) string {
	if p.knob() == nil {
		if p.sc.Knob() != nil {
			return fmt.Sprintf("that takes %s of gain in this chain; which mark of your knob that is, the equipment file cannot say, since it knows no level in dB SPL", whole(gainDB, "dB"))
		}
		return "the knob is then near " + whole(gainDB, "dB")
	}
	return "set " + p.setting(gainDB, "")
}

// windowMarks are the window's ends on the user's knob.
func (p *planned) windowMarks() string {
	k := p.knob()
	if k == nil || math.IsInf(p.window.LowDB, 0) || math.IsInf(p.window.HighDB, 0) {
		return ""
	}
	return fmt.Sprintf(" (%s to %s)", p.markWords(k, p.window.LowDB), p.markWords(k, p.window.HighDB))
}

// knobEnds says what the knob offers at most.
func (p *planned) knobEnds() string {
	if p.sc.Knob() != nil {
		return fmt.Sprintf("your knob offers (%s)", picture.DB(p.setup.Knob.HighDB, "dB in this chain"))
	}
	return fmt.Sprintf("a knob offers (%g dB)", plan.KnobHighDB)
}
