package recorder

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sim/identify"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// visit opens the scene with what a browser keeps.
func visit(t testing.TB, h *scenetest.Vocal) (*scenetest.Driver, *Scene) {
	b, s := scenetest.Open[*Scene](t, h, kit.IDTabRecorder, func(sh kit.Shell) []kit.Scene { return scenetest.Amid(New(sh)) })
	b.Wait(0.05)
	return b, s
}

// rest waits until nothing goes on, in the archive neither.
func (s *Scene) rest(b *scenetest.Driver) {
	b.Helper()
	b.Settle(func() string { w, _ := s.progress(); return w }, func() bool {
		t := &s.store
		open := slices.ContainsFunc(s.files, func(e *entry) bool { return e.reading != nil && !e.tried })
		return s.job == nil && !s.stale && s.waiting() == 0 && !t.busy() && t.done == nil && len(t.gone) == 0 && !open &&
			(!s.known() || s.found == t.sums || s.poorer())
	})
}

func names(h *scenetest.Vocal) (files int, learnt bool) {
	for n := range h.Archive {
		if strings.HasPrefix(n, keptFile) {
			files++
		}
	}
	return files, h.Archive[keptLearnt] != nil
}

// TestReload: recordings, what was said of them by hand and what they told are there after the
// page is loaded again, until they are taken out; what others keep stays.
func TestReload(t *testing.T) {
	h, all := scenetest.NewVocal(nil), recorded()
	h.Archive["own.somebody"] = []byte("a voice")
	b, s := visit(t, h)
	if b.Has(idKept) {
		t.Error("it says what is kept before anything is")
	}
	x := make([]float64, 3*series.SoundRate)
	for i := range x {
		x[i] = 0.25 * math.Sin(2*math.Pi*identify.ToneHz*float64(i)/series.SoundRate)
	}
	byHand := ui.Drop{Name: "ferry_0001.wav", Data: newDevice().record(t, x, 13.7, 0, false)} // without a slate
	long := all["steps-10.wav"]                                                               // as a browser gives what it does not hold in memory
	long.Long, long.Size, long.Data = bytes.NewReader(long.Data), int64(len(long.Data)), nil
	drop(b, long, all["steps-0.wav"], byHand)
	s.settle(b)
	if s.chosen == nil {
		t.Fatal("the recording without a slate is not asked about")
	}
	b.Do(idIs + "steps")
	b.Write(idIsMark, "5")
	b.Do(idReread)
	s.rest(b)
	was := fmt.Sprint(s.found.Gains.Marks)
	if n, learnt := names(h); n != 3 || !learnt {
		t.Fatalf("%d recordings are kept, learnt %v", n, learnt)
	}
	if v := b.Node(idKept).Value; !strings.Contains(v, "3 recordings and what they told are kept") {
		t.Errorf("it says %q", v)
	}

	b, s = visit(t, h)
	s.rest(b)
	if got := fmt.Sprint(s.found.Gains.Marks); got != was || !strings.Contains(was, "{5 ") {
		t.Errorf("after a reload %s, before %s", got, was)
	}
	if w := s.Announce(); !strings.Contains(w, "3 recordings are read") {
		t.Errorf("it says %q", w)
	}
	b.Do(idFile + "1")
	b.Do(idDrop)
	s.rest(b)
	if n, learnt := names(h); n != 2 || !learnt {
		t.Errorf("one taken out: %d recordings are kept, learnt %v", n, learnt)
	}

	b, s = visit(t, h)
	s.rest(b)
	if len(s.files) != 2 {
		t.Fatalf("%d recordings come back", len(s.files))
	}
	b.Do(idForget)
	b.Do(idForget)
	s.rest(b)
	if n, learnt := names(h); n != 0 || learnt || h.Archive["own.somebody"] == nil {
		t.Errorf("all taken out: %d recordings are kept, learnt %v", n, learnt)
	}
	b, s = visit(t, h)
	s.rest(b)
	if len(s.files) != 0 || s.known() || b.Has(idKept) {
		t.Error("what was taken out comes back")
	}
}

