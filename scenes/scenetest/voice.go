package scenetest

import (
	"maps"
	"slices"

	"gainwright/scenes/kit"
)

var (
	_ kit.Microphone = (*Mic)(nil)
	_ kit.Listener   = (*Vocal)(nil)
	_ kit.Archivist  = (*Vocal)(nil)
)

// Mic stands for a microphone: it hears Sound once, then silence.
type Mic struct {
	Told   kit.MicReport // what Report gives: a running one with all processing off, unless told
	Sound  []float64     // what it hears, at 48 kHz, full scale ±1
	Each   int           // frames that a Read gives at most: 800, a 60th of a second, where 0
	Closed bool
	at     int
	left   int // frames that the next Read may give, where Passes is used
	paced  bool
}

// NewMic is a microphone that was allowed and hears sound.
func NewMic(sound []float64) *Mic {
	return &Mic{Sound: sound, Told: kit.MicReport{State: kit.MicRunning, Opened: kit.Opened{
		Label: "Built-in microphone", Echo: kit.SaidOff, Noise: kit.SaidOff, Gain: kit.SaidOff, DeviceRate: 48000, LatencyS: 0.02}}}
}

// Asks has the browser's question stand, until Allow or Ends.
func (m *Mic) Asks() *Mic { m.Told.State = kit.MicAsking; return m }

// Allow answers it with yes.
func (m *Mic) Allow() { m.Told.State = kit.MicRunning }

// Ends has it end by a fault, or refused.
func (m *Mic) Ends(why error) { m.Told.State, m.Told.Err = kit.MicEnded, why }

// Passes lets so many frames pass; from then on Read gives what has passed, and no more.
func (m *Mic) Passes(frames int) { m.paced, m.left = true, m.left+frames }

// Report tells what it was told to.
func (m *Mic) Report() kit.MicReport { return m.Told }

// Read gives a picture's worth of what it hears.
func (m *Mic) Read(dst []float64) int {
	if m.Told.State != kit.MicRunning {
		return 0
	}
	n := 800
	if m.Each > 0 {
		n = m.Each
	}
	if m.paced {
		n = m.left
	}
	n = min(n, len(dst))
	m.left = max(0, m.left-n)
	m.hear(dst[:n])
	return n
}

// Pull gives what it hears as fast as it is asked.
func (m *Mic) Pull(dst []float64) {
	if m.Told.State != kit.MicRunning {
		clear(dst)
		return
	}
	m.hear(dst)
}

func (m *Mic) hear(dst []float64) {
	n := copy(dst, m.Sound[m.at:])
	m.at += n
	clear(dst[n:])
}

// Close ends it.
func (m *Mic) Close() {
	m.Closed = true
	m.Told.State = kit.MicEnded
}

// Vocal is a Memory that has a microphone and an archive.
type Vocal struct {
	Memory
	Next  *Mic // what the next Listen gives; one that hears nothing where nil
	Asked int  // how often it was listened
	// Archive is what is kept. Full is why nothing more is, Locked why it cannot be looked
	// into, or nil. Late holds the answers back until Answer.
	Archive      map[string][]byte
	Full, Locked error
	Late         bool
	held         []func()
}

// NewVocal is an empty one, whose user has been here before.
func NewVocal(next *Mic) *Vocal {
	return &Vocal{Memory: Memory{M: map[string]string{"everything": "1"}}, Next: next, Archive: map[string][]byte{}}
}

// Listen gives the microphone.
func (v *Vocal) Listen(bool) kit.Microphone {
	v.Asked++
	if v.Next == nil {
		v.Next = NewMic(nil)
	}
	return v.Next
}

// Answer gives the answers that were held back.
func (v *Vocal) Answer() {
	for _, f := range v.held {
		f()
	}
	v.held = nil
}

// later does f now, or when Answer is called.
func (v *Vocal) later(f func()) {
	if v.Late {
		v.held = append(v.held, f)
		return
	}
	f()
}

// Keep keeps a copy.
func (v *Vocal) Keep(name string, data []byte) <-chan error {
	answer, data := make(chan error, 1), slices.Clone(data)
	v.later(func() {
		if v.Full == nil && v.Locked == nil {
			v.Archive[name] = data
		}
		answer <- first(v.Locked, v.Full)
	})
	return answer
}

// Kept gives the names in order.
func (v *Vocal) Kept() <-chan kit.KeptNames {
	answer := make(chan kit.KeptNames, 1)
	v.later(func() {
		if v.Locked != nil {
			answer <- kit.KeptNames{Err: v.Locked}
			return
		}
		answer <- kit.KeptNames{Names: slices.Sorted(maps.Keys(v.Archive))}
	})
	return answer
}

// Fetch gives a copy; nil without an error where nothing of that name is kept.
func (v *Vocal) Fetch(name string) <-chan kit.KeptData {
	answer := make(chan kit.KeptData, 1)
	v.later(func() {
		if v.Locked != nil {
			answer <- kit.KeptData{Err: v.Locked}
			return
		}
		answer <- kit.KeptData{Data: slices.Clone(v.Archive[name])}
	})
	return answer
}

// Forget deletes it.
func (v *Vocal) Forget(name string) <-chan error {
	answer := make(chan error, 1)
	v.later(func() {
		if v.Locked == nil {
			delete(v.Archive, name)
		}
		answer <- v.Locked
	})
	return answer
}

func first(errs ...error) error {
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return nil
}
