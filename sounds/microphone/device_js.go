package microphone

import (
	_ "embed"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"syscall/js"
	"time"
)

// processor is the part that runs in the browser's audio thread.
//
//go:embed worklet.js
var processor string

// block is how many frames come in a message.
const block = 512

// Device is an input of the browser that was asked for. Nothing of it waits.
type Device struct {
	in    *Input // nil until it was allowed
	told  Told
	state State
	err   error
	live  bool // the sound is pulled as it comes, not read whole

	stream, track js.Value
	reader        js.Value   // of the track's own blocks; where the browser has none
	ctx           js.Value   // a context brings the sound
	kept          []js.Value // nodes, which live as long as somebody holds them
	undo          []func()   // what Close lets go

	bytes   []byte
	samples []float32
	copied  js.Value // a block's bytes, and how they shall be
	how     js.Value
}

// Ask asks the browser for the microphone, which asks the user; call it only when they
// pressed something for it. It returns at once: see State. Live wishes for what comes soon and
// in even steps rather than for what is whole however busy the page is.
func Ask(live bool) *Device {
	d := &Device{live: live}
	go func() {
		defer func() {
			if p := recover(); p != nil {
				d.end(Explain(thrown(p)))
			}
		}()
		if err := d.open(); err != nil {
			d.end(err)
		}
	}()
	return d
}

// thrown is what the browser threw.
func thrown(p any) (name, words string, framed bool) {
	if e, ok := p.(js.Error); ok && e.Type() == js.TypeObject {
		return e.Get("name").String(), e.Get("message").String(), false
	}
	return "", fmt.Sprint(p), false
}

// await waits for a promise, and gives what it came to, or what was thrown.
func await(promise js.Value) (v js.Value, ok bool) {
	type answer struct {
		v  js.Value
		ok bool
	}
	come := make(chan answer, 1)
	to := func(ok bool) js.Func {
		return js.FuncOf(func(_ js.Value, args []js.Value) any { come <- answer{args[0], ok}; return nil })
	}
	done, fail := to(true), to(false)
	defer done.Release()
	defer fail.Release()
	promise.Call("then", done, fail)
	a := <-come
	return a.v, a.ok
}

// try gives what f does, and whether nothing was thrown.
func try(f func() js.Value) (v js.Value, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	return f(), true
}

// open asks, and waits for the answer.
func (d *Device) open() error {
	g := js.Global()
	media := g.Get("navigator").Get("mediaDevices")
	context := g.Get("AudioContext").Truthy() && g.Get("AudioWorkletNode").Truthy()
	direct := g.Get("MediaStreamTrackProcessor").Truthy() && !(d.live && context)
	switch {
	case !g.Get("isSecureContext").Truthy():
		return ErrInsecure
	case !media.Truthy() || !media.Get("getUserMedia").Truthy():
		return ErrNone
	case !direct && !context:
		return ErrWorklet
	}
	// Wishes: with one that must be met, a device that cannot do it would not open.
	stream, ok := await(media.Call("getUserMedia", map[string]any{"audio": map[string]any{
		"echoCancellation": false, "noiseSuppression": false, "autoGainControl": false, "channelCount": 1}}))
	if !ok {
		return Explain(stream.Get("name").String(), stream.Get("message").String(), framed())
	}
	d.stream, d.track = stream, stream.Call("getAudioTracks").Index(0)
	if d.state == Ended { // closed meanwhile
		d.release()
		return nil
	}
	d.read()
	began := time.Now()
	now := func() time.Duration { return time.Since(began) }
	if direct && d.told.Rate > 0 && d.direct() {
		d.in = New(d.told.Rate, now)
		d.blocks(now)
		d.listen()
		return nil
	}
	source := d.join()
	if _, ok := await(d.ctx.Get("audioWorklet").Call("addModule", "data:application/javascript;base64,"+base64.StdEncoding.EncodeToString([]byte(processor)))); !ok {
		return ErrWorklet
	}
	if d.state == Ended {
		d.release()
		return nil
	}
	// It has an output, silent, since a node without one need not run.
	node := g.Get("AudioWorkletNode").New(d.ctx, "gainwright-input", map[string]any{
		"numberOfInputs": 1, "numberOfOutputs": 1, "outputChannelCount": []any{1}, "channelCount": 1, "channelCountMode": "explicit",
		"processorOptions": map[string]any{"block": block}})
	began = time.Now()
	d.in = New(d.told.Rate, now)
	d.on(node.Get("port"), "message", d.take)
	node.Get("port").Call("start")
	d.on(node, "processorerror", func(js.Value) { d.end(ErrGone) })
	source.Call("connect", node)
	node.Call("connect", d.ctx.Get("destination"))
	d.kept = []js.Value{source, node}
	d.listen()
	return nil
}

