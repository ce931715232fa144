package program

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/work"
	"gainwright/sounds/own"
)

// voicesAfter is for how long after the first picture the archive is left alone, seconds.
const voicesAfter = 1.0

// voices implements kit.Voices.
type voices struct {
	host    kit.Host
	bench   *bench.Session
	changed func() // others are there
	names   []string
	fault   error
	kept    <-chan kit.KeptNames
	again   bool    // look once more when that has answered
	from    float64 // when the first picture was there
	looked  bool
	lent    *bench.Voice
	// What is on its way.
	name string
	then func(*bench.Voice, error)
	data <-chan kit.KeptData
	job  *work.Task
	pace work.Pace
	made **bench.Voice // of the job
}

func (v *voices) Names() []string { return v.names }

func (v *voices) Fault() error { return v.fault }

func (v *voices) Loading() string { return v.name }

func (v *voices) Look() {
	a, ok := v.host.(kit.Archivist)
	switch {
	case !ok:
	case v.kept != nil:
		v.again = true
	default:
		v.looked, v.kept = true, a.Kept()
	}
}

func (v *voices) Lend(voice *bench.Voice) { v.lent = voice }

func (v *voices) Load(name string, then func(*bench.Voice, error)) {
	lent := v.lent
	if v.lent = nil; lent != nil && lent.Perf.Name == name {
		v.drop()
		v.name, v.then, v.made = name, then, &lent
		v.job = work.Start(func(*work.Context) error { return nil })
		return
	}
	a, ok := v.host.(kit.Archivist)
	if !ok {
		then(nil, errors.New("nothing is kept here: this window has no archive of voices"))
		return
	}
	v.drop()
	v.name, v.then, v.data = name, then, a.Fetch(kit.VoicePrefix+name)
}

// drop gives up what is on its way.
func (v *voices) drop() {
	if v.job != nil {
		v.job.Cancel()
	}
	v.name, v.then, v.data, v.job = "", nil, nil, nil
}

// goOn takes answers in and carries loading on.
func (v *voices) goOn(now float64, playing bool) {
	if v.from == 0 {
		v.from = now
	}
	if !v.looked && now >= v.from+voicesAfter {
		v.looked = true
		v.Look()
	}
	v.listed()
	select {
	case d := <-v.data:
		v.data = nil
		v.fetched(d)
	default:
	}
	if v.job != nil {
		if v.pace.Run(v.job, now, playing); v.job.Finished() {
			made, err := *v.made, v.job.Err
			if !errors.Is(err, context.Canceled) {
				v.come(made, err)
			}
		}
	}
}

// listed takes the names in.
func (v *voices) listed() {
	select {
	case k := <-v.kept:
		v.kept = nil
		if v.fault = k.Err; k.Err == nil {
			v.names = v.names[:0:0]
			for _, n := range k.Names {
				if n, ok := strings.CutPrefix(n, kit.VoicePrefix); ok {
					v.names = append(v.names, n)
				}
			}
			slices.Sort(v.names)
			v.bench.ForgetVoices(v.names)
		}
		v.changed()
		if v.again {
			v.again = false
			v.Look()
		}
	default:
	}
}

// fetched begins to make ready what the archive has.
func (v *voices) fetched(d kit.KeptData) {
	name := v.name
	if d.Err == nil && d.Data == nil {
		d.Err = fmt.Errorf("your voice “%s” is no longer kept here", name)
	}
	if d.Err != nil {
		v.come(nil, d.Err)
		v.Look()
		return
	}
	out := new(*bench.Voice)
	v.made = out
	v.job = work.Start(func(h *work.Context) error {
		p, err := own.Unpack(name, d.Data)
		if err != nil {
			return err
		}
		if err := h.Err(); err != nil {
			return err
		}
		p.Name = name
		*out, err = bench.NewVoice(p, nil)
		return err
	})
}

// come hands over what was asked for.
func (v *voices) come(made *bench.Voice, err error) {
	then := v.then
	v.drop()
	then(made, err)
	v.changed()
}
