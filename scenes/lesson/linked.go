package lesson

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
)

// This file is about lessons that come with the address: those that a site brings, and
// the one that a link opens.

// stock adds the site's lessons; one that has the name of a built-in one stands for it.
func (s *Scene) stock() {
	if s.given.by != nil {
		return // that one alone
	}
	if h, ok := s.shell.Host().(kit.Stocked); ok {
		for _, f := range h.Lessons() {
			l, err := format.Parse(f.Name, []byte(f.Text))
			if err != nil {
				s.shell.Fail(fmt.Errorf("a lesson of this site cannot be read: %w", err))
				continue
			}
			s.unread = slices.DeleteFunc(s.unread, func(n string) bool { return n == l.ID })
			it := s.add(l, false)
			it.sites = true
			it.stand(s.given.kept(s.shell.Host(), it.l))
		}
	}
	if l, ok := model.ReadLink(kit.Followed(s.shell.Host())); ok {
		s.follow = &l
	}
}

// beginLinked begins the lesson that a link names, or goes on with it, at the first
// picture.
func (s *Scene) beginLinked() bool {
	if s.follow == nil || s.item != nil {
		return false
	}
	l := s.follow
	s.follow = nil
	if l.Name != "" {
		s.name.SetText(l.Name)
		s.shell.Host().Store("student", l.Name)
	}
	it := s.called(l.Lesson)
	if it == nil {
		s.shell.Fail(fmt.Errorf("the link opens a lesson %q, which is not here", l.Lesson))
		return true
	}
	if err := s.beginWith(it, l.Seed); err != nil {
		s.shell.Fail(err)
	}
	return true
}

// called is the lesson of an id, those of a site before one's own and the built-in ones.
func (s *Scene) called(id string) *lessonItem {
	var found *lessonItem
	for _, it := range s.items {
		if it.l.ID == id && (found == nil || found.own) {
			found = it
		}
	}
	if i := slices.Index(s.unread, id); i >= 0 && found == nil {
		if l, err := builtin.Load(id); err == nil {
			s.unread = slices.Delete(s.unread, i, i+1)
			found = s.add(l, false)
		}
	}
	return found
}

// beginWith begins a lesson with the quantities of a seed, unless it is on with them.
func (s *Scene) beginWith(it *lessonItem, seed *uint64) error {
	if seed == nil {
		return s.begin(it, false)
	}
	var p run.Progress
	text := s.given.kept(s.shell.Host(), it.l)
	anew := text == "" || json.Unmarshal([]byte(text), &p) != nil || p.Seed != *seed
	draw := s.draw
	s.draw = func() uint64 { return *seed }
	defer func() { s.draw = draw }()
	return s.begin(it, anew && strings.TrimSpace(text) != "")
}
