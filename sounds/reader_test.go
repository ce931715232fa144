package sounds

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"gainwright/sounds/codec"
)

// noise gives reproducible planar noise in ±amp.
func noise(seed uint64, channels, n int, amp float64) [][]float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	b := NewBlock(channels, n)
	for _, x := range b {
		for i := range x {
			x[i] = amp * (2*rng.Float64() - 1)
		}
	}
	return b
}

func mustOpen(t testing.TB, data []byte, opt ...Option) *Reader {
	t.Helper()
	r, err := OpenBytes("t.wav", data, opt...)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// wav builds a WAV file by hand, independently of WAVWriter.
type wavSpec struct {
	tag, channels, bits, align int
	rate                       int
	dataSize                   int64 // −1: as it is
	before, after              []byte
	riff                       string
	data                       []byte
}

func (s wavSpec) bytes() []byte {
	le := binary.LittleEndian
	if s.riff == "" {
		s.riff = "RIFF"
	}
	if s.align == 0 {
		s.align = s.channels * ((s.bits + 7) / 8)
	}
	b := append([]byte(s.riff), 0xff, 0xff, 0xff, 0xff)
	b = append(b, "WAVE"...)
	b = append(b, s.before...)
	b = append(b, "fmt \x10\x00\x00\x00"...)
	b = le.AppendUint16(b, uint16(s.tag))
	b = le.AppendUint16(b, uint16(s.channels))
	b = le.AppendUint32(b, uint32(s.rate))
	b = le.AppendUint32(b, uint32(s.rate*s.align))
	b = le.AppendUint16(b, uint16(s.align))
	b = le.AppendUint16(b, uint16(s.bits))
	b = append(b, "data"...)
	size := s.dataSize
	if size < 0 {
		size = int64(len(s.data))
	}
	b = le.AppendUint32(b, uint32(size))
	b = append(b, s.data...)
	return append(b, s.after...)
}

func TestWAVValues(t *testing.T) {
	f32 := func(v ...float32) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
		}
		return
	}
	f64 := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return
	}
	for _, c := range []struct {
		name      string
		tag, bits int
		enc       codec.Encoding
		data      []byte
		want      []float64
	}{
		{"8", 1, 8, codec.PCM8, []byte{0, 128, 255}, []float64{-1, 0, 127.0 / 128}},
		{"16", 1, 16, codec.PCM16, []byte{0, 0x80, 1, 0, 0xff, 0x7f}, []float64{-1, 1.0 / 32768, 32767.0 / 32768}},
		{"24", 1, 24, codec.PCM24, []byte{0, 0, 0x80, 0xff, 0xff, 0xff, 0xff, 0xff, 0x7f}, []float64{-1, -1.0 / 8388608, 8388607.0 / 8388608}},
		{"32", 1, 32, codec.PCM32, []byte{0, 0, 0, 0x80, 1, 0, 0, 0}, []float64{-1, 1.0 / 2147483648}},
		{"f32", 3, 32, codec.Float32, f32(-3.5, 0, 1.25), []float64{-3.5, 0, 1.25}},
		{"f64", 3, 64, codec.Float64, f64(-3.5, 1e-9, 1.25), []float64{-3.5, 1e-9, 1.25}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustOpen(t, wavSpec{tag: c.tag, channels: 1, bits: c.bits, rate: 48000, dataSize: -1, data: c.data}.bytes())
			if i := r.Info(); i.Encoding != c.enc || i.Rate != 48000 || i.Channels != 1 || i.Frames != int64(len(c.want)) || i.Format != "wav" {
				t.Fatalf("%+v", i)
			}
			got, err := r.ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range c.want {
				if got[0][i] != v {
					t.Errorf("sample %d: %v, want %v", i, got[0][i], v)
				}
			}
		})
	}
}

