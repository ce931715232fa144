package speaker

import (
	_ "embed"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"
	"syscall/js"
	"time"

	"gainwright/sounds"
)

// processor is the part that runs in the browser's audio thread.
//
//go:embed worklet.js
var processor string

// What the worklet's queue is like, in frames. What it holds was made before the
// last change of a setting, so its depth is most of the time from a knob to the
// ear; and while the page is busy with something else nothing new is made, so too
// short a queue breaks off. It begins long and finds its length: see worklet.js.
const (
	workletBlock   = 256
	workletLeast   = 768
	workletStart   = 4096
	workletMost    = 12288
	workletReserve = 512
	// workletPeriod is how often the queue's length is looked at, in seconds, and
	// workletPeriods how many of these a longer queue is remembered to be needed.
	workletPeriod  = 8
	workletPeriods = 12
	// workletBatch is the most blocks in a message.
	workletBatch = 8
)

// What the worklet tells.
const (
	tellWake    = iota // it wants more; it has played without a gap since this frame of the context's clock
	tellBreak          // a break of so many frames is over
	tellStart          // from this frame of the context's clock on it plays without a gap
	tellEmpty          // a break begins, after so many frames in all
	tellDepth          // the queue shall be so deep from now on
	tellStrain         // the reserve is drawn on
	tellLow            // the fewest frames that were left lately
	tellHungry         // it wants more, and is silent, after so many frames in all
	tellDropped        // so many frames did not fit
)

// errNoWorklet says that the browser, or where the page comes from, allows no
// audio worklet.
var errNoWorklet = errors.New("this browser gives this page no audio worklet")

// worklet feeds an audio worklet of our own from the device's streamer: in the
// page's one thread, whenever the worklet asks. A block costs no memory here but
// what syscall/js takes for an event: a few small objects.
type worklet struct {
	d    *device
	ctx  js.Value
	post js.Value // the port's postMessage
	// A message is a copy of a whole stage: there is one for each number of blocks.
	stage, bytes [workletBatch + 1]js.Value // Int16Array, and the same memory as Uint8Array
	buf          [workletBlock][2]float64
	codes        [workletBatch * workletBlock * 4]byte

	awake   bool // it has asked for sound
	account account

	breaks, lost, longest, dropped atomic.Int64
	depth, low                     atomic.Int64
	strained                       atomic.Int64 // when, ns
}

// afterPicture calls f when the next picture is on the screen: opening the browser's
// sound holds the page up for a third of a second at a first visit, and nobody hears
// anything before there is something to press. Where no picture comes f is called all
// the same.
func afterPicture(f func()) {
	global := js.Global()
	var once sync.Once
	call := js.FuncOf(func(js.Value, []js.Value) any { once.Do(f); return nil })
	later := js.FuncOf(func(js.Value, []js.Value) any { global.Call("setTimeout", call, 0); return nil })
	if global.Get("requestAnimationFrame").Truthy() {
		// The next frame's callback runs before that frame is shown.
		global.Call("requestAnimationFrame", later)
	}
	global.Call("setTimeout", call, 3000)
}

// openWorklet opens it. It waits for promises, so a callback must not call it.
func openWorklet(d *device) (w *worklet, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%v", p) // what the browser threw
		}
	}()
	global := js.Global()
	if !global.Get("AudioContext").Truthy() && !global.Get("webkitAudioContext").Truthy() {
		return nil, errors.New("this browser has no Web Audio")
	}
	if !global.Get("AudioContext").Truthy() || !global.Get("AudioWorkletNode").Truthy() || !global.Get("isSecureContext").Bool() {
		return nil, errNoWorklet
	}
	ctx := global.Get("AudioContext").New(map[string]any{"sampleRate": d.rate, "latencyHint": "interactive"})
	// Sound starts when the user has done something, which may be before all is
	// there, and again after the system has taken it away.
	ignore := global.Get("Function").Get("prototype") // a function that does nothing
	resume := js.FuncOf(func(js.Value, []js.Value) any {
		if s := ctx.Get("state").String(); s != "running" && s != "closed" {
			ctx.Call("resume").Call("catch", ignore)
		}
		return nil
	})
	for _, event := range []string{"pointerup", "touchend", "click", "keydown", "visibilitychange"} {
		// On the window: keys go no farther than the scene's own listener there.
		global.Call("addEventListener", event, resume, map[string]any{"capture": true, "passive": true})
	}
	url := "data:application/javascript;base64," + base64.StdEncoding.EncodeToString([]byte(processor))
	if err := await(ctx.Get("audioWorklet").Call("addModule", url)); err != nil {
		ctx.Call("close")
		return nil, err
	}
	node := global.Get("AudioWorkletNode").New(ctx, "gainwright-output", map[string]any{
		"numberOfInputs": 0, "numberOfOutputs": 1, "outputChannelCount": []any{2},
		"processorOptions": map[string]any{"block": workletBlock, "least": workletLeast, "depth": workletStart,
			"most": workletMost, "reserve": workletReserve, "period": workletPeriod * d.rate, "periods": workletPeriods},
	})
	port := node.Get("port")
	w = &worklet{d: d, ctx: ctx, post: port.Get("postMessage").Call("bind", port)}
	for n := 1; n <= workletBatch; n++ {
		w.stage[n] = global.Get("Int16Array").New(2 * workletBlock * n)
		w.bytes[n] = global.Get("Uint8Array").New(w.stage[n].Get("buffer"))
	}
	w.depth.Store(workletStart)
	// These live as long as the page.
	port.Set("onmessage", js.FuncOf(func(_ js.Value, args []js.Value) any {
		m := int64(args[0].Get("data").Float())
		what := (m + 1<<47) >> 48
		w.told(int(what), m-what<<48)
		return nil
	}))
	node.Set("onprocessorerror", js.FuncOf(func(js.Value, []js.Value) any {
		err := errors.New("no sound device: the browser's audio worklet has failed; load the page again")
		d.err.Store(&err)
		return nil
	}))
	node.Call("connect", ctx.Get("destination"))
	return w, nil
}

