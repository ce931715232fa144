package scenetest

import (
	"errors"
	"slices"
	"testing"

	"gainwright/scenes/kit"
)

// TestVocal: the stand-ins do what the contract of kit says.
func TestVocal(t *testing.T) {
	v := NewVocal(NewMic([]float64{1, 2, 3, 4, 5}).Asks())
	m := v.Listen(false)
	buf := make([]float64, 4)
	if m.Report().State != kit.MicAsking || m.Read(buf) != 0 || v.Asked != 1 {
		t.Error("it hears before it was allowed")
	}
	v.Next.Allow()
	v.Next.Each = 3
	if n := m.Read(buf); n != 3 || !slices.Equal(buf[:3], []float64{1, 2, 3}) {
		t.Errorf("read %d: %v", n, buf)
	}
	if m.Pull(buf); !slices.Equal(buf, []float64{4, 5, 0, 0}) {
		t.Errorf("pulled %v", buf)
	}
	v.Next.Passes(2)
	if n := m.Read(buf); n != 2 {
		t.Errorf("read %d after two frames passed", n)
	}
	if n := m.Read(buf); n != 0 {
		t.Errorf("read %d more", n)
	}
	gone := errors.New("gone")
	v.Next.Ends(gone)
	if r := m.Report(); r.State != kit.MicEnded || r.Err != gone || m.Read(buf) != 0 {
		t.Errorf("after its end: %+v", r)
	}

	v.Late = true
	kept := v.Keep("b", []byte{1})
	if len(kept) != 0 {
		t.Error("an answer came early")
	}
	v.Late = false
	v.Answer()
	if err := got(t, kept); err != nil {
		t.Error(err)
	}
	got(t, v.Keep("a", []byte{2}))
	if k := got(t, v.Kept()); !slices.Equal(k.Names, []string{"a", "b"}) || k.Err != nil {
		t.Errorf("kept %+v", k)
	}
	if d := got(t, v.Fetch("a")); !slices.Equal(d.Data, []byte{2}) || d.Err != nil {
		t.Errorf("fetched %+v", d)
	}
	v.Full = errors.New("full")
	if err := got(t, v.Keep("c", nil)); err != v.Full {
		t.Errorf("kept when full: %v", err)
	}
	if err := got(t, v.Forget("a")); err != nil {
		t.Error(err)
	}
	if d := got(t, v.Fetch("a")); d.Data != nil || d.Err != nil {
		t.Errorf("fetched what is forgotten: %+v", d)
	}
}

// got is an answer that has come.
func got[T any](t *testing.T, answer <-chan T) (v T) {
	t.Helper()
	select {
	case v = <-answer:
	default:
		t.Fatal("no answer has come")
	}
	return v
}
