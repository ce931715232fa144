package recorder

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gainwright/scenes/kit"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// What is kept in the browser's archive, by name: the equipment file of what was learnt, and
// each recording under its SHA-256.
const (
	keptPrefix = "recorder."
	keptLearnt = keptPrefix + "learnt"
	keptFile   = keptPrefix + "file."
	mostFile   = 32 << 20  // bytes of one recording, which is in memory when it comes back
	mostKept   = 128 << 20 // of all: a series is some 40 MB
)

// store brings what is known over a reload of the page: it asks the archive for one thing at
// a time and takes its answers in, frame by frame.
type store struct {
	asked   bool
	names   <-chan kit.KeptNames
	fetch   []string // names still to be fetched
	data    <-chan kit.KeptData
	of      string // data's, or that of what is being kept
	done    <-chan error
	keeping *entry // done's; nil: what was learnt, or a name that is forgotten
	held    map[string]int
	gone    []string      // names to be forgotten
	packing bool          // by the job
	nothing bool          // all that is listed is to be forgotten
	back    int           // recordings that came back at this visit
	sums    *series.Found // what the equipment file that is kept sums up
	lone    bool          // what was learnt came back without all of its recordings
	fault   string        // why not all is kept
}

// busy tells whether recordings of an earlier visit are still on their way.
func (t *store) busy() bool { return t.names != nil || len(t.fetch) > 0 || t.data != nil }

// tend takes answers in and asks for the next thing; it reports whether anything came.
func (s *Scene) tend() (any bool) {
	a, ok := s.shell.Host().(kit.Archivist)
	if !ok {
		return false
	}
	t := &s.store
	if !t.asked {
		t.asked, t.held, t.names = true, map[string]int{}, a.Kept()
	}
	select {
	case k := <-t.names:
		t.names, any = nil, true
		s.listed(k)
	default:
	}
	select {
	case d := <-t.data:
		t.data, any = nil, true
		s.fetched(d)
	default:
	}
	select {
	case err := <-t.done:
		t.done, any = nil, true
		s.keptOne(err)
	default:
	}
	if t.names == nil && t.data == nil && t.done == nil {
		s.askNext(a)
	}
	if any {
		s.cs = nil
		s.shell.Relayout()
	}
	return any
}

func (s *Scene) listed(k kit.KeptNames) {
	if k.Err != nil {
		s.store.fault = k.Err.Error()
		return
	}
	for _, n := range k.Names {
		switch {
		case n != keptLearnt && !strings.HasPrefix(n, keptFile):
		case s.store.nothing:
			s.store.gone = append(s.store.gone, n)
		default:
			s.store.fetch = append(s.store.fetch, n)
		}
	}
	slices.Sort(s.store.fetch) // what was learnt comes last, after the recordings that tell it anew
}

// fetched takes in what was kept.
func (s *Scene) fetched(d kit.KeptData) {
	t := &s.store
	sum, isFile := strings.CutPrefix(t.of, keptFile)
	switch {
	case d.Err != nil:
		t.fault = d.Err.Error()
	case d.Data == nil: // another tab forgot it
	case !isFile:
		r, err := equipment.Read("what was learnt", d.Data)
		if err != nil {
			t.gone = append(t.gone, t.of)
			break
		}
		s.learnt, t.lone = r, len(sources(r)) > t.back
		if len(s.files) == 0 {
			s.status = "What was learnt of your recorder on " + r.Learnt + " is kept here."
		}
	default:
		e, err := unpack(d.Data)
		if err != nil {
			t.fault, t.gone = err.Error(), append(t.gone, t.of)
			break
		}
		t.held[sum], e.keptAs = len(d.Data), sum
		if slices.ContainsFunc(s.files, func(o *entry) bool { return o.reading != nil && o.reading.SHA256 == sum }) {
			break // it was brought along again meanwhile
		}
		t.back++
		s.enter(e)
		s.status = fmt.Sprintf("%s of an earlier visit %s kept here, and read again.", counted(t.back, "recording", "recordings"), isAre(t.back))
	}
}

// askNext asks for what is to be done next, if anything is: first what was kept, then what is
// to be forgotten, then what was learnt is kept.
func (s *Scene) askNext(a kit.Archivist) {
	t := &s.store
	if t.packing {
		return
	}
	if len(t.fetch) > 0 {
		t.of, t.fetch = t.fetch[0], t.fetch[1:]
		t.data = a.Fetch(t.of)
		return
	}
	if len(t.gone) > 0 {
		t.of, t.gone, t.keeping = t.gone[0], t.gone[1:], nil
		delete(t.held, strings.TrimPrefix(t.of, keptFile))
		t.done = a.Forget(t.of)
		return
	}
	if !s.known() || s.found == t.sums || !s.whole() || s.poorer() {
		return
	}
	t.sums = s.found
	r := s.found.Equipment(time.Now())
	data, err := r.Write()
	if err != nil {
		t.fault = err.Error()
		return
	}
	s.learnt, t.lone = r, false
	t.of, t.keeping, t.done = keptLearnt, nil, a.Keep(keptLearnt, data)
}

