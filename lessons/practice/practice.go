// Package practice is guest after guest without end: set the gain by a sound check, then
// hear what becomes of it.
package practice

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/equipment"
	voices "gainwright/sounds/own"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Speech makes what the guest says in the sound check, or in the conversation.
func (p *Practice) Speech(ctx context.Context, talk bool) (*take.Speech, error) {
	script := p.check
	if talk {
		script = p.talk
	}
	return p.bench.Speech(ctx, p.performed(script, nil))
}

// Practice is guest after guest without end. Each sits down for a sound check of
// about 20 s; the gain is set by that; then the conversation happens, compressed
// to the moments that tell: talk that warms up, a laugh, a whisper, someone
// leaning in. The score counts what matters afterwards. The better it goes, the
// harder the guests become.
//
//	p, _ := practice.New(seed, history, nil)
//	for {
//		g := p.Guest()                 // who, where, with what
//		m, _ := p.Check(ctx)           // readings of the sound check, as often as wanted
//		p.Apply("preamp.gain_db", 38)  // and "limiter_place"
//		o, _ := p.Talk(ctx)            // once; changes made while it rolled are counted
//		history = p.History()          // to be kept
//		p.Next()
//	}
//
// It is for one goroutine at a time. The same seed and history give the same
// guest.
type Practice struct {
	seed  uint64
	h     History
	bench *take.Bench
	g     Guest
	s     *scenario.Scenario
	own   *equipment.Recorder // of the user, or nil
	you   *voices.Guest       // the user's own voice, or nil
	check voice.Script
	talk  voice.Script
	last  *take.Performed
	out   *Outcomes
	now   func() time.Time
}

// MaxLevel is the hardest.
const MaxLevel = 10

// mostGainDB is the most gain that a practice accepts.
const mostGainDB = 65

// checkSeconds is about how long a sound check lasts.
const checkSeconds = 20

// New goes on where the history ends. bench may be nil.
func New(seed uint64, h History, b *take.Bench) (*Practice, error) {
	if seed > scenario.MaxSeed {
		return nil, fmt.Errorf("seed %d is out of range: 0 to %d", seed, uint64(scenario.MaxSeed))
	}
	if b == nil {
		b = take.NewBench()
	}
	h.Played = slices.Clone(h.Played)
	p := &Practice{seed: seed, h: h, bench: b, now: time.Now}
	return p, p.sit()
}

// On sits this guest and all after them down at the user's own microphone and recorder.
func (p *Practice) On(r *equipment.Recorder) error {
	p.own = r
	return p.sit()
}

// Lend has a voice of the user's own sit in this guest's place and in that of all after
// them; nil has the strangers back. It is refused once the guest has talked, and to a voice
// that does not laugh: a laugh is what is practised.
func (p *Practice) Lend(g *voices.Guest) error {
	if p.out != nil {
		return ErrTalked
	}
	if g != nil {
		if err := g.Fits(voice.Script{{Do: "laugh"}}); err != nil {
			return err
		}
	}
	p.you = g
	return p.sit()
}

// ownCheck is a sound check by a voice of one's own: as many lines as take the time.
func ownCheck(lines []string, at int) (s voice.Script) {
	for words := 0; words < checkSeconds*2; at++ { // two words and a pause take about a second
		line := lines[at%len(lines)]
		s = append(s, voice.Event{Text: line})
		words += len(strings.Fields(line))
	}
	return append(s, voice.Event{Do: "pause", OverS: 0.6})
}

// Mark turns the knob of the user's own recorder.
func (p *Practice) Mark(mark float64) error {
	if err := p.s.SetMark(mark); err != nil {
		return &model.AnswerError{Msg: names.FaultText(err)}
	}
	return nil
}

// Guest is who sits there now.
func (p *Practice) Guest() Guest { return p.g }

// History is what was practised so far.
func (p *Practice) History() History {
	h := p.h
	h.Played = slices.Clone(h.Played)
	return h
}

// Bench gives the settings as they stand.
func (p *Practice) Bench() *scenario.Scenario { return p.s.Clone() }

// Controls lists what may be set: the gain and the limiter's place. The guest, the
// microphone and its stand are as they are.
func (p *Practice) Controls() []model.Control {
	var out []model.Control
	for _, k := range []string{"preamp.gain_db", names.LimiterPlace} {
		c := model.ControlFor(p.s, p.s.Strips[0].Name+"."+k)
		n, _ := names.Setting(k)
		c.Key, c.Label = k, n.Label
		if c.Unit == "dB" {
			c.Min, c.Max = 0, mostGainDB
		}
		out = append(out, c)
	}
	return out
}

// Apply changes a setting.
func (p *Practice) Apply(key string, v any) error {
	for _, c := range p.Controls() {
		if c.Key != key {
			continue
		}
		if x, ok := names.Float(v); ok && c.Choices == nil {
			if !(x >= c.Min && x <= c.Max) {
				return &model.AnswerError{Msg: fmt.Sprintf("%s: %v is out of range: %v to %v %s", key, v, c.Min, c.Max, c.Unit)}
			}
			v = x
		}
		if err := names.Put(p.s, p.s.Strips[0].Name+"."+key, v); err != nil {
			return &model.AnswerError{Msg: key + ": " + names.FaultText(err)}
		}
		return nil
	}
	return &model.LockedError{Key: key, Why: "the guest, the microphone and its stand are as they are: only the gain and the limiter are yours"}
}

