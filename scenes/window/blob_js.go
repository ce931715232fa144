package window

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"syscall/js"

	"gainwright/scenes/bench"
	"gainwright/scenes/ui"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

const (
	// wholeFile is how long a file may be to be read whole at once.
	wholeFile = 1 << 20
	// blobPiece is how much of a longer one is read at a time; two pieces are held.
	blobPiece = 1 << 20
	// mostDecoded bounds what the browser decodes whole: how long, s, and how large a
	// file of which the length is not known.
	mostDecoded      = 600
	mostDecodedBytes = 32 << 20
)

// await blocks until a promise settles. It must not be called from a callback of
// JavaScript's.
func await(promise js.Value) (js.Value, error) {
	type settled struct {
		v   js.Value
		err error
	}
	ch := make(chan settled, 1)
	done := js.FuncOf(func(_ js.Value, args []js.Value) any {
		ch <- settled{v: args[0]}
		return nil
	})
	failed := js.FuncOf(func(_ js.Value, args []js.Value) any {
		why := "it was refused"
		if len(args) > 0 && args[0].Truthy() {
			why = args[0].Call("toString").String()
		}
		ch <- settled{err: errors.New(why)}
		return nil
	})
	promise.Call("then", done, failed)
	s := <-ch
	done.Release()
	failed.Release()
	return s.v, s.err
}

// bytesIn copies the contents of a File or Blob.
func bytesIn(blob js.Value) ([]byte, error) {
	buf, err := await(blob.Call("arrayBuffer"))
	if err != nil {
		return nil, err
	}
	b := global.Get("Uint8Array").New(buf)
	data := make([]byte, b.Length())
	js.CopyBytesToGo(data, b)
	return data, nil
}

// blob reads a File piece by piece, and the next piece ahead.
type blob struct {
	file  js.Value
	size  int64
	at    int64 // of piece, −1 if there is none
	piece []byte
	next  int64 // −1 if nothing is under way
	got   chan fetched
}

type fetched struct {
	b   []byte
	err error
}

func newBlob(file js.Value) *blob {
	return &blob{file: file, size: int64(file.Get("size").Float()), at: -1, next: -1}
}

func (b *blob) fetch(at int64) {
	ch := make(chan fetched, 1)
	b.next, b.got = at, ch
	part := b.file.Call("slice", float64(at), float64(min(b.size, at+blobPiece)))
	go func() {
		data, err := bytesIn(part)
		ch <- fetched{data, err}
	}()
}

// ReadAt blocks until what is asked for is there.
func (b *blob) ReadAt(p []byte, off int64) (n int, err error) {
	for n < len(p) {
		if off >= b.size {
			return n, io.EOF
		}
		if at := off / blobPiece * blobPiece; at != b.at {
			if at != b.next {
				b.fetch(at)
			}
			f := <-b.got
			b.next = -1
			if f.err != nil {
				return n, f.err
			}
			b.at, b.piece = at, f.b
			if at+blobPiece < b.size {
				b.fetch(at + blobPiece)
			}
		}
		if off-b.at >= int64(len(b.piece)) {
			return n, io.ErrUnexpectedEOF
		}
		k := copy(p[n:], b.piece[off-b.at:])
		n, off = n+k, off+int64(k)
	}
	return n, nil
}

// readFile takes over one file.
func readFile(file js.Value) ui.Drop {
	d := ui.Drop{Name: file.Get("name").String()}
	src := newBlob(file)
	head := make([]byte, min(src.size, 64))
	if _, err := src.ReadAt(head, 0); err != nil || src.size == 0 {
		// A folder, or a file that has gone. The program says what it makes of an
		// empty file.
		return d
	}
	if codec.NeedsBrowser(head) {
		decodeFile(&d, file, src)
		return d
	}
	if src.size > wholeFile {
		d.Long, d.Size = src, src.size
		return d
	}
	d.Data, _ = bytesIn(file)
	return d
}

