package recorder

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// add takes recordings in.
func (s *Scene) add(drops []ui.Drop) {
	for _, d := range drops {
		if isEquipment(d.Name) {
			if err := s.openEquipment(d); err != nil {
				s.shell.Fail(err)
			}
			continue
		}
		s.enter(&entry{drop: d})
	}
	s.shell.Relayout()
	if s.waiting() == 0 {
		return
	}
	s.hear.stopped = false
	s.status = fmt.Sprintf("%s to be read.", counted(s.waiting(), "recording is", "recordings are"))
	s.shell.Relayout()
	s.cs = nil
}

// enter puts a recording on the list.
func (s *Scene) enter(e *entry) {
	e.row = newFileRow(fmt.Sprint(idFile, s.numbered+1), e.drop.Name)
	s.numbered++
	s.files = append(s.files, e)
	s.acts[e.row.ID] = kit.Press(func() { s.choose(e) })
}

func isEquipment(name string) bool {
	name = strings.ToLower(name)
	return strings.HasSuffix(name, ".yaml") || strings.HasSuffix(name, ".yml")
}

// openEquipment uses the recorder of an equipment file.
func (s *Scene) openEquipment(d ui.Drop) error {
	if d.Err != nil {
		return d.Err
	}
	if d.Long != nil {
		return fmt.Errorf("%s is too long for an equipment file", d.Name)
	}
	r, err := equipment.Read(d.Name, d.Data)
	if err != nil {
		return err
	}
	return s.putToUse(r)
}

// waiting is how many recordings are still to be read.
func (s *Scene) waiting() (n int) {
	for _, e := range s.files {
		if e.waits() {
			n++
		}
	}
	return n
}

// choose makes a recording the one of which something is said, or none.
func (s *Scene) choose(e *entry) {
	if s.chosen == e {
		e = nil
	}
	s.chosen = e
	if e != nil {
		s.is, s.isMark = -1, ""
		switch {
		case e.told != nil:
			s.say(*e.told)
		case e.reading != nil && len(e.reading.Sources) > 0:
			src := e.reading.Sources[0]
			s.say(series.Told{Step: src.Step, Pair: src.Step == 0, Mark: src.Mark})
		}
		s.mark.SetText(s.isMark)
	}
	s.cs = nil
	s.shell.Relayout()
}

func (s *Scene) say(t series.Told) {
	s.isMark = series.Mark(t.Mark)
	for i, w := range kinds {
		if w == t.Step.String() && !t.Pair || w == "pair" && t.Pair {
			s.is = i
		}
	}
}

// takeOut forgets recordings.
func (s *Scene) takeOut(gone func(*entry) bool) {
	if s.reading != nil && gone(s.reading) {
		s.giveUp()
	}
	var out []*entry
	s.files = slices.DeleteFunc(s.files, func(e *entry) bool {
		if gone(e) {
			out = append(out, e)
			delete(s.acts, e.row.ID)
			return true
		}
		return false
	})
	if s.chosen != nil && gone(s.chosen) {
		s.chosen = nil
	}
	for _, e := range s.files {
		if twice := new(errTwice); errors.As(e.err, twice) {
			e.err, e.why = nil, "" // the other one may be gone
		}
	}
	s.leave(out)
	s.stale, s.cs = true, nil
	s.shell.Relayout()
}