// TestRoundTrip writes and reads every encoding: codes come back exactly, and
// values within half a step.
func TestRoundTrip(t *testing.T) {
	for _, enc := range []codec.Encoding{codec.PCM16, codec.PCM24, codec.PCM32, codec.Float32} {
		for _, channels := range []int{1, 2, 3, 8} {
			for _, n := range []int{1, 2, 511, 40001} {
				in := noise(uint64(n), channels, n, 0.999)
				if enc == codec.Float32 {
					for _, x := range in {
						for i := range x {
							x[i] = float64(float32(3 * x[i]))
						}
					}
				}
				b, err := codec.WAVBytes(44100, in, enc)
				if err != nil {
					t.Fatal(err)
				}
				r := mustOpen(t, b, MaxChannels(8))
				if i := r.Info(); i.Encoding != enc || i.Channels != channels || i.Frames != int64(n) || i.Rate != 44100 {
					t.Fatalf("%v, %d channels: %+v", enc, channels, i)
				}
				got, err := r.ReadAll()
				if err != nil {
					t.Fatal(err)
				}
				tol := 0.0
				if enc != codec.Float32 {
					tol = 0.5 / math.Pow(2, float64(enc.Bits()-1))
				}
				for ch := range in {
					for i := range in[ch] {
						if math.Abs(got[ch][i]-in[ch][i]) > tol {
							t.Fatalf("%v ch %d frame %d: %v, want %v", enc, ch, i, got[ch][i], in[ch][i])
						}
					}
				}
				again, err := codec.WAVBytes(44100, got, enc)
				if err != nil || !bytes.Equal(b, again) {
					t.Fatalf("%v: reading and writing again changes the file (%v)", enc, err)
				}
				if len(r.Warnings()) != 0 {
					t.Errorf("warnings: %q", r.Warnings())
				}
			}
		}
	}
}

// TestReadBlocks crosses file lengths with block sizes.
func TestReadBlocks(t *testing.T) {
	for _, n := range []int{1, 2, 8191, 8192, 8193, 20000} {
		in := noise(3, 2, n, 0.9)
		b, _ := codec.WAVBytes(48000, in, codec.PCM24)
		want, err := mustOpen(t, b).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range []int{1, 7, 511, 512, 513, 4096, 30000} {
			if k == 1 && n > 10000 {
				continue
			}
			r := mustOpen(t, b)
			buf := NewBlock(2, k)
			pos := 0
			for {
				m, err := r.Read(buf)
				for ch := range buf {
					for i := range buf[ch][:m] {
						if buf[ch][i] != want[ch][pos+i] {
							t.Fatalf("n %d k %d frame %d differs", n, k, pos+i)
						}
					}
				}
				pos += m
				if err == io.EOF {
					break
				}
				if err != nil || m == 0 {
					t.Fatal(m, err)
				}
			}
			if pos != n || r.Position() != int64(n) {
				t.Fatalf("n %d k %d: read %d", n, k, pos)
			}
			if m, err := r.Read(buf); m != 0 || err != io.EOF {
				t.Fatalf("after the end: %d, %v", m, err)
			}
		}
	}
}

func TestRewind(t *testing.T) {
	b, _ := codec.WAVBytes(48000, noise(4, 1, 5000, 1), codec.Float32)
	r := mustOpen(t, b)
	x, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Rewind(); err != nil {
		t.Fatal(err)
	}
	y, err := r.ReadAll()
	if err != nil || len(y[0]) != len(x[0]) || y[0][4999] != x[0][4999] {
		t.Fatal("second pass differs", err)
	}
	r.Close()
	if _, err := r.Read(NewBlock(1, 10)); err == nil || err == io.EOF {
		t.Error("read after Close:", err)
	}
}

