//go:build js

// Command micscene lends the browser tests the microphone and the archive of the scene,
// without a picture: what a test asks for stands in the page's "mic".
package main

import (
	"encoding/binary"
	"math"
	"syscall/js"

	"gainwright/cmd/gainwright-scene/archive"
	"gainwright/sounds/microphone"
)

func main() {
	var d *microphone.Device
	var a archive.Archive
	api := map[string]any{}
	on := func(name string, f func(args []js.Value) any) {
		api[name] = js.FuncOf(func(_ js.Value, args []js.Value) any { return f(args) })
	}
	on("ask", func([]js.Value) any { d = microphone.Ask(false); return nil })
	on("close", func([]js.Value) any { d.Close(); return nil })
	on("report", func([]js.Value) any {
		state, err := d.State()
		told := d.Told()
		r := map[string]any{"state": int(state), "error": "", "label": told.Label, "rate": told.Rate, "latency": told.LatencyS,
			"echo": int(told.Echo), "noise": int(told.Noise), "gain": int(told.Gain)}
		if err != nil {
			r["error"] = err.Error()
		}
		if in := d.Input(); in != nil {
			breaks, lost := in.Faults()
			r["breaks"], r["lost"], r["drift"] = breaks, lost, in.DriftPPM()
		}
		return r
	})
	// read and pull give samples as 64-bit floats.
	bytes := func(x []float64) js.Value {
		b := make([]byte, 8*len(x))
		for i, v := range x {
			binary.LittleEndian.PutUint64(b[8*i:], math.Float64bits(v))
		}
		u := js.Global().Get("Uint8Array").New(len(b))
		js.CopyBytesToJS(u, b)
		return js.Global().Get("Float64Array").New(u.Get("buffer"))
	}
	buf := make([]float64, 1<<20)
	on("read", func([]js.Value) any { return bytes(buf[:d.Input().Read(buf)]) })
	on("pull", func(args []js.Value) any {
		d.Input().Pull(buf[:args[0].Int()])
		return bytes(buf[:args[0].Int()])
	})
	// The archive's answers are promises of words: what went wrong, or what was asked for.
	promise := func(name string, f func(args []js.Value) string) {
		on(name, func(args []js.Value) any {
			ask := js.FuncOf(func(_ js.Value, done []js.Value) any {
				go func() { done[0].Invoke(f(args)) }()
				return nil
			})
			return js.Global().Get("Promise").New(ask)
		})
	}
	say := func(err error) string {
		if err != nil {
			return err.Error()
		}
		return "ok"
	}
	promise("keep", func(args []js.Value) string {
		b := make([]byte, args[1].Get("length").Int())
		js.CopyBytesToGo(b, args[1])
		bytes, err := archive.Bytes(b)
		if err != nil {
			return say(err)
		}
		return say(a.Keep(args[0].String(), bytes))
	})
	promise("kept", func([]js.Value) string {
		names, err := a.Kept()
		s := say(err)
		for _, n := range names {
			s += " " + n
		}
		return s
	})
	promise("fetch", func(args []js.Value) string {
		data, err := a.Fetch(args[0].String())
		if err == nil && data == nil {
			return "nothing"
		}
		return say(err) + " " + string(data)
	})
	promise("forget", func(args []js.Value) string { return say(a.Forget(args[0].String())) })
	js.Global().Set("mic", api)
	select {}
}
