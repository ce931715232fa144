package lesson

import (
	"encoding/json"
	"errors"
	"fmt"

	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
)

// came is what comes with the address: the lessons that a site brings, and the one that a
// link opens.
type came struct {
	lessons []*model.Lesson
	link    *model.Link // until it is followed
}

// readCame asks the host; what cannot be read is told.
func readCame(h kit.Host) (c came, err error) {
	var faults []error
	if st, ok := h.(kit.Stocked); ok {
		for _, f := range st.Lessons() {
			l, err := format.Parse(f.Name, []byte(f.Text))
			if err != nil {
				faults = append(faults, fmt.Errorf("a lesson of this site cannot be read: %w", err))
				continue
			}
			c.lessons = append(c.lessons, l)
		}
	}
	if l, ok := model.ReadLink(kit.Followed(h)); ok {
		c.link = &l
	}
	return c, errors.Join(faults...)
}

// follow gives the link, once.
func (c *came) follow() *model.Link {
	l := c.link
	c.link = nil
	return l
}

// called is the lesson of an id, those of a site before one's own; nil if there is none.
func called(items []*lessonItem, id string) (found *lessonItem) {
	for _, it := range items {
		if it.l.ID == id && (found == nil || found.own) {
			found = it
		}
	}
	return found
}

// drawnOther reports whether what is kept of a lesson has other quantities than those of a
// seed.
func drawnOther(kept string, seed *uint64) bool {
	var p run.Progress
	return seed != nil && kept != "" && (json.Unmarshal([]byte(kept), &p) != nil || p.Seed != *seed)
}