// TestWAVOddities are files that are unusual but must be read.
func TestWAVOddities(t *testing.T) {
	mono := wavSpec{tag: 1, channels: 1, bits: 16, rate: 48000, dataSize: -1, data: make([]byte, 2000)}
	mono.data[1] = 0x40
	with := func(f func(*wavSpec)) []byte { s := mono; f(&s); return s.bytes() }
	ds64 := func(size uint64) []byte {
		b := append([]byte("ds64"), 28, 0, 0, 0)
		b = binary.LittleEndian.AppendUint64(b, size+80)
		b = binary.LittleEndian.AppendUint64(b, size)
		b = binary.LittleEndian.AppendUint64(b, size/2)
		return append(b, 0, 0, 0, 0)
	}
	list := []byte("LIST\x06\x00\x00\x00INFOxx")
	for _, c := range []struct {
		name   string
		data   []byte
		frames int64
		enc    codec.Encoding
	}{
		{"size never filled in: 0", with(func(s *wavSpec) { s.dataSize = 0 }), 1000, codec.PCM16},
		{"size never filled in: all ones", with(func(s *wavSpec) { s.dataSize = 0xFFFFFFFF }), 1000, codec.PCM16},
		{"size of a stream", with(func(s *wavSpec) { s.dataSize = 0x7FFFF000 }), 1000, codec.PCM16},
		{"RF64", with(func(s *wavSpec) { s.riff, s.dataSize, s.before = "RF64", 0xFFFFFFFF, ds64(2000) }), 1000, codec.PCM16},
		{"BW64 with more after", with(func(s *wavSpec) {
			s.riff, s.dataSize, s.before, s.after = "BW64", 0xFFFFFFFF, ds64(2000), list
		}), 1000, codec.PCM16},
		{"chunk after", with(func(s *wavSpec) { s.after = list }), 1000, codec.PCM16},
		{"chunk before", with(func(s *wavSpec) { s.before = list }), 1000, codec.PCM16},
		{"odd chunk, padded", with(func(s *wavSpec) { s.before = []byte("note\x03\x00\x00\x00abc\x00") }), 1000, codec.PCM16},
		{"odd chunk, pad forgotten", with(func(s *wavSpec) { s.before = []byte("note\x03\x00\x00\x00abc") }), 1000, codec.PCM16},
		{"odd data", with(func(s *wavSpec) { s.data = s.data[:1999] }), 999, codec.PCM16},
		{"20 bits in 3 bytes", with(func(s *wavSpec) { s.bits, s.align, s.data = 20, 3, s.data[:1998] }), 666, codec.PCM24},
		{"24 bits in 4 bytes", with(func(s *wavSpec) { s.bits, s.align = 24, 4 }), 500, codec.PCM32},
		{"8 kHz", with(func(s *wavSpec) { s.rate = 8000 }), 1000, codec.PCM16},
		{"192 kHz", with(func(s *wavSpec) { s.rate = 192000 }), 1000, codec.PCM16},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := OpenBytes("x.wav", c.data)
			if err != nil {
				t.Fatal(err)
			}
			if r.Info().Frames != c.frames || r.Info().Encoding != c.enc {
				t.Errorf("%+v", r.Info())
			}
			x, err := r.ReadAll()
			if err != nil || int64(len(x[0])) != c.frames {
				t.Errorf("%d frames, %v", len(x[0]), err)
			}
		})
	}
}

func TestBadInput(t *testing.T) {
	good := wavSpec{tag: 1, channels: 1, bits: 16, rate: 48000, dataSize: -1, data: make([]byte, 96000)}
	with := func(f func(*wavSpec)) []byte { s := good; f(&s); return s.bytes() }
	floats := func(ch int, v ...float32) []byte {
		var b []byte
		for _, x := range v {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
		}
		return wavSpec{tag: 3, channels: ch, bits: 32, rate: 8000, dataSize: -1, data: b}.bytes()
	}
	nan, inf := float32(math.NaN()), float32(math.Inf(-1))
	for _, c := range []struct {
		name string
		data []byte
		want string // part of the message
	}{
		{"empty", nil, "is empty (0 bytes)"},
		{"text", []byte("the ferry left at eight\n"), "is text, not audio"},
		{"rubbish", []byte{1, 2, 3, 4, 5, 6, 7, 8, 9}, "is not audio in a format that is read here"},
		{"one byte", []byte{0}, "is not audio"},
		{"riff only", []byte("RIFF\x00\x00\x00\x00WAVE"), "before the format"},
		{"no data", good.bytes()[:36], "without sound data"},
		{"cut in the header", good.bytes()[:30], "ends inside its WAV header"},
		{"cut in the data", good.bytes()[:44+48000], "the data ends at 0.500 s of the 1.000 s that the header promises"},
		{"no samples", with(func(s *wavSpec) { s.data = nil }), "holds no samples"},
		{"six channels", with(func(s *wavSpec) { s.channels = 6 }), "has 6 channels: mono or stereo is needed"},
		{"no channels", with(func(s *wavSpec) { s.channels = 0; s.align = 2 }), "has no channels"},
		{"rate 0", with(func(s *wavSpec) { s.rate = 0 }), "sample rate of 0 Hz"},
		{"rate 384k", with(func(s *wavSpec) { s.rate = 384000 }), "sample rate of 384000 Hz: 8000 to 192000 Hz are read"},
		{"a-law", with(func(s *wavSpec) { s.tag, s.bits = 6, 8 }), "holds A-law samples"},
		{"align", with(func(s *wavSpec) { s.channels = 2; s.align = 3 }), "contradicts itself"},
		{"bits", with(func(s *wavSpec) { s.bits = 40; s.align = 5 }), "40-bit integer samples"},
		{"float16", with(func(s *wavSpec) { s.tag = 3 }), "16-bit floating-point samples"},
		{"rubbish chunk", with(func(s *wavSpec) { s.before = []byte("\x00\x01\x02\x03\x04\x00\x00\x00abcd") }), "byte 12 of the WAV header is not the start of a chunk"},
		{"nan", floats(1, 0, 0, 0, 0, nan), "the sample at 0.001 s, channel 1, is not a number"},
		{"inf right", floats(2, 0, 0, 0, 0, 0, 0, 0, inf, nan, 0), "the sample at 0.000 s, channel 2, is infinite"},
		{"opus", append(append([]byte("OggS"), make([]byte, 24)...), "OpusHead"...), "is an Ogg Opus file, which is not read here"},
		{"aiff", []byte("FORM\x00\x00\x00\x00AIFF"), "is an AIFF file"},
		{"m4a", []byte("\x00\x00\x00\x20ftypM4A "), "is an MP4 or M4A file"},
		{"rifx", []byte("RIFX\x00\x00\x00\x00WAVE"), "big-endian"},
		{"flac cut", []byte("fLaC\x00\x00\x00\x22abc"), "ends inside its FLAC header"},
		{"id3 only", append([]byte("ID3\x04\x00\x00\x00\x00\x00\x05"), "hello world"...), "no MP3 sound after it"},
		{"id3 cut", []byte("ID3\x04\x00\x00\x7f\x7f\x7f\x7fabc"), "ends inside its ID3 tag"},
		{"ogg cut", []byte("OggS\x00\x02"), "ends inside its Ogg Vorbis header"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := OpenBytes("crew/x.wav", c.data)
			if err == nil {
				_, err = r.ReadAll()
			}
			var in *InputError
			if !errors.As(err, &in) {
				t.Fatalf("%T %v", err, err)
			}
			msg := err.Error()
			if !strings.HasPrefix(msg, "crew/x.wav: ") || !strings.Contains(msg, c.want) {
				t.Errorf("%q, want %q in it", msg, c.want)
			}
			if strings.ContainsAny(msg, "\n") || strings.HasSuffix(msg, ".") {
				t.Errorf("%q is not one plain line", msg)
			}
		})
	}
}