// direct asks for the track's blocks as they come, and reports whether there are such.
func (d *Device) direct() bool {
	p, ok := try(func() js.Value {
		return js.Global().Get("MediaStreamTrackProcessor").New(map[string]any{"track": d.track, "maxBufferSize": StoreS * 100}) // of some 10 ms each
	})
	if ok {
		d.reader = p.Get("readable").Call("getReader")
	}
	return ok
}

// ahead is for how many blocks is asked at a time: what came while the page was busy then comes
// at once.
const ahead = 32

// blocks takes the track's blocks, one after the other, until there are no more.
func (d *Device) blocks(now func() time.Duration) {
	var next, fail js.Func
	asked := ahead
	more := func() { d.reader.Call("read").Call("then", next, fail) }
	end := func() any {
		if asked--; asked == 0 {
			next.Release()
			fail.Release()
		}
		d.end(ErrGone)
		return nil
	}
	next = js.FuncOf(func(_ js.Value, args []js.Value) any {
		if args[0].Get("done").Bool() {
			return end()
		}
		b := args[0].Get("value")
		d.block(b, now)
		b.Call("close")
		more()
		return nil
	})
	fail = js.FuncOf(func(js.Value, []js.Value) any { return end() })
	for range ahead {
		more()
	}
}

// block takes one of them; of several channels it is the mean.
func (d *Device) block(b js.Value, now func() time.Duration) {
	n, planes, rate := b.Get("numberOfFrames").Int(), b.Get("numberOfChannels").Int(), b.Get("sampleRate").Int()
	if d.state == Ended {
		return
	}
	if rate != d.told.Rate {
		if d.in.total > 0 {
			d.end(ErrGone) // another device has taken its place
			return
		}
		d.told.Rate, d.in = rate, New(rate, now)
	}
	if 4*n > len(d.bytes) {
		d.bytes, d.samples = make([]byte, 4*n), make([]float32, n)
		d.copied = js.Global().Get("Uint8Array").New(4 * n)
		d.how = js.ValueOf(map[string]any{"format": "f32-planar"})
	}
	clear(d.samples[:n])
	for c := range planes {
		d.how.Set("planeIndex", c)
		b.Call("copyTo", d.copied, d.how)
		js.CopyBytesToGo(d.bytes[:4*n], d.copied)
		for i := range n {
			d.samples[i] += math.Float32frombits(binary.LittleEndian.Uint32(d.bytes[4*i:])) / float32(planes)
		}
	}
	d.in.Push(d.in.total, d.samples[:n])
}

// framed reports whether the page stands in another that lends it no microphone, as far as the
// browser tells.
func framed() bool {
	g := js.Global()
	if p := g.Get("document").Get("featurePolicy"); p.Truthy() {
		return !p.Call("allowsFeature", "microphone").Bool()
	}
	return !g.Get("top").Equal(g.Get("self"))
}

// read notes what the browser tells of the device.
func (d *Device) read() {
	d.told.Label = d.track.Get("label").String()
	s := d.track.Call("getSettings")
	said := func(key string) Processing {
		switch v := s.Get(key); {
		case v.IsUndefined() || v.IsNull():
			return NotTold
		case v.Truthy(): // true, or in what way
			return On
		}
		return Off
	}
	d.told.Echo, d.told.Noise, d.told.Gain = said("echoCancellation"), said("noiseSuppression"), said("autoGainControl")
	if l := s.Get("latency"); l.Type() == js.TypeNumber {
		d.told.LatencyS = max(0, l.Float())
	}
	if r := s.Get("sampleRate"); r.Type() == js.TypeNumber {
		d.told.Rate = r.Int()
	}
}

