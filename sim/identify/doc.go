// Package identify estimates what equipment did from recordings of it: system
// identification for microphones, preamps, converters and limiters that cannot be opened.
// It knows no file; a recording is a Recording, one channel that can be read again from
// its start. Nothing is held in memory that grows with a recording but an envelope of
// fifty values a second.
//
// Every estimate is an Estimate: a value, an interval that is meant to hold the truth in
// nine cases of ten, and nothing where the recordings do not say. What is missing to know
// more stands beside it in words.
//
// A pair is one sound recorded with the limiter off and with it on, on two channels or
// twice. Survey looks at either alone, Align finds the time that lies between them, and
// Limiter tells where in the chain the limiter acts and by what law.
package identify

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// A Recording is one channel, full scale at 1. Read fills dst from its start and
// returns io.EOF at the end, perhaps with the last samples.
type Recording interface {
	Rewind() error
	Read(dst []float64) (int, error)
}

// A Pacer is a Recording that is asked, where long work is done on what was read of it,
// whether to go on: nil, or why not. It may wait there, and then is asked no more than a
// few hundred times a second.
type Pacer interface{ Pace() error }

// paceOf is how a recording is asked.
func paceOf(r Recording) func() error {
	if p, ok := r.(Pacer); ok {
		return p.Pace
	}
	return func() error { return nil }
}

// A Format is what is known of how a recording is stored.
type Format struct {
	Rate int     // Hz
	Full float64 // the magnitude of a sample at full scale; +Inf if there is none
	Step float64 // between neighbouring codes; 0 if there are none
}

// An Estimate is a value with the interval that is meant to hold the truth in nine
// cases of ten. NaN is unknown.
type Estimate struct{ Value, Low, High float64 }

// Unknown is no estimate.
func Unknown() Estimate { return Estimate{math.NaN(), math.NaN(), math.NaN()} }

// Known tells whether there is a value.
func (e Estimate) Known() bool { return !math.IsNaN(e.Value) }

// A Fault says in one line why recordings cannot be compared.
type Fault string

func (f Fault) Error() string { return string(f) }

func faultf(format string, a ...any) error { return Fault(fmt.Sprintf(format, a...)) }

// AsFault tells whether the recordings, not the reading of them, are at fault.
func AsFault(err error) bool {
	var f Fault
	return errors.As(err, &f)
}

// Bounds of the rates that can be compared, Hz.
const (
	MinRate = 8000
	MaxRate = 384000
)

// stream feeds the whole of r to take, block by block; begun is where a block starts.
func stream(r Recording, take func(begun int64, x []float64) error) error {
	if err := r.Rewind(); err != nil {
		return err
	}
	buf := make([]float64, 1<<14)
	for at := int64(0); ; {
		n, err := r.Read(buf)
		if n > 0 {
			if e := take(at, buf[:n]); e != nil {
				return e
			}
		}
		at += int64(n)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// A tape reads a recording forward with a window that can look back a little.
type tape struct {
	r     Recording
	buf   []float64
	start int64 // the frame of buf[0]
	ended bool
}

func newTape(r Recording) (*tape, error) { return &tape{r: r}, r.Rewind() }

// window returns frames from to to, fewer at the end of the recording and zeros before its
// start. Windows must not begin earlier than those before. The slice is good until the next.
func (t *tape) window(from, to int64) ([]float64, error) {
	if t.start == 0 && len(t.buf) == 0 && !t.ended && from < 0 {
		t.buf = make([]float64, -from)
		t.start = from
	}
	if drop := from - t.start; drop > 0 {
		k := min(drop, int64(len(t.buf)))
		t.buf = append(t.buf[:0], t.buf[k:]...)
		t.start += k
	}
	for !t.ended && t.start+int64(len(t.buf)) < to {
		n := len(t.buf)
		const most = 1 << 14
		t.buf = append(t.buf, make([]float64, most)...)
		got, err := t.r.Read(t.buf[n:])
		t.buf = t.buf[:n+got]
		if errors.Is(err, io.EOF) {
			t.ended = true
		} else if err != nil {
			return nil, err
		}
		if drop := min(from-t.start, int64(len(t.buf))); drop > 0 { // what is skipped is not kept
			t.buf = append(t.buf[:0], t.buf[drop:]...)
			t.start += drop
		}
	}
	a, b := max(from-t.start, 0), min(to-t.start, int64(len(t.buf)))
	if b <= a {
		return nil, nil
	}
	return t.buf[a:b], nil
}