func TestDamageComesAfterTheGoodPart(t *testing.T) {
	x := noise(1, 1, 1000, 1)
	x[0][700] = math.NaN()
	b, err := codec.WAVBytes(8000, x, codec.Float32)
	if err != nil {
		t.Fatal(err)
	}
	r := mustOpen(t, b)
	buf := NewBlock(1, 4096)
	if n, err := r.Read(buf); n != 700 || err != nil {
		t.Fatalf("first read: %d, %v", n, err)
	}
	if n, err := r.Read(buf); n != 0 || err == nil || !strings.Contains(err.Error(), "0.087 s") {
		t.Fatalf("second read: %d, %v", n, err)
	}
}

func TestLenient(t *testing.T) {
	x := noise(1, 1, 1000, 1)
	x[0][700], x[0][800] = math.NaN(), math.Inf(1)
	b, _ := codec.WAVBytes(8000, x, codec.Float32)
	r := mustOpen(t, b[:len(b)-400], Lenient())
	got, err := r.ReadAll()
	if err != nil || len(got[0]) != 900 || got[0][700] != 0 || got[0][800] != 0 {
		t.Fatal(len(got[0]), err)
	}
	if w := r.Warnings(); len(w) != 2 || !strings.Contains(w[0], "0.113 s of the 0.125 s") && !strings.Contains(w[0], "0.112 s") || !strings.Contains(w[1], "the first at 0.087 s, channel 1") {
		t.Errorf("%q", w)
	}
}

