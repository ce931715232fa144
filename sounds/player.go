package sounds

import (
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"gainwright/sounds/codec"
)

// MostTracks is how many tracks a Player holds.
const MostTracks = 8

// A Track is one mono signal of a Player: Samples or Samples32, full scale at
// 1. They must not change while loaded.
type Track struct {
	Samples   []float64
	Samples32 []float32
	// GainDB is applied in playback, to match loudness; −80 to +60 dB.
	GainDB float64
}

// Len is the length in frames.
func (t Track) Len() int { return max(len(t.Samples), len(t.Samples32)) }

func (t *Track) at(i int64) float64 {
	if i < 0 {
		return 0
	}
	if t.Samples != nil {
		if i < int64(len(t.Samples)) {
			return t.Samples[i]
		}
		return 0
	}
	if i < int64(len(t.Samples32)) {
		return float64(t.Samples32[i])
	}
	return 0
}

// switchTime is the length of all ramps and cross-fades of a Player, in s.
const switchTime = 0.01

// MinLoop is the shortest loop of a Player, in s.
const MinLoop = 0.05

// trackSet is what one Load brought: never changed afterwards.
type trackSet struct {
	tracks [MostTracks]Track
	count  int
	frames int64
}

// playerOrder is the snapshot the puller reads once a block. Play, pause and
// seek are counted, so that none is lost and none is done twice.
type playerOrder struct {
	set       *trackSet
	gain      [MostTracks]float64
	selected  int
	loop      bool
	loopA     int64
	loopB     int64
	play      bool
	playCount uint64
	seekTo    int64
	seekCount uint64
}

// begin is where Play starts after the end.
func (o *playerOrder) begin() int64 {
	if o.loop {
		return o.loopA
	}
	return 0
}

// voice is one reading position. A switch fades from one voice to another.
type voice struct {
	set   *trackSet
	track int
	pos   int64
	gain  ramp
}

// A Player plays one of up to MostTracks equally long mono tracks at a time, on
// both channels, all in step: switching keeps the position and cross-fades over
// 10 ms with equal gain (the sum of both gains is 1, right for signals that are
// nearly alike). It streams for ever, silence when paused. It has the shape of a
// beep.Streamer.
//
// Stream is for one goroutine, everything else for any. Stream allocates nothing
// and never waits.
type Player struct {
	rate int
	fade int

	mu    sync.Mutex // among those who give orders
	order atomic.Pointer[playerOrder]

	// What follows is the puller's.
	cur      voice
	old      voice
	oldEnds  bool // the old voice also fades at the end of its track
	left     int  // frames of the cross-fade still to come
	playing  bool
	again    bool // begin anew with the next cross-fade
	level    ramp // 0 paused, 1 playing
	sawPlay  uint64
	sawSeek  uint64
	pubPlay  atomic.Uint64
	pubSeek  atomic.Uint64
	pubOn    atomic.Bool
	position atomic.Int64
	ended    atomic.Uint64
}

// NewPlayer makes an empty Player for a rate in Hz.
func NewPlayer(rate int) *Player {
	if rate < codec.MinRate || rate > codec.MaxRate {
		panic(fmt.Sprintf("sounds: NewPlayer: %d Hz", rate))
	}
	p := &Player{rate: rate, fade: int(switchTime * float64(rate))}
	p.order.Store(&playerOrder{set: &trackSet{}})
	p.cur.set = p.order.Load().set
	return p
}

// Rate is the sample rate in Hz.
func (p *Player) Rate() int { return p.rate }

// give changes the orders.
func (p *Player) give(f func(o *playerOrder)) {
	p.mu.Lock()
	o := *p.order.Load()
	f(&o)
	p.order.Store(&o)
	p.mu.Unlock()
}

