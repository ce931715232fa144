package lesson

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"gainwright/lessons/builtin"
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

// takeBuiltin takes the built-in lesson of an id off those not read yet; nil if it is not
// among them, or another one is meant before it.
func takeBuiltin(unread *[]string, id string, found *lessonItem) *model.Lesson {
	i := slices.Index(*unread, id)
	if i < 0 || found != nil && !found.own {
		return nil
	}
	l, err := builtin.Load(id)
	if err != nil {
		return nil
	}
	*unread = slices.Delete(*unread, i, i+1)
	return l
}

// asideKey is where the progress with a seed is kept beside another.
func asideKey(key string, seed uint64) string { return fmt.Sprintf("%s.seed.%d", key, seed) }

// putAside makes room for the quantities of a seed: what is kept of a lesson with another
// one is kept beside, and what was once put aside with this one comes back. other is the
// seed that gave way, nil if none did. Nothing is lost by a link, whoever has made it.
func putAside(h kit.Host, l *model.Lesson, seed *uint64) (other *uint64, err error) {
	key := storeKey(l)
	kept := h.Load(key)
	if seed == nil || kept == "" {
		return nil, nil
	}
	var p run.Progress
	if json.Unmarshal([]byte(kept), &p) == nil {
		if p.Seed == *seed {
			return nil, nil
		}
		h.Store(asideKey(key, p.Seed), kept)
		if h.Load(asideKey(key, p.Seed)) != kept {
			return nil, fmt.Errorf("the lesson was begun here with the seed %d, which there is no room to keep beside another: finish it and save its result first, or open the link in another browser", p.Seed)
		}
		other = &p.Seed
	}
	h.Store(key, h.Load(asideKey(key, *seed)))
	return other, nil
}