func TestOpenPath(t *testing.T) {
	dir := t.TempDir()
	for path, want := range map[string]string{
		filepath.Join(dir, "none.wav"): "cannot be opened: no such file",
		dir:                            "is a directory",
	} {
		_, err := Open(path)
		var in *InputError
		if !errors.As(err, &in) || !strings.Contains(err.Error(), want) || strings.Count(err.Error(), path) != 1 {
			t.Errorf("%v", err)
		}
	}
	p := filepath.Join(dir, "a.dat") // the name says nothing
	err := WriteFile(p, false, func(w io.WriteSeeker) error {
		_, err := codec.WriteWAV(w, 16000, noise(1, 2, 100, 1), codec.PCM16)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Open(p)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if r.Info().Frames != 100 || r.Info().Seconds != 100.0/16000 {
		t.Errorf("%+v", r.Info())
	}
	_ = os.Remove(p)
}

// TestBoundedMemory: what a header claims must not decide what is allocated.
func TestBoundedMemory(t *testing.T) {
	claim := wavSpec{tag: 1, channels: 2, bits: 16, rate: 48000, dataSize: 0x7FFEFFFC, data: make([]byte, 400)}.bytes()
	big := wavSpec{tag: 1, channels: 2, bits: 16, rate: 48000, dataSize: 0xFFFFFFFF, data: make([]byte, 400)}.bytes()
	id3 := append([]byte("ID3\x04\x00\x00\x7f\x7f\x7f\x7f"), make([]byte, 4000)...)
	for _, data := range [][]byte{claim, big, id3} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if r, err := OpenBytes("x", data, Lenient()); err == nil {
			r.ReadAll()
		}
		runtime.ReadMemStats(&after)
		if got := after.TotalAlloc - before.TotalAlloc; got > 2<<20 {
			t.Errorf("%d bytes allocated for a file of %d", got, len(data))
		}
	}
}

func TestReadAllocs(t *testing.T) {
	b, _ := codec.WAVBytes(48000, noise(1, 2, 480000, 1), codec.PCM24)
	r := mustOpen(t, b)
	buf := NewBlock(2, 512)
	if n := testing.AllocsPerRun(100, func() { r.Read(buf) }); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

func TestMono(t *testing.T) {
	x := [][]float64{{1, 2, 3}, {5, 6, 7}}
	for pick, want := range map[int][]float64{-1: {3, 4, 5}, 0: {1, 2, 3}, 1: {5, 6, 7}} {
		got, err := ReadAll(Mono(&sliceSource{x: x}, 2, pick), 1)
		if err != nil || len(got[0]) != 3 || got[0][0] != want[0] || got[0][2] != want[2] {
			t.Errorf("pick %d: %v %v", pick, got, err)
		}
	}
}

// sliceSource gives planar slices in odd portions.
type sliceSource struct {
	x   [][]float64
	pos int
	k   int
}

func (s *sliceSource) Read(dst [][]float64) (int, error) {
	n := min(len(dst[0]), len(s.x[0])-s.pos)
	if s.k > 0 {
		n = min(n, s.k)
	}
	if n == 0 {
		return 0, io.EOF
	}
	for ch := range dst {
		copy(dst[ch], s.x[ch][s.pos:s.pos+n])
	}
	s.pos += n
	return n, nil
}

func FuzzOpenBytes(f *testing.F) {
	for _, enc := range []codec.Encoding{codec.PCM16, codec.PCM24, codec.PCM32, codec.Float32} {
		b, _ := codec.WAVBytes(8000, noise(1, 2, 50, 1), enc)
		f.Add(b)
		f.Add(b[:len(b)/2])
	}
	f.Add([]byte("fLaC\x00\x00\x00\x22"))
	f.Add([]byte("OggS\x00\x02\x00\x00\x00\x00\x00\x00\x00\x00"))
	f.Add([]byte("ID3\x04\x00\x00\x00\x00\x00\x05hello\xff\xfb\x90\x00"))
	if files, err := filepath.Glob("testdata/tone*"); err == nil {
		for _, p := range files {
			if b, err := os.ReadFile(p); err == nil {
				f.Add(b)
			}
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, opt := range [][]Option{nil, {Lenient(), MaxChannels(8)}} {
			r, err := OpenBytes("x", data, opt...)
			if err != nil {
				checkInputError(t, err)
				continue
			}
			i := r.Info()
			buf := NewBlock(i.Channels, 4096)
			total := int64(0)
			for total < 1<<22 {
				n, err := r.Read(buf)
				total += int64(n)
				for _, x := range buf {
					for _, v := range x[:n] {
						if v-v != 0 {
							t.Fatal("a value that is not finite got through")
						}
					}
				}
				if err == io.EOF {
					break
				}
				if err != nil {
					checkInputError(t, err)
					break
				}
				if n == 0 {
					t.Fatal("no progress")
				}
			}
		}
	})
}

func checkInputError(t *testing.T, err error) {
	var in *InputError
	if !errors.As(err, &in) || strings.Contains(err.Error(), "\n") {
		t.Fatalf("%T %v", err, err)
	}
}
