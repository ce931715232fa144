package mine

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// store waits for the archive's answer to what is kept or deleted.
type store struct {
	done <-chan error
	said string // once it is done
	now  string // the name under which it is kept then
}

// answers takes an answer in, and reports whether there was one.
func (s *Scene) answers() bool {
	select {
	case err := <-s.store.done:
		t := s.store
		if s.store = (store{}); err != nil {
			s.shell.Fail(err)
			return true
		}
		s.saved = t.now
		s.say(t.said, true)
		s.shell.Voices().Look()
		s.relay()
		return true
	default:
		return false
	}
}

// archive is the host's, if nothing is on its way there.
func (s *Scene) archive() (kit.Archivist, error) {
	a, ok := s.shell.Host().(kit.Archivist)
	switch {
	case !ok:
		return nil, errors.New("this window keeps nothing; save it as WAV instead")
	case s.store.done != nil:
		return nil, errors.New("the archive is still busy")
	}
	return a, nil
}

// listKept makes the buttons of what is kept.
func (s *Scene) listKept() {
	for _, b := range s.kept {
		delete(s.acts, b.ID)
	}
	s.names, s.kept = s.shell.Voices().Names(), s.kept[:0]
	for i, n := range s.names {
		b := ui.NewButton(idKept+fmt.Sprint(i+1), "Take the voice kept as "+n, "Kept in this browser.", n, ui.Plain, ui.IconPlay)
		b.Size = ui.Small
		s.acts[b.ID] = kit.Press(func() { s.takeKept(n) })
		s.kept = append(s.kept, b)
	}
	s.relay()
}

// takeKept shows a voice that is kept, as soon as it is ready.
func (s *Scene) takeKept(name string) {
	s.say("Fetching "+name+".", false)
	s.shell.Voices().Load(name, func(v *bench.Voice, err error) {
		switch {
		case err != nil:
			s.failed(err)
		case s.stage == atStart && s.job == nil: // nothing else was begun meanwhile
			s.look(v.Perf, v.Look, name)
		}
	})
}

// keepIt keeps the performance.
func (s *Scene) keepIt() error {
	if s.mine == nil {
		return errNothing
	}
	a, err := s.archive()
	if err != nil {
		return err
	}
	name := s.mine.Name
	if slices.Contains(s.names, name) && s.saved != name && !s.shell.Sure(s.keep.ID, "A voice called "+name+" is kept already. Press again to replace it.") {
		return nil
	}
	data, err := s.mine.Pack()
	if err != nil {
		return err
	}
	s.store = store{done: a.Keep(kit.VoicePrefix+name, data), said: name + " is kept in this browser. It is there at your next visit, until you delete it.", now: name}
	return nil
}

// deleteIt deletes it from the archive; what is shown stays.
func (s *Scene) deleteIt() error {
	if s.mine == nil || s.saved == "" {
		return errors.New("it is not kept in this browser")
	}
	a, err := s.archive()
	if err != nil {
		return err
	}
	name := s.saved
	if !s.shell.Sure(s.delete.ID, name+" is deleted from this browser for good. Press again to do so.") {
		return nil
	}
	s.store = store{done: a.Forget(kit.VoicePrefix + name), said: name + " is deleted from this browser. What you see here is gone, too, when you leave."}
	return nil
}

// saveWAV hands it out.
func (s *Scene) saveWAV() error {
	if s.mine == nil {
		return errNothing
	}
	data, err := s.mine.Pack()
	if err == nil {
		s.shell.Save("voice-"+plain(s.mine.Name)+".wav", data)
	}
	return err
}

var errNothing = errors.New("no voice is there yet")

// plain is a name that any file system takes.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9':
			return r
		case r == ' ' || r == '-' || r == '_':
			return '-'
		}
		return -1
	}, s)
}

// readVoice reads a recording that was brought along.
func readVoice(h *work.Context, d ui.Drop) (*own.Performance, error) {
	if d.Err == nil && d.Long == nil {
		if p, err := own.Unpack(d.Name, d.Data); !errors.Is(err, own.ErrPlain) {
			return p, err
		}
	}
	h.Report("reading", 0)
	r, err := work.OpenDrop(d)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	in := r.Info()
	src := sounds.AtRate(sounds.Mono(r, in.Channels, work.PickChannel(d)), in.Rate, own.Rate, 1, sounds.Standard)
	var x []float64
	block := sounds.NewBlock(1, 1<<14)
	for len(x) < own.MostSeconds*own.Rate {
		n, err := src.Read(block)
		x = append(x, block[0][:n]...)
		if n == 0 || err != nil {
			break
		}
		h.Report("reading", .5*float64(len(x))/(own.MostSeconds*own.Rate))
		if err := h.Err(); err != nil {
			return nil, err
		}
	}
	name, _, _ := strings.Cut(d.Name, ".")
	if r := []rune(name); len(r) > 40 {
		name = string(r[:40])
	}
	if name == "" {
		name = "you"
	}
	return own.FromRecording(name, x)
}