// Load replaces all tracks at once, with a cross-fade if they are playing. The
// position and, where it still exists, the selection are kept; a loop that no
// longer fits is dropped.
func (p *Player) Load(tracks ...Track) error {
	if len(tracks) > MostTracks {
		return fmt.Errorf("%d tracks are too many to play: at most %d", len(tracks), MostTracks)
	}
	s := &trackSet{count: len(tracks)}
	var gain [MostTracks]float64
	for i, t := range tracks {
		if t.Samples != nil && t.Samples32 != nil {
			return fmt.Errorf("track %d has samples of two kinds", i+1)
		}
		if i > 0 && t.Len() != tracks[0].Len() {
			return fmt.Errorf("track %d has %d frames, the first %d: they cannot play in step", i+1, t.Len(), tracks[0].Len())
		}
		if err := checkGain(t.GainDB); err != nil {
			return err
		}
		s.tracks[i] = t
		s.frames = int64(t.Len())
		gain[i] = dbToLin(t.GainDB)
	}
	p.give(func(o *playerOrder) {
		o.set, o.gain = s, gain
		if o.selected >= s.count {
			o.selected = 0
		}
		if o.loopB > s.frames {
			o.loop = false
		}
	})
	return nil
}

func checkGain(db float64) error {
	if !(db >= -80 && db <= 60) {
		return fmt.Errorf("a playback gain of %g dB is outside −80 to +60", db)
	}
	return nil
}

// Tracks is the number of tracks loaded, Frames their length.
func (p *Player) Tracks() int { return p.order.Load().set.count }

func (p *Player) Frames() int64 { return p.order.Load().set.frames }

// Select plays track i (from 0) from now on, at the same position. A number
// that is not loaded is ignored.
func (p *Player) Select(i int) {
	p.give(func(o *playerOrder) {
		if i >= 0 && i < o.set.count {
			o.selected = i
		}
	})
}

// Selected is the track ordered last.
func (p *Player) Selected() int { return p.order.Load().selected }

// SetGain changes the playback gain of one track, in dB.
func (p *Player) SetGain(i int, db float64) error {
	if err := checkGain(db); err != nil {
		return err
	}
	p.give(func(o *playerOrder) {
		if i >= 0 && i < o.set.count {
			o.gain[i] = dbToLin(db)
		}
	})
	return nil
}

// SetLoop repeats the frames from a up to b, with a cross-fade at the joint. It
// is an error if they are not inside the tracks or closer than MinLoop.
func (p *Player) SetLoop(a, b int64) (err error) {
	p.give(func(o *playerOrder) {
		if a < 0 || b > o.set.frames || float64(b-a) < MinLoop*float64(p.rate) {
			err = fmt.Errorf("a loop from frame %d to %d does not fit into %d frames, or is shorter than %g s", a, b, o.set.frames, MinLoop)
			return
		}
		o.loop, o.loopA, o.loopB = true, a, b
	})
	return err
}

// ClearLoop plays on to the end.
func (p *Player) ClearLoop() { p.give(func(o *playerOrder) { o.loop = false }) }

// Loop returns the loop and whether there is one.
func (p *Player) Loop() (a, b int64, on bool) {
	o := p.order.Load()
	return o.loopA, o.loopB, o.loop
}

// Play starts, or starts again from the beginning (of the loop) after the end.
func (p *Player) Play() { p.give(func(o *playerOrder) { o.play = true; o.playCount++ }) }

// Pause stops within 10 ms and keeps the position.
func (p *Player) Pause() { p.give(func(o *playerOrder) { o.play = false; o.playCount++ }) }

// SeekTo goes to a frame, held inside the tracks.
func (p *Player) SeekTo(frame int64) {
	p.give(func(o *playerOrder) {
		o.seekTo = max(0, min(frame, o.set.frames))
		o.seekCount++
	})
}

// Playing reports whether it plays, or will with the next block.
func (p *Player) Playing() bool {
	o := p.order.Load()
	if o.playCount != p.pubPlay.Load() {
		return o.play
	}
	return p.pubOn.Load()
}

// Position is the next frame to be pulled (the device is heard a little later).
func (p *Player) Position() int64 {
	o := p.order.Load()
	if o.seekCount != p.pubSeek.Load() {
		return o.seekTo
	}
	return p.position.Load()
}

// Ended counts how often the end has been reached in playing.
func (p *Player) Ended() uint64 { return p.ended.Load() }

// Err is always nil.
func (p *Player) Err() error { return nil }