// TestLearntAlone: where recordings are not kept, what they told is, can be saved and put to
// use, and is not given up for a part of it; why they are not kept is told.
func TestLearntAlone(t *testing.T) {
	h, all := scenetest.NewVocal(nil), recorded()
	b, s := visit(t, h)
	long := func(name string) ui.Drop {
		d := append(slices.Clone(all[name].Data), make([]byte, mostFile)...) // what follows the sound
		return ui.Drop{Name: name, Long: bytes.NewReader(d), Size: int64(len(d))}
	}
	drop(b, long("steps-10.wav"), long("steps-0.wav"))
	s.rest(b)
	if v := b.Node(idKept).Value; !strings.Contains(v, "Not kept is steps-10.wav: it is longer than 32 MB") {
		t.Errorf("it says %q", v)
	}
	if n, learnt := names(h); n != 0 || !learnt {
		t.Fatalf("%d recordings are kept, learnt %v", n, learnt)
	}

	b, s = visit(t, h)
	s.rest(b)
	if v := b.Node(idKept).Value; !strings.Contains(v, "What was learnt on ") {
		t.Errorf("it says %q", v)
	}
	b.Do(idSave)
	name, data, ok := b.P.NextSave()
	if r, err := equipment.Read(name, data); !ok || err != nil || len(r.Marks) != 2 {
		t.Fatalf("%v\n%s", err, data)
	}
	b.Do(idUse)
	if s.shell.Bench().Recorder() == nil {
		t.Error("what was learnt is not put to use")
	}
	drop(b, all["steps-0.wav"])
	s.rest(b)
	if r := s.equipment(); len(r.Marks) != 2 || !strings.Contains(b.Node(idKept).Value, "of more recordings is kept, too") {
		t.Errorf("one recording of two has what was learnt given up: %d marks, %q", len(r.Marks), b.Node(idKept).Value)
	}
	drop(b, all["steps-10.wav"], all["steps-4_5.wav"])
	s.rest(b)
	if r := s.equipment(); len(r.Marks) != 3 || strings.Contains(b.Node(idKept).Value, "too, and") {
		t.Errorf("more recordings: %d marks, %q", len(r.Marks), b.Node(idKept).Value)
	}
}

// TestArchiveFaults: a full archive and one that cannot be looked into are told, and what is
// damaged is forgotten; the scene works without.
func TestArchiveFaults(t *testing.T) {
	all := recorded()
	h := scenetest.NewVocal(nil)
	h.Full = errors.New("the browser has no room left for it")
	b, s := visit(t, h)
	drop(b, all["steps-10.wav"])
	s.rest(b)
	if v := b.Node(idKept).Value; !strings.Contains(v, "Not kept is steps-10.wav: the browser has no room") {
		t.Errorf("full: it says %q", v)
	}
	h = scenetest.NewVocal(nil)
	h.Locked = errors.New("the browser keeps nothing for this page")
	b, s = visit(t, h)
	if v := b.Node(idKept).Value; !strings.Contains(v, "The browser keeps nothing") {
		t.Errorf("locked: it says %q", v)
	}
	drop(b, all["steps-10.wav"])
	s.rest(b)
	if !s.known() {
		t.Error("without an archive nothing is read")
	}
	h = scenetest.NewVocal(nil)
	h.Archive[keptFile+"0123"], h.Archive[keptLearnt] = []byte("no recording"), []byte("no: file")
	b, s = visit(t, h)
	s.rest(b)
	if len(h.Archive) != 0 || len(s.files) != 0 || !strings.Contains(b.Node(idKept).Value, "cannot be read any more") {
		t.Errorf("damaged: %d are kept, it says %q", len(h.Archive), b.Node(idKept).Value)
	}
}

// TestTakenOutOnTheWay: what is taken out while the archive answers does not come back.
func TestTakenOutOnTheWay(t *testing.T) {
	h, all := scenetest.NewVocal(nil), recorded()
	b, s := visit(t, h)
	drop(b, all["steps-10.wav"], all["steps-0.wav"])
	s.rest(b)
	h.Late = true
	b, s = visit(t, h)
	drop(b, all["steps-4_5.wav"])
	s.settle(b)
	b.Do(idForget)
	b.Do(idForget)
	for range 20 {
		h.Answer()
		b.Wait(0.05)
	}
	if len(s.files) != 0 || len(h.Archive) != 0 {
		t.Errorf("%d recordings are there and %d things kept", len(s.files), len(h.Archive))
	}
}