// decodeFile has the browser decode a file in a format that is not read here. It
// decodes whole files only, so long ones are refused before.
func decodeFile(d *ui.Drop, file js.Value, src *blob) {
	refuse := func(format string, a ...any) {
		d.Err = &sounds.InputError{Path: d.Name, Msg: fmt.Sprintf(format, a...)}
	}
	seconds, known := codec.StatedSeconds(src, src.size)
	switch {
	case known && seconds > mostDecoded:
		refuse("is %.0f s long, in a format of which at most %d s can be read in a browser: convert it to WAV or FLAC first", seconds, mostDecoded)
		return
	case !known && src.size > mostDecodedBytes:
		refuse("does not say how long it is, and is too large to try, in a format that is read by the browser: convert it to WAV or FLAC first")
		return
	}
	context := global.Get("OfflineAudioContext")
	if !context.Truthy() {
		refuse("is in a format that this browser offers no decoder for: convert it to WAV or FLAC first")
		return
	}
	buf, err := await(file.Call("arrayBuffer"))
	if err != nil {
		refuse("cannot be read: %v", err)
		return
	}
	audio, err := await(context.New(1, 1, bench.Rate).Call("decodeAudioData", buf))
	if err != nil {
		refuse("cannot be decoded by this browser: convert it to WAV or FLAC first")
		return
	}
	w := newDecoded(audio)
	if w.frames > mostDecoded*int64(w.rate) {
		refuse("is longer than the %d s that can be read of its format: convert it to WAV or FLAC first", mostDecoded)
		return
	}
	if w.channels > 2 {
		refuse("has %d channels: mono or stereo is needed", w.channels)
		return
	}
	d.Long, d.Size, d.Lossy = w, w.size(), true
}

// decoded shows an AudioBuffer as a WAV file of 32-bit floating point, made where it
// is read: its samples stay with the browser.
type decoded struct {
	rate, channels int
	frames         int64
	head           []byte
	data           [2]js.Value // Uint8Array over each channel's samples
	buf            []byte
}

func newDecoded(audio js.Value) *decoded {
	w := &decoded{rate: int(math.Round(audio.Get("sampleRate").Float())), channels: audio.Get("numberOfChannels").Int(), frames: int64(audio.Get("length").Float())}
	for ch := range min(w.channels, 2) {
		f := audio.Call("getChannelData", ch)
		w.data[ch] = global.Get("Uint8Array").New(f.Get("buffer"), f.Get("byteOffset"), f.Get("byteLength"))
	}
	le := binary.LittleEndian
	h := append([]byte("RIFF"), 0, 0, 0, 0)
	le.PutUint32(h[4:], uint32(w.size()-8))
	h = append(h, "WAVEfmt "...)
	h = le.AppendUint32(h, 16)
	h = le.AppendUint16(h, 3) // IEEE 754
	h = le.AppendUint16(h, uint16(w.channels))
	h = le.AppendUint32(h, uint32(w.rate))
	h = le.AppendUint32(h, uint32(w.rate*4*w.channels))
	h = le.AppendUint16(h, uint16(4*w.channels))
	h = le.AppendUint16(h, 32)
	h = append(h, "data"...)
	w.head = le.AppendUint32(h, uint32(w.size()-decodedHead))
	return w
}

const decodedHead = 44

func (w *decoded) size() int64 { return decodedHead + w.frames*4*int64(w.channels) }

// ReadAt gives the bytes of the WAV file.
func (w *decoded) ReadAt(p []byte, off int64) (n int, err error) {
	if off < decodedHead {
		n = copy(p, w.head[off:])
		off += int64(n)
	}
	step := int64(4 * w.channels)
	for n < len(p) {
		if off >= w.size() {
			return n, io.EOF
		}
		// Whole frames from the one that off lies in, some thousand at a time.
		frame, skip := (off-decodedHead)/step, (off-decodedHead)%step
		k := min(int64(len(p)-n)/step+2, 4096, w.frames-frame)
		w.buf = append(w.buf[:0], make([]byte, 8*k*int64(w.channels))...)
		all, one := w.buf[:k*step], w.buf[k*step:]
		for ch := range w.channels {
			part := one[4*k*int64(ch) : 4*k*int64(ch+1)]
			js.CopyBytesToGo(part, w.data[ch].Call("subarray", float64(4*frame), float64(4*(frame+k))))
			for i := range k {
				copy(all[i*step+int64(4*ch):], part[4*i:4*i+4])
			}
		}
		m := copy(p[n:], all[skip:])
		n, off = n+m, off+int64(m)
	}
	return n, nil
}
