package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gainwright/sounds"
	"gainwright/sounds/own"
)

// PerformOwn performs a learner's own voice, over and over: r is what it tells. Its
// laugh and its call come when the bench is asked for a laugh or a shout.
func (s *Session) PerformOwn(p *own.Performance, r *own.Reading) error {
	q := *p // the name and where it is placed may change
	v, err := NewVoice(&q, r)
	if err != nil {
		return err
	}
	return s.PerformVoice(v)
}

// PerformVoice is PerformOwn of a voice that is ready.
func (s *Session) PerformVoice(v *Voice) error {
	if s.mode == ModeRecord {
		return errors.New("a take is being recorded")
	}
	s.EndLive()
	s.Know(v)
	if err := s.startPerformance(s.ownPerformance(v, s.seed)); err != nil {
		return err
	}
	s.file, s.again = nil, nil
	s.heard.anew(s.aheadFrame())
	s.heard.until = s.heard.from // the voice is a sound check in itself
	s.applyDistance()
	s.ClearHold()
	return nil
}

// Lent tells whether a learner's own voice is performed, and whether it can be asked for an event.
func (s *Session) Lent(event string) (own, can bool) {
	v := s.Voice()
	return v != nil, v != nil && v.Can(event)
}

// OwnRoomPa is the rms of the learner's own room in what is looked at, Pa at 1 m; 0 where a
// talker performs, or where the voice is not held any more.
func (s *Session) OwnRoomPa() float64 {
	v := s.Voice()
	if t := s.Shown(); t != nil {
		v = s.knows(&t.perf)
	}
	if v == nil {
		return 0
	}
	return v.RoomPa()
}

// mostKnown bounds how many voices are held for takes that may be made again.
const mostKnown = 3

// Know holds a voice, so that takes of it can be made again.
func (s *Session) Know(v *Voice) {
	s.known = slices.DeleteFunc(s.known, func(o *Voice) bool { return o.Perf.Name == v.Perf.Name })
	if s.known = append(s.known, v); len(s.known) > mostKnown {
		s.known = slices.Delete(s.known, 0, 1)
	}
}

// ForgetVoices lets go of all voices that are not kept under one of these names, but for
// the one that is performed.
func (s *Session) ForgetVoices(kept []string) {
	now := s.Voice()
	s.known = slices.DeleteFunc(s.known, func(v *Voice) bool { return v != now && !slices.Contains(kept, v.Perf.Name) })
}

// Lacks is the name of the voice that has to be known before a take can be made again, or "".
func (s *Session) Lacks(r *Recipe) string {
	if r.Perf.Own == "" || s.knows(&r.Perf) != nil {
		return ""
	}
	return r.Perf.Own
}

// SetFile performs a recording instead, over and over; nil goes back to the
// talker. The level is that of its loudest second, dB SPL at 1 m.
func (s *Session) SetFile(r *Recording) error {
	if r == nil {
		return s.PerformFile(nil, nil)
	}
	loud := sounds.NewLoudestSecond(Rate)
	var block [4096]float64
	for at := 0; at < len(r.Samples); at += len(block) {
		n := min(len(block), len(r.Samples)-at)
		for i, v := range r.Samples[at : at+n] {
			block[i] = float64(v)
		}
		loud.Add(block[:n])
	}
	return s.PerformFile(r, loud)
}

// PerformFile is SetFile of a recording whose loudest second is known.
func (s *Session) PerformFile(r *Recording, loud *sounds.LoudestSecond) error {
	if r != nil {
		scale, err := loud.Scale(r.LevelDB)
		if err != nil {
			return fmt.Errorf("%s: %w", r.Name, err)
		}
		r.scale = scale
	}
	if r != nil {
		s.EndLive()
	}
	s.file, s.filePos = r, 0
	s.heard.anew(s.aheadFrame())
	if r != nil {
		s.heard.until = s.heard.from + int64(len(r.Samples))
	}
	s.ClearHold()
	return nil
}

// SetFileLevel changes the level of the recording performed.
func (s *Session) SetFileLevel(db float64) error {
	if s.file == nil {
		return fmt.Errorf("no recording is performed")
	}
	s.file.scale *= math.Pow(10, (db-s.file.LevelDB)/20)
	s.file.LevelDB = db
	s.heard.anew(s.aheadFrame())
	s.heard.until = s.heard.from + int64(len(s.file.Samples))
	s.ClearHold()
	return nil
}

// File is the recording performed, or nil.
func (s *Session) File() *Recording { return s.file }