// Stream fills buf; it always returns len(buf), true.
func (p *Player) Stream(buf [][2]float64) (int, bool) {
	o := p.order.Load()
	if !p.playing && p.level.cur == 0 {
		p.jump(o)
	}
	if o.playCount != p.sawPlay {
		p.sawPlay = o.playCount
		if o.play && !p.playing && o.set.count > 0 {
			p.playing = true
			p.level.to(1, p.fade)
			// Play after the end begins anew.
			p.again = p.cur.pos >= o.set.frames
			if p.again && p.level.cur == 0 {
				p.again = false
				p.cur.pos = o.begin()
			}
		} else if !o.play && p.playing {
			p.playing = false
			p.level.to(0, p.fade)
		}
	}
	if p.cur.set == o.set && p.left == 0 {
		p.cur.gain.to(o.gain[p.cur.track], p.fade)
	}
	for i := range buf {
		v := 0.0
		if p.playing || p.level.cur != 0 || p.level.left > 0 {
			v = p.frame(o)
		}
		buf[i] = [2]float64{v, v}
	}
	if !p.playing && p.level.cur == 0 {
		p.jump(o)
	}
	p.position.Store(p.cur.pos)
	p.pubOn.Store(p.playing)
	p.pubSeek.Store(p.sawSeek)
	p.pubPlay.Store(p.sawPlay)
	return len(buf), true
}

// jump carries out, without a fade, what is due while nothing sounds.
func (p *Player) jump(o *playerOrder) {
	p.left = 0
	if o.seekCount != p.sawSeek {
		p.sawSeek = o.seekCount
		p.cur.pos = o.seekTo
	}
	p.cur.set, p.cur.track = o.set, o.selected
	p.cur.gain.jump(o.gain[o.selected])
	p.cur.pos = min(p.cur.pos, o.set.frames)
}

// turn begins a cross-fade to another voice if one is due and none is running.
func (p *Player) turn(o *playerOrder) {
	pos, due, wrap := p.cur.pos, false, false
	if p.again {
		p.again = false
		pos, due = o.begin(), true
	}
	if o.seekCount != p.sawSeek {
		p.sawSeek = o.seekCount
		pos, due = o.seekTo, true
	} else if !due && o.loop && o.set == p.cur.set {
		// The old voice needs something to fade out with.
		end := min(o.loopB, o.set.frames-int64(p.fade))
		if over := pos - end; over >= 0 {
			if over >= end-o.loopA {
				over = 0
			}
			pos, due, wrap = o.loopA+over, true, true
		}
	}
	if p.cur.set != o.set || p.cur.track != o.selected {
		due, wrap = true, false
	}
	if !due {
		return
	}
	p.old, p.oldEnds = p.cur, !wrap || p.cur.pos > p.cur.set.frames-int64(p.fade)
	p.cur = voice{set: o.set, track: o.selected, pos: pos}
	p.cur.gain.jump(o.gain[o.selected])
	p.left = p.fade
}

// frame is the next sample.
func (p *Player) frame(o *playerOrder) float64 {
	if p.left == 0 {
		p.turn(o)
	}
	v := p.cur.next(p.fade, true)
	if p.left > 0 {
		g := float64(p.left) / float64(p.fade+1)
		v = v*(1-g) + p.old.next(p.fade, p.oldEnds)*g
		p.left--
	}
	v *= p.level.next()
	if p.playing && p.cur.pos >= p.cur.set.frames && p.left == 0 && !(o.loop && o.set == p.cur.set) {
		// The track has faded by now.
		p.playing = false
		p.level.jump(0)
		p.ended.Add(1)
	}
	return v
}

// next reads a sample and moves on. The last frames of a track fade, so that
// one that is cut off does not click.
func (v *voice) next(fade int, ends bool) float64 {
	g := v.gain.next()
	s := v.set
	left := s.frames - v.pos
	if left <= 0 {
		return 0
	}
	x := s.tracks[v.track].at(v.pos) * g
	v.pos++
	if ends && left <= int64(fade) {
		x *= float64(left-1) / float64(fade)
	}
	if math.IsNaN(x) {
		return 0
	}
	return x
}
