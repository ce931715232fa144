// Package labelled makes the recordings that diagnosis is trained and measured on:
// clean speech, to which something known is done. Nothing of it is kept in this
// repository. The speech comes from three families: this project's own talkers;
// open recordings from the Debian packages pocketsphinx-testdata, alsa-utils and
// codec2-examples, for the second set from others too (openSpeakers), if they are
// unpacked under the directory that GAINWRIGHT_SPEECH_ROOT names (or installed); and
// voices of espeak-ng.
package labelled

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"

	"gainwright/sounds"
	"gainwright/sounds/voice"
	"gainwright/tests/repair/speechset"
)

// Seconds is the length of a recording of the set.
const Seconds = 4

// A Source is some seconds of clean speech.
type Source struct {
	Name   string
	Family string // "talker", "open" or "espeak"
	load   func() ([]float64, error)
	mu     sync.Mutex
	x      []float64 // 48 kHz, peak 1
}

// Load returns the speech at 48 kHz, mean removed, peak 1. Several may at once.
func (s *Source) Load() ([]float64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.x != nil {
		return s.x, nil
	}
	x, err := s.load()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	if err := speechset.Centre(x); err != nil {
		return nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	s.x = x
	return x, nil
}

// What is left out of codec2-examples: recordings off the air, and one that is
// clipped itself: their past is not known, or not clean.

// What the two halves are made from: no talker and no recording is in both.
var (
	trainTalkers = []string{"captain", "maren", "pip"}
	testTalkers  = []string{"joss", "edwin", "ilse"}
	trainOpen    = []string{
		"sounds/alsa/Front_Left.wav", "sounds/alsa/Side_Left.wav",
		"pocketsphinx/test/data/cards/001.wav", "pocketsphinx/test/data/cards/002.wav", "pocketsphinx/test/data/cards/004.wav",
		"pocketsphinx/test/data/numbers.raw",
		"codec2/wav/david4.wav", "codec2/wav/hts1a.wav", "codec2/wav/morig.wav", "codec2/wav/f2400.wav",
	}
	testOpen = []string{
		"sounds/alsa/Front_Center.wav", "sounds/alsa/Rear_Right.wav", "sounds/alsa/Rear_Center.wav",
		"pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav",
		"pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0880.wav",
		"pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0890.wav",
		"pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0920.wav",
		"pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0930.wav",
		"pocketsphinx/test/data/cards/003.wav", "pocketsphinx/test/data/cards/005.wav",
		"pocketsphinx/test/data/goforward.raw", "pocketsphinx/test/data/something.raw",
		"codec2/raw/speech_orig_16k.wav",
		"codec2/wav/big_dog.wav", "codec2/wav/mmt1.wav", "codec2/wav/m2400.wav", "codec2/wav/hts2a.wav", "codec2/wav/forig.wav",
	}
	trainVoices = []string{"en-gb", "en-us+f1", "en-gb-scotland+m3", "en-029+m1", "en-us+f4", "en-gb-x-rp+f2", "en-us+m7", "en-gb-x-gbcwmd+f5", "en-gb+m6"}
	testVoices  = []string{"en-us", "en-us+f3", "en-gb-x-rp+m2", "en-gb-x-gbclan+m4", "en-us+f2", "en-us-nyc+m5"}
	trainLines  = []string{
		"My grandfather kept the ropes dry, mostly. He laughed at the river more than he swore at it.",
		"Nobody asked us to stay, but where else would we have gone in the winter?",
		"Twelve boats, one bell, and a dog that knew the timetable better than the master did.",
	}
	testLines = []string{
		"The ferry left at seven, and half the village came down to the landing to see it go.",
		"You could hear the chain from the school house, every link of it, when the wind lay in the west.",
		"I never learned to swim, and I never once fell in. That is the whole secret of it.",
	}
)

// Sources lists the speech of one half of the set. Open says whether open
// recordings were found.
func Sources(train bool) (list []*Source, open bool) {
	who, files, voices, lines := testTalkers, testOpen, testVoices, testLines
	if train {
		who, files, voices, lines = trainTalkers, trainOpen, trainVoices, trainLines
	}
	for i, t := range who {
		variants := 5
		if train {
			variants = 9
		}
		for k := range variants {
			seed := uint64(1000*i + 10*k)
			if train {
				seed += 5
			}
			list = append(list, &Source{Name: fmt.Sprintf("%s %d", t, k), Family: "talker", load: func() ([]float64, error) { return talker(t, seed, k) }})
		}
	}
	for _, f := range files {
		path := filepath.Join(speechset.Root(), "usr/share", f)
		if _, err := os.Stat(path); err != nil {
			continue
		}
		open = true
		list = append(list, &Source{Name: filepath.Base(f), Family: "open", load: func() ([]float64, error) { return open1(path, 0) }})
		if fi, _ := os.Stat(path); fi.Size() > 32000*2*(Seconds+2) {
			list = append(list, &Source{Name: filepath.Base(f) + " later", Family: "open", load: func() ([]float64, error) { return open1(path, Seconds) }})
		}
	}
	for i, v := range voices {
		for k, l := range lines {
			if (i+k)%2 == 0 {
				list = append(list, &Source{Name: v + " " + strconv.Itoa(k), Family: "espeak", load: func() ([]float64, error) { return espeak(v, l) }})
			}
		}
	}
	return list, open
}

func talker(name string, seed uint64, k int) ([]float64, error) {
	s := voice.Ordinary()
	at := int(seed*7+uint64(k)*3) % len(s)
	effort := []voice.Effort{voice.Normal, voice.Raised, voice.Loud, voice.Normal, voice.Loud}[k%5]
	script := voice.Script{{Text: s[at], Effort: effort}, {Do: "laugh", Effort: voice.Loud}, {Text: s[(at+1)%len(s)], Effort: voice.Raised}}
	if k%4 == 3 {
		script = voice.Script{{Do: "laugh", Effort: voice.Raised}, {Text: s[at], Effort: effort, EffortTo: voice.Loud}}
	}
	if k >= 5 {
		script = voice.Script{{Text: s[at], Effort: effort}, {Text: s[(at+2)%len(s)], Effort: voice.Raised, EffortTo: voice.Shout}}
	}
	p, err := voice.New(script, name, seed)
	if err != nil {
		return nil, err
	}
	x := make([]float64, Seconds*voice.Rate)
	for n := 0; n < len(x); {
		k, err := p.Read(x[n:])
		n += k
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	// A room, 55 to 70 dB under the loudest peak.
	r := rand.New(rand.NewPCG(seed, 3))
	g := peak * math.Pow(10, -(55+15*r.Float64())/20) / 3
	lp := 0.0
	for i := range x {
		lp = 0.9*lp + r.NormFloat64()
		x[i] += g * lp
	}
	return x, nil
}

func espeak(v, line string) ([]float64, error) {
	dir, err := os.MkdirTemp("", "labelled")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	wav := filepath.Join(dir, "v.wav")
	if out, err := exec.Command("espeak-ng", "-v", v, "-w", wav, line).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("espeak-ng: %w: %s", err, out)
	}
	return sox(wav, 0)
}

// open1 is an open recording without the hum that some of them have: notches at 50
// and 60 Hz and their first multiples, so that what is told of hum is known.
func open1(path string, from int) ([]float64, error) {
	read := sox
	if e := filepath.Ext(path); e == ".g722" || e == ".ogg" {
		read = decoded
	}
	x, err := read(path, from)
	for _, hz := range mains {
		notch(x, hz)
	}
	return x, err
}

// mains are the frequencies of hum, Hz.
var mains = []float64{50, 60, 100, 120, 180}

// notch takes a frequency out of 48 kHz, 3 Hz wide.
func notch(x []float64, hz float64) {
	w := 2 * math.Pi * hz / 48000
	c, al := math.Cos(w), math.Sin(w)*3/(2*hz)
	biquad(x, 1, -2*c, 1, 1+al, -2*c, 1-al)
}

// sox returns Seconds of a file from a second on, at 48 kHz.
func sox(path string, from int) ([]float64, error) {
	args := []string{"-D"}
	if filepath.Ext(path) == ".raw" {
		args = append(args, "-t", "raw", "-r", "16000", "-e", "signed", "-b", "16", "-c", "1")
	}
	args = append(args, path, "-t", "raw", "-e", "float", "-b", "32", "-c", "1", "-r", "48000", "-",
		"trim", strconv.Itoa(from), strconv.Itoa(Seconds), "gain", "-6", "rate", "-v", "48000")
	b, err := exec.Command("sox", args...).Output()
	if err != nil {
		return nil, fmt.Errorf("sox: %w", err)
	}
	return filled(floats(b))
}

// decoded is sox for what sox does not read.
func decoded(path string, from int) ([]float64, error) {
	x, err := words(path, from)
	if err != nil {
		return nil, err
	}
	return filled(x)
}

// words are at most Seconds of a file from a second on, at 48 kHz. Ogg Vorbis is read
// here: single words are thousands of files, and to start ffmpeg takes as long as to make a
// recording of them.
func words(path string, from int) ([]float64, error) {
	if filepath.Ext(path) == ".ogg" && from == 0 {
		return vorbis(path)
	}
	args := []string{"-v", "error", "-threads", "1", "-ss", strconv.Itoa(from), "-t", strconv.Itoa(Seconds)}
	if filepath.Ext(path) == ".g722" {
		args = append(args, "-f", "g722")
	}
	b, err := ffmpeg(nil, append(args, "-i", path, "-f", "f32le", "-ar", "48000", "-ac", "1", "-")...)
	return floats(b), err
}

// vorbis is the beginning of a file, the mean of its channels, at 48 kHz.
func vorbis(path string) ([]float64, error) {
	r, err := sounds.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	in := r.Info()
	block := sounds.NewBlock(in.Channels, 4096)
	var x []float64
	for len(x) < Seconds*in.Rate {
		n, err := r.Read(block)
		for i := range n {
			sum := 0.0
			for _, c := range block {
				sum += c[i]
			}
			x = append(x, sum/float64(in.Channels))
		}
		if err != nil { // the end; or the file is cut short, and what there is of it serves
			break
		}
	}
	x = x[:min(len(x), Seconds*in.Rate)]
	if in.Rate != 48000 {
		x = sounds.ResampleAll([][]float64{x}, in.Rate, 48000, sounds.Steep)[0]
	}
	return x, nil
}

// filled says a short one again, after half a second of the quiet noise of a room.
func filled(x []float64) ([]float64, error) {
	if len(x) < 24000 {
		return nil, fmt.Errorf("only %d samples", len(x))
	}
	n := len(x)
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	r := rand.New(rand.NewPCG(uint64(n), 5))
	for i := 0; len(x) < Seconds*48000; i++ {
		if k := i % (n + 24000); k >= 24000 {
			x = append(x, x[k-24000])
		} else {
			x = append(x, peak*1e-3*r.NormFloat64())
		}
	}
	return x, nil
}

func floats(b []byte) []float64 {
	x := make([]float64, len(b)/4)
	for i := range x {
		x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return x
}

func bytesOf(x []float64) []byte {
	b := make([]byte, 0, 4*len(x))
	for _, v := range x {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	}
	return b
}