// await waits for a promise.
func await(promise js.Value) error {
	done := make(chan error, 1)
	then := js.FuncOf(func(js.Value, []js.Value) any { done <- nil; return nil })
	fail := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- errors.New(js.Global().Get("String").Invoke(args[0]).String())
		return nil
	})
	defer then.Release()
	defer fail.Release()
	promise.Call("then", then, fail)
	return <-done
}

// told takes a message of the worklet.
func (w *worklet) told(what int, n int64) {
	switch what {
	case tellWake:
		w.awake = true
		w.account.playing(n)
		w.topUp(0)
	case tellHungry:
		w.awake = true
		w.account.waiting(n)
		w.topUp(0)
	case tellStart:
		w.account.playing(n)
	case tellEmpty:
		w.account.waiting(n)
		w.breaks.Add(1)
	case tellDropped:
		w.account.dropped(n)
		w.dropped.Add(n)
	case tellBreak:
		w.lost.Add(n)
		w.longest.Store(max(n, w.longest.Load()))
	case tellDepth:
		w.depth.Store(n)
	case tellLow:
		w.low.Store(n)
	case tellStrain:
		w.strained.Store(time.Now().UnixNano())
	}
}

// now is the frame of the context's clock.
func (w *worklet) now() int64 {
	return int64(math.Round(w.ctx.Get("currentTime").Float() * float64(w.d.rate)))
}

// topUp sends what is missing of the queue by now, and extra frames. It is cheap where nothing is.
func (w *worklet) topUp(extra int) {
	blocks := (int(w.depth.Load()-w.account.left(w.now())) + extra) / workletBlock
	for ; blocks > 0; blocks -= workletBatch {
		w.give(min(blocks, workletBatch))
	}
}

// give sends so many blocks. The Monitor's samples lie on the codes of a 16-bit
// device, and those are what is sent.
func (w *worklet) give(blocks int) {
	now := time.Now()
	for k := range blocks {
		w.d.count(now, workletBlock)
		w.d.fill(w.buf[:])
		b := w.codes[k*workletBlock*4:]
		for i, x := range w.buf {
			for c, v := range x {
				q := uint16(int16(max(-1, min(1, v)) * (1<<15 - 1)))
				b[4*i+2*c], b[4*i+2*c+1] = byte(q), byte(q>>8)
			}
		}
	}
	w.account.send(int64(blocks * workletBlock))
	js.CopyBytesToJS(w.bytes[blocks], w.codes[:blocks*workletBlock*4])
	w.post.Invoke(w.stage[blocks])
}

func (w *worklet) queue() sounds.Queue {
	frames := func(n int64) time.Duration { return time.Duration(n) * time.Second / time.Duration(w.d.rate) }
	return sounds.Queue{Breaks: w.breaks.Load(), Lost: frames(w.lost.Load()), Longest: frames(w.longest.Load()), Dropped: frames(w.dropped.Load()),
		Depth: int(w.depth.Load()), Low: int(w.low.Load()), Short: time.Now().UnixNano()-w.strained.Load() < int64(2*time.Second)}
}

// start opens our own worklet, or beep's speaker where the browser has none.
func (d *device) start() error {
	w, err := openWorklet(d)
	if errors.Is(err, errNoWorklet) {
		d.plain.Store(true)
		return d.startBeep()
	}
	if err != nil {
		return err
	}
	d.worklet.Store(w)
	return nil
}

// Queue tells of the worklet's queue; ok is false while there is none.
func (d *device) Queue() (q sounds.Queue, ok bool) {
	if w := d.worklet.Load(); w != nil {
		return w.queue(), true
	}
	return sounds.Queue{}, false
}

// Breathe makes sound ahead if some is due: a page has one thread, and does not
// hear the worklet while it works on a picture.
func (d *device) Breathe(extra int) {
	if w := d.worklet.Load(); w != nil && w.awake {
		w.topUp(extra)
	}
}

// Late says why what is changed is heard late, "" where it is not.
func (d *device) Late() string {
	switch {
	case !d.plain.Load():
		return ""
	case !js.Global().Get("isSecureContext").Bool():
		return "Sound comes late here, and may break off: over plain http browsers give a page no audio worklet. Over https what you change is heard at once."
	}
	return "Sound comes late here, and may break off: this browser has no audio worklet."
}

// Name tells also that sound comes late where the browser has no worklet.
func (d *device) Name() string {
	if d.plain.Load() {
		return "the browser's sound output, without an audio worklet: what you change is heard late"
	}
	return "the browser's sound output"
}
