package mine

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// store waits for the archive's answers.
type store struct {
	names  []string
	kept   <-chan kit.KeptNames
	data   <-chan kit.KeptData
	of     string // data's
	done   <-chan error
	after  func(err error)
	broken error
}

// none tells whether there is no archive.
func (t *store) none(h kit.Host) bool {
	_, ok := h.(kit.Archivist)
	return !ok
}

// look asks what is kept.
func (t *store) look(h kit.Host) {
	if a, ok := h.(kit.Archivist); ok && t.kept == nil {
		t.kept = a.Kept()
	}
}

// answers takes in answers, and reports whether there were any.
func (t *store) answers(s *Scene) (any bool) {
	select {
	case k := <-t.kept:
		t.kept, any = nil, true
		t.names, t.broken = nil, k.Err
		for _, n := range k.Names {
			if n, ok := strings.CutPrefix(n, kit.VoicePrefix); ok {
				t.names = append(t.names, n)
			}
		}
		slices.Sort(t.names)
	default:
	}
	select {
	case d := <-t.data:
		t.data, any = nil, true
		p, err := (*own.Performance)(nil), d.Err
		if err == nil && d.Data == nil {
			err = fmt.Errorf("%s is no longer kept here", t.of)
		}
		if err == nil {
			p, err = own.Unpack(t.of, d.Data)
		}
		if err != nil {
			s.failed(err)
			t.look(s.shell.Host())
			break
		}
		s.look(p, p.Name)
	default:
	}
	select {
	case err := <-t.done:
		after := t.after
		t.done, t.after, any = nil, nil, true
		after(err)
	default:
	}
	return any
}

var errNoArchive = errors.New("this window keeps nothing; save it as WAV instead")

// archive is the host's, if nothing is on its way there.
func (s *Scene) archive() (kit.Archivist, error) {
	a, ok := s.shell.Host().(kit.Archivist)
	switch {
	case !ok:
		return nil, errNoArchive
	case s.store.done != nil || s.store.data != nil:
		return nil, errors.New("the archive is still busy")
	}
	return a, nil
}

// listKept makes the buttons of what is kept.
func (s *Scene) listKept() {
	for _, b := range s.kept {
		delete(s.acts, b.ID)
	}
	s.kept = s.kept[:0]
	for i, n := range s.store.names {
		b := ui.NewButton(idKept+fmt.Sprint(i+1), "Take the voice kept as "+n, "Kept in this browser.", n, ui.Plain, ui.IconPlay)
		b.Size = ui.Small
		s.acts[b.ID] = kit.Try(func() error {
			a, err := s.archive()
			if err == nil {
				s.store.data, s.store.of = a.Fetch(kit.VoicePrefix+n), n
				s.say("Fetching "+n+".", false)
			}
			return err
		})
		s.kept = append(s.kept, b)
	}
	s.relay()
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
	if slices.Contains(s.store.names, name) && s.saved != name && !s.shell.Sure(s.keep.ID, "A voice called "+name+" is kept already. Press again to replace it.") {
		return nil
	}
	data, err := s.mine.Pack()
	if err != nil {
		return err
	}
	s.store.done = a.Keep(kit.VoicePrefix+name, data)
	s.store.after = func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.saved = name
		s.say(name+" is kept in this browser. It is there at your next visit, until you delete it.", true)
		s.store.look(s.shell.Host())
		s.shell.Voices().Look()
		s.relay()
	}
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
	s.store.done = a.Forget(kit.VoicePrefix + name)
	s.store.after = func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.saved = ""
		s.say(name+" is deleted from this browser. What you see here is gone, too, when you leave.", true)
		s.store.look(s.shell.Host())
		s.shell.Voices().Look()
		s.relay()
	}
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