// keepNext begins to keep a recording that was read, if there is one that is not kept: its
// bytes may have to be read once more, beside the screen.
func (s *Scene) keepNext() bool {
	a, ok := s.shell.Host().(kit.Archivist)
	t := &s.store
	if !ok || t.busy() || t.done != nil || len(t.gone) > 0 {
		return false
	}
	for _, e := range s.files {
		if e.reading == nil || e.tried {
			continue
		}
		e.tried = true
		sum := e.reading.SHA256
		if _, ok := t.held[sum]; ok {
			e.keptAs = sum
			continue // it came from there
		}
		if e.unkept = t.unfit(e); e.unkept != "" {
			continue
		}
		var data []byte
		t.packing = true
		s.start(func(h *work.Context) (err error) {
			data, err = e.pack(h)
			return err
		}, func(err error) {
			t.packing = false
			switch {
			case errors.Is(err, context.Canceled):
				e.unkept = "that was stopped"
			case err != nil:
				e.unkept = err.Error()
			case slices.Contains(s.files, e): // else it was taken out meanwhile
				t.of, t.keeping, t.done = keptFile+sum, e, a.Keep(keptFile+sum, data)
				t.held[sum], e.keptAs = len(data), sum
			}
		})
		return true
	}
	return false
}

// poorer tells whether less is known now than was learnt at an earlier visit of recordings that
// are not here any more: that is not given up for it.
func (s *Scene) poorer() bool {
	if !s.store.lone || s.learnt == nil {
		return false
	}
	now := map[string]bool{}
	for _, x := range s.found.Sources {
		now[x.SHA256] = true
	}
	return len(now) < len(sources(s.learnt))
}

// unfit is why a recording is not kept, if it is not.
func (t *store) unfit(e *entry) string {
	size := e.size()
	if size > mostFile {
		return fmt.Sprintf("it is longer than %d MB", mostFile>>20)
	}
	for _, n := range t.held {
		size += int64(n)
	}
	if size > mostKept {
		return fmt.Sprintf("with it there would be more than %d MB", mostKept>>20)
	}
	return ""
}

// whole tells whether what is known is of all recordings: none waits, was given up or is on
// its way from the archive.
func (s *Scene) whole() bool {
	if s.job != nil || s.stale || s.store.busy() {
		return false
	}
	return !slices.ContainsFunc(s.files, func(e *entry) bool { return e.reading == nil && e.err == nil })
}

// keptOne takes the answer of what was kept or forgotten.
func (s *Scene) keptOne(err error) {
	t := &s.store
	if err == nil {
		return
	}
	t.fault = err.Error()
	if e := t.keeping; e != nil {
		e.unkept = err.Error()
		delete(t.held, e.keptAs)
		e.keptAs = ""
	}
}

// leave has the archive forget recordings that were taken out, and with the last of them what
// was learnt.
func (s *Scene) leave(out []*entry) {
	t := &s.store
	if !t.asked {
		return // nothing is kept
	}
	for _, e := range out {
		if e.keptAs != "" && !slices.ContainsFunc(s.files, func(o *entry) bool { return o.keptAs == e.keptAs || o.reading != nil && o.reading.SHA256 == e.keptAs }) {
			t.gone = append(t.gone, keptFile+e.keptAs)
		}
	}
	if len(s.files) > 0 {
		return
	}
	t.gone = append(t.gone, t.fetch...)
	if t.data != nil {
		t.gone = append(t.gone, t.of)
	}
	t.gone = append(t.gone, keptLearnt)
	t.nothing = t.names != nil
	t.fetch, t.data, t.fault, t.sums, t.lone, s.learnt = nil, nil, "", nil, false, nil
}

// anew has a recording kept anew once it is read as something else.
func (t *store) anew(e *entry) {
	delete(t.held, e.keptAs)
	e.tried, e.unkept = false, ""
}

// keptWords say what of all this is there at the next visit; "" where nothing is to be said.
func (s *Scene) keptWords() string {
	if _, ok := s.shell.Host().(kit.Archivist); !ok {
		return ""
	}
	t, kept, not := &s.store, 0, ""
	for _, e := range s.files {
		switch {
		case e.unkept != "":
			if not == "" {
				not = "Not kept is " + sounds.Shown(e.drop.Name) + ": " + e.unkept
			}
		case e.keptAs != "" && (t.done == nil || t.keeping != e):
			kept++
		}
	}
	words := ""
	switch {
	case kept > 0:
		words = counted(kept, "recording and what it told is", "recordings and what they told are") + " kept in this browser, until you take them out."
	case s.learnt != nil && len(s.files) == 0:
		words = "What was learnt on " + s.learnt.Learnt + " is kept in this browser, without its recordings: save it or use it."
	}
	if s.known() && s.poorer() {
		words += " What was learnt on " + s.learnt.Learnt + " of more recordings is kept, too, and is what is saved and used until as many are here again."
	}
	switch {
	case not != "":
		words += " " + not + dot(not)
	case t.fault != "":
		words += " " + kit.Capital(t.fault) + dot(t.fault)
	}
	return strings.TrimSpace(words)
}

// earlier tells whether what was learnt earlier counts: while its recordings are read again,
// and where they are not here.
func (s *Scene) earlier() bool {
	return s.learnt != nil && (!s.known() || !s.whole() || s.poorer())
}

// equipment is what is known of the recorder; nil where nothing is.
func (s *Scene) equipment() *equipment.Recorder {
	switch {
	case s.earlier():
		return s.learnt
	case s.known():
		if s.made.of != s.found { // it is asked for at each picture
			s.made.of, s.made.is = s.found, s.found.Equipment(time.Now())
		}
		return s.made.is
	}
	return nil
}
