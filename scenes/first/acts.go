package first

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

var errRolls = errors.New("she is being recorded; the take ends by itself")

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	roll := kit.Try(s.roll)
	hear := kit.Try(func() error { return s.hear(mine) })
	return kit.Acts{
		idGain:       s.setGain,
		idGo:         roll,
		kit.IDRecord: roll,
		idHear:       hear,
		kit.IDPlay:   hear,
		idOther:      kit.Try(func() error { return s.hear(lower) }),
		idAgain:      kit.Try(s.again),
		idNext:       kit.Try(s.next),
		idVoice:      kit.Try(func() error { return s.shell.Visit(kit.IDTabVoice) }),
		idAll:        kit.Press(s.shell.ShowAll),
	}
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	s.read()
	ok, err := s.acts.Apply(it)
	if !ok {
		return fmt.Errorf("there is nothing called %q here", it.ID)
	}
	s.sync()
	return err
}

// rest is how long after a turn the highest bar still tells of the gain before, seconds:
// gain ramps over 10 ms, and what is performed is made ahead of the picture.
const rest = 0.15

// handover is how long after the guest has sat down somebody else may still be heard,
// seconds: so much may be made ahead.
const handover = 1.1

// setGain turns the knob. With a take on the picture that is another try.
func (s *Scene) setGain(it ui.Intent) error {
	b := s.shell.Bench()
	if s.stage.Rolling() {
		return errRolls
	}
	c := b.Chain(mine)
	v, err := kit.Number(it, c.Preamp.GainDB, s.gain.Default, 1, kit.GainMin, kit.GainMax)
	if err != nil || v == c.Preamp.GainDB {
		return err
	}
	if s.step().Press[0] != "record" {
		if err := s.again(); err != nil {
			return err
		}
	}
	c.Preamp.GainDB = v
	s.fresh = s.shell.Now() + rest
	return b.SetChain(mine, c)
}

func (s *Scene) next() error {
	if s.step().Next == "" {
		return errors.New("there is no step to go on to")
	}
	s.to(s.at + 1)
	return nil
}

// lead is how long before the laugh playing begins, seconds.
const lead = 2.5

const clipped = "Caution: this is clipped and will sound harsh."

// hear plays the laugh as strip i recorded it, or stops it. Clipped sound comes after a
// caution, once for each take.
func (s *Scene) hear(i int) error {
	b := s.shell.Bench()
	t := b.Take()
	if t == nil || !t.Done {
		return kit.ErrNoTake
	}
	if b.Playing() && int(b.Listening()) == i {
		b.Stop()
		return nil
	}
	play := func() error {
		b.Stop()
		b.SetListen(bench.Listen(i))
		b.Seek(max(0, float64(t.Loudest)/bench.Rate-lead))
		return b.Play()
	}
	if t.Readings[i].Overs == 0 || s.warned == t {
		return s.shell.Audibly("", play)
	}
	return s.shell.Audibly(clipped, func() error {
		s.warned = t
		return play()
	})
}

// sync brings the controls up to the state.
func (s *Scene) sync() {
	b := s.shell.Bench()
	st := s.step()
	rolling := s.stage.Rolling()
	s.gain.Value = b.Chain(mine).Preamp.GainDB
	kit.Refuse(rolling, errRolls.Error(), s.gain)
	sv := &b.View().Strip[mine]
	s.meter.Level = kit.Decibel(sv.Meter)
	s.meter.Hold, s.meter.Wanted = kit.Decibel(sv.Held[sim.AtFile]), kit.Decibel(sv.Demand)
	if b.Shown() != nil {
		s.meter.Level = s.meter.Axis[0].DB
	}
	s.meter.Low, s.meter.High, s.meter.BandName = math.NaN(), math.NaN(), ""
	if st.Band != nil {
		s.meter.Low, s.meter.High, s.meter.BandName = st.Band.From, st.Band.To, "the band"
	}
	s.rec.On, s.rec.Label, s.rec.Name, s.rec.Icon = rolling, "Record", "Record", ui.IconRecord
	if rolling {
		s.rec.Label, s.rec.Name, s.rec.Icon = "Stop", "Stop recording", ui.IconStop
	}
	for w, c := range s.press {
		c.Hidden = w != "all" && !slices.Contains(st.Press, w) || w == "voice" && !kit.MayTry(s.shell)
	}
	n := s.press["next"]
	n.Label, n.Name = st.Next, st.Next
	for i, w := range []string{"hear", "other"} {
		c := s.press[w]
		c.Icon, c.On = ui.IconPlay, b.Playing() && int(b.Listening()) == i
		if c.On {
			c.Icon = ui.IconPause
		}
	}
}

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs == nil {
		s.cs = []ui.Control{s.gain, s.meter}
		for _, b := range s.line {
			s.cs = append(s.cs, b)
		}
	}
	return s.cs
}