func (p *Practice) performed(script voice.Script, changes []model.Change) *take.Performed {
	t := &take.Performed{Talker: p.g.Talker, Script: script, Seed: p.s.Seed, Strips: slices.Clone(p.s.Strips), Changes: changes}
	if p.you != nil {
		t.Own, t.OwnSum = p.you, p.you.Sum
	}
	return t
}

// Check gives the readings of the sound check with the settings as they stand.
func (p *Practice) Check(ctx context.Context) (names.Measured, error) {
	p.last = p.performed(p.check, nil)
	m, err := p.bench.Record(ctx, p.last, nil)
	if err != nil {
		return nil, err
	}
	return m[p.s.Strips[0].Name], nil
}

// ErrTalked is returned when the guest has had their say already.
var ErrTalked = errors.New("this conversation has happened: a guest says it once")

// Talk lets the conversation happen, once for each guest. Changes are settings
// turned while it rolls, by the keys of Controls.
func (p *Practice) Talk(ctx context.Context, changes ...model.Change) (*Outcomes, error) {
	return p.count(ctx, changes, func(t *take.Performed) (names.Measured, []sim.Span, error) {
		w, err := p.bench.Listen(ctx, t, p.s.Strips[0].Name)
		if err != nil {
			return nil, nil, err
		}
		return w.Measured, w.Overs, nil
	})
}

// Talked is Talk of a conversation that was performed live, of what Speech gives, to
// its end: m and overs are what it read, changes are at the moments at which they took
// hold.
func (p *Practice) Talked(ctx context.Context, m names.Measured, overs []sim.Span, changes ...model.Change) (*Outcomes, error) {
	return p.count(ctx, changes, func(*take.Performed) (names.Measured, []sim.Span, error) { return m, overs, nil })
}

// count counts a conversation whose readings read gives.
func (p *Practice) count(ctx context.Context, changes []model.Change, read func(*take.Performed) (names.Measured, []sim.Span, error)) (*Outcomes, error) {
	if p.out != nil {
		return nil, ErrTalked
	}
	name := p.s.Strips[0].Name
	for i := range changes {
		trial := &Practice{s: p.s.Clone()}
		if err := trial.Apply(changes[i].Key, changes[i].Value); err != nil {
			return nil, err
		}
		if i > 0 && changes[i].AtS < changes[i-1].AtS {
			return nil, errors.New("changes are in the order of time")
		}
	}
	keyed := make([]model.Change, len(changes))
	for i, c := range changes {
		keyed[i] = model.Change{AtS: c.AtS, Key: name + "." + c.Key, Value: c.Value}
	}
	take := p.performed(p.talk, keyed)
	m, overs, err := read(take)
	if err != nil {
		return nil, err
	}
	o := &Outcomes{Readings: m, Overs: overs}
	start := p.s.Strips[0].Chain.Preamp.GainDB
	if o.Hour, err = p.hour(ctx); err != nil {
		return nil, err
	}
	// Headroom moves with the gain, dB for dB; changes on the way blur that a little.
	o.MostGainDB = min(mostGainDB, max(0, math.Floor(plan.Mostly(float64(m["gain_db"]), float64(m["headroom_db"])))))
	o.HourGainDB = o.Hour.gain()
	o.FittingGainDB = min(o.MostGainDB, o.HourGainDB)
	fit := p.performed(p.talk, nil)
	fit.Strips[0].Chain.Preamp.GainDB = o.FittingGainDB
	fit.Strips[0].Chain = fit.Strips[0].Chain.WithPlace(sim.LimiterOff)
	best, err := p.bench.Record(ctx, fit, nil)
	if err != nil {
		return nil, err
	}
	sp, err := p.bench.Speech(ctx, fit)
	if err != nil {
		return nil, err
	}
	o.Marks = sp.Marks
	least := float64(best[name]["delivered_noise_lufs"])
	noise := float64(m["delivered_noise_lufs"]) - least
	// What nobody asked for is no fault: up to the target noise costs nothing, nor a decibel
	// more than the fitting gain leaves.
	excess := float64(m["delivered_noise_lufs"]) - max(o.Hour.Setup.Limits.NoiseLUFS, least+1)
	turned := turns(changes)
	o.score(m, excess, o.Hour.risk(float64(m["gain_db"]))-o.Hour.Setup.Limits.Risk, turned)
	p.last, p.out = take, o
	p.h.Played = append(p.h.Played, Played{
		At: p.now().UTC().Truncate(time.Second), Number: p.g.Number, Level: p.g.Level, Talker: p.g.Talker, GainDB: start,
		Score: o.Score, Overs: int(m["overs"]), HeadroomDB: m["headroom_db"], NoiseDB: names.Number(names.Round(noise, 1)), Changes: turned, Own: p.g.Own,
	})
	switch {
	case p.g.Own != "": // its laugh is known: neither harder nor easier guests for that
	case o.Score >= 80:
		p.h.Level = min(MaxLevel, p.h.Level+1)
	case o.Score < 50:
		p.h.Level = max(1, p.h.Level-1)
	}
	o.Level = p.h.Level
	return o, nil
}

// Sound gives the file that was recorded last, of the check or the conversation.
func (p *Practice) Sound(ctx context.Context) (*take.Wave, error) {
	if p.last == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	w, err := p.bench.Listen(ctx, p.last, p.s.Strips[0].Name)
	if err == nil {
		w.Caution = take.Caution("The recording", w.Measured)
		take.Trim([]*take.Wave{w})
	}
	return w, err
}

// Next shows the next guest in, once this one has talked.
func (p *Practice) Next() error {
	if p.out == nil {
		return errors.New("the guest has not talked yet")
	}
	return p.sit()
}