// join opens a context at the device's rate, or at the browser's own where that is not told
// or not taken, and gives the node by which the sound comes.
func (d *Device) join() js.Value {
	open := func(options map[string]any) js.Value {
		d.ctx = js.Global().Get("AudioContext").New(options)
		return d.ctx.Call("createMediaStreamSource", d.stream)
	}
	options := map[string]any{"latencyHint": "interactive"}
	if d.told.Rate > 0 {
		options["sampleRate"] = d.told.Rate
		d.ctx = js.Undefined()
		if source, ok := try(func() js.Value { return open(options) }); ok {
			d.told.Rate = d.ctx.Get("sampleRate").Int()
			return source
		}
		if d.ctx.Truthy() {
			d.ctx.Call("close")
		}
		delete(options, "sampleRate")
	}
	source := open(options)
	d.told.Rate = d.ctx.Get("sampleRate").Int()
	return source
}

// on listens to events until Close.
func (d *Device) on(target js.Value, event string, f func(js.Value)) {
	call := js.FuncOf(func(_ js.Value, args []js.Value) any { f(args[0]); return nil })
	target.Call("addEventListener", event, call, map[string]any{"capture": true, "passive": true})
	d.undo = append(d.undo, func() {
		target.Call("removeEventListener", event, call, map[string]any{"capture": true})
		call.Release()
	})
}

// listen hears of what becomes of device and context.
func (d *Device) listen() {
	g := js.Global()
	ignore := g.Get("Function").Get("prototype") // a function that does nothing
	resume := func(js.Value) {
		if !d.ctx.Truthy() {
			return
		}
		if s := d.ctx.Get("state").String(); s != "running" && s != "closed" {
			d.ctx.Call("resume").Call("catch", ignore)
		}
	}
	look := func(js.Value) {
		switch {
		case d.state == Ended:
		case d.track.Get("readyState").String() == "ended":
			d.end(ErrGone)
		case d.track.Get("muted").Truthy() || d.ctx.Truthy() && d.ctx.Get("state").String() != "running":
			d.state = Suspended
		default:
			d.state = Running
		}
	}
	for _, event := range []string{"ended", "mute", "unmute"} {
		d.on(d.track, event, look)
	}
	d.on(d.track, "ended", func(js.Value) {
		if d.state != Ended {
			d.end(ErrGone)
		}
	})
	if d.ctx.Truthy() {
		d.on(d.ctx, "statechange", look)
	}
	d.on(g.Get("navigator").Get("mediaDevices"), "devicechange", look)
	for _, event := range []string{"pointerup", "keydown", "visibilitychange"} {
		d.on(g, event, resume)
	}
	resume(js.Undefined())
	look(js.Undefined())
}

// take takes a message of the worklet.
func (d *Device) take(event js.Value) {
	if d.bytes == nil {
		d.bytes, d.samples = make([]byte, 8+4*block), make([]float32, block)
	}
	n := (js.CopyBytesToGo(d.bytes, event.Get("data")) - 8) / 4
	if n < 0 || d.state == Ended {
		return
	}
	for i := range n {
		d.samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(d.bytes[8+4*i:]))
	}
	d.in.Push(int64(math.Float64frombits(binary.LittleEndian.Uint64(d.bytes))), d.samples[:n])
}

// State tells how it stands, and why it has ended: nil where it was closed.
func (d *Device) State() (State, error) { return d.state, d.err }

// Told is what is known of an opened one.
func (d *Device) Told() Told {
	t := d.told
	if d.in != nil {
		t.LatencyS += d.in.LatencyS()
	}
	return t
}

// Input is what comes, nil until it was allowed. What came stays readable after the end.
func (d *Device) Input() *Input { return d.in }

// Close lets the device go.
func (d *Device) Close() { d.end(nil) }

func (d *Device) end(why error) {
	if d.state == Ended {
		return
	}
	d.state, d.err = Ended, why
	if d.in != nil {
		d.in.End()
	}
	d.release()
}

// release lets go what there is of it by now.
func (d *Device) release() {
	for _, f := range d.undo {
		f()
	}
	d.undo, d.kept = nil, nil
	if d.reader.Truthy() {
		d.reader.Call("cancel").Call("catch", js.Global().Get("Function").Get("prototype"))
	}
	if d.track.Truthy() {
		d.track.Call("stop")
	}
	if d.ctx.Truthy() && d.ctx.Get("state").String() != "closed" {
		d.ctx.Call("close")
	}
}
