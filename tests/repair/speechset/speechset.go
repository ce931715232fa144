// Package speechset loads the speech that declipping is measured on: open
// recordings from Debian packages and two synthetic voices, thirteen files,
// mono, mean removed, peak 1. Nothing of it is kept in this repository.
//
// The packages are pocketsphinx-testdata, alsa-utils and codec2-examples; the
// programs sox and espeak-ng must be installed. Root tells where the packages
// were unpacked.
package speechset

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"

	"gainwright/sounds/voice"
)

// Env names the environment variable that overrides where the packages' /usr is.
const Env = "GAINWRIGHT_SPEECH_ROOT"

// Root is the directory that holds usr/share of the packages.
func Root() string {
	if r := os.Getenv(Env); r != "" {
		return r
	}
	return "/"
}

// An Item is one recording of the set.
type Item struct {
	Name  string
	path  string // below usr/share, or absolute
	raw   bool   // 16-bit little-endian, 16 kHz, no header
	trim  string // seconds to keep, "" for all
	voice string // of espeak-ng, instead of a path
	made  func(rate int) ([]float64, error)
	text  string
}

const (
	ps  = "pocketsphinx/test/data/"
	lib = ps + "librivox/sense_and_sensibility_01_austen_64kb-"
)

// Test is the set that figures are given for.
var Test = []Item{
	{Name: "front_center", path: "sounds/alsa/Front_Center.wav"},
	{Name: "rear_left", path: "sounds/alsa/Rear_Left.wav"},
	{Name: "side_right", path: "sounds/alsa/Side_Right.wav"},
	{Name: "codec2", path: "codec2/raw/speech_orig_16k.wav", trim: "5"},
	{Name: "cards_003", path: ps + "cards/003.wav"},
	{Name: "cards_005", path: ps + "cards/005.wav"},
	{Name: "librivox_0880", path: lib + "0880.wav"},
	{Name: "librivox_0930", path: lib + "0930.wav"},
	{Name: "goforward", path: ps + "goforward.raw", raw: true},
	{Name: "numbers", path: ps + "numbers.raw", raw: true},
	{Name: "something", path: ps + "something.raw", raw: true},
	{Name: "en-gb", voice: "en-gb", text: sentence},
	{Name: "en-us+f3", voice: "en-us+f3", text: sentence},
}

const sentence = "The ferry left at seven, and half the village came down to the landing to see it go."

// Tuning is what settings were chosen on. No file is in Test; some of the
// talkers are.
var Tuning = []Item{
	{Name: "rear_right", path: "sounds/alsa/Rear_Right.wav"},
	{Name: "cards_001", path: ps + "cards/001.wav"},
	{Name: "cards_002", path: ps + "cards/002.wav"},
	{Name: "cards_004", path: ps + "cards/004.wav"},
	{Name: "librivox_0870", path: lib + "0870.wav", trim: "6"},
	{Name: "librivox_0920", path: lib + "0920.wav", trim: "6"},
	{Name: "codec2_tail", path: "codec2/raw/speech_orig_16k.wav", trim: "=6 =10"},
	{Name: "en-scotland", voice: "en-gb-scotland+m3", text: "My grandfather kept the ropes dry, mostly. He laughed at the river more than he swore at it."},
	{Name: "en-us", voice: "en-us+f1", text: "Nobody asked us to stay, but where else would we have gone in the winter?"},
}

// Held is what choices between learnt variants are made on: in neither Test nor
// Tuning.
var Held = []Item{
	{Name: "front_left", path: "sounds/alsa/Front_Left.wav"},
	{Name: "rear_center", path: "sounds/alsa/Rear_Center.wav"},
	{Name: "side_left", path: "sounds/alsa/Side_Left.wav"},
	{Name: "librivox_0890", path: lib + "0890.wav", trim: "6"},
	{Name: "front_right", path: "sounds/alsa/Front_Right.wav"},
	{Name: "en-us+m7", voice: "en-us+m7", text: "There was ice on the rails, so we walked the last mile and carried the mail between us."},
}

// Missing tells what is not there of items, or of what makes them, first; nil for nothing.
func Missing(items []Item) error {
	if err := programs("sox", "espeak-ng"); err != nil {
		return err
	}
	for _, it := range items {
		if it.voice == "" && it.made == nil {
			if _, err := os.Stat(it.file()); err != nil {
				return Absent(it.file())
			}
		}
	}
	return nil
}

func programs(names ...string) error {
	for _, p := range names {
		if _, err := exec.LookPath(p); err != nil {
			return fmt.Errorf("the program %s is missing: install it", p)
		}
	}
	return nil
}

// ErrAbsent is of recordings that are not on this machine.
var ErrAbsent = errors.New("open recordings are missing")

// Absent is what everybody says who does not find what, a path or whose recordings: what is
// missing and what to do about it.
func Absent(what string) error {
	return fmt.Errorf("%w: %s; install the Debian packages that tests/all.sh names, or set %s to the directory below which they were unpacked", ErrAbsent, what, Env)
}

func (it Item) file() string {
	if filepath.IsAbs(it.path) {
		return it.path
	}
	return filepath.Join(Root(), "usr/share", it.path)
}

// Folder is the WAV files of a folder, by name: speech that is not in a package.
func Folder(dir string) ([]Item, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	names, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%s: no WAV file there", dir)
	}
	var out []Item
	for _, n := range names {
		out = append(out, Item{Name: strings.TrimSuffix(filepath.Base(n), ".wav"), path: n})
	}
	return out, nil
}

// Own is the rate it was recorded or made at, Hz: at higher ones it is oversampled, and
// has nothing above half of this, which makes declipping easier.
func (it Item) Own() int {
	switch {
	case it.made != nil:
		return voice.Rate
	case it.voice != "":
		return 22050 // espeak-ng's
	case strings.HasPrefix(it.path, "sounds/alsa/"):
		return 48000
	}
	return 16000
}

// Load returns the recording at rate Hz, mean removed, peak 1.
func (it Item) Load(rate int) ([]float64, error) {
	if it.made != nil {
		return it.made(rate)
	}
	dir, err := os.MkdirTemp("", "speechset")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	in := it.file()
	if it.voice != "" {
		in = filepath.Join(dir, "voice.wav")
		if out, err := exec.Command("espeak-ng", "-v", it.voice, "-w", in, it.text).CombinedOutput(); err != nil {
			return nil, fmt.Errorf("espeak-ng: %w: %s", err, out)
		}
	}
	args := []string{"-D"}
	if it.raw {
		args = append(args, "-t", "raw", "-r", "16000", "-e", "signed", "-b", "16", "-c", "1")
	}
	args = append(args, in, "-t", "raw", "-e", "float", "-b", "32", "-c", "1", "-r", strconv.Itoa(rate), "-")
	switch it.trim {
	case "":
	case "=6 =10":
		args = append(args, "trim", "6", "4")
	default:
		args = append(args, "trim", "0", it.trim)
	}
	args = append(args, "gain", "-6", "rate", "-v", strconv.Itoa(rate))
	b, err := exec.Command("sox", args...).Output()
	if err != nil {
		return nil, fmt.Errorf("sox %s: %w", it.Name, err)
	}
	x := make([]float64, len(b)/4)
	for i := range x {
		x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	if err := Centre(x); err != nil {
		return nil, fmt.Errorf("%s: %w", it.Name, err)
	}
	return x, nil
}

// Centre removes the mean of x and brings its peak to 1; ErrSilent, if nothing is left.
func Centre(x []float64) error {
	mean, peak := 0.0, 0.0
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for i := range x {
		x[i] -= mean
		peak = max(peak, math.Abs(x[i]))
	}
	if peak == 0 {
		return ErrSilent
	}
	for i := range x {
		x[i] /= peak
	}
	return nil
}

// SDR is 20·log10(‖u‖/‖u−v‖), in dB.
func SDR(u, v []float64) float64 {
	var s, e float64
	for i := range u {
		s += u[i] * u[i]
		e += (u[i] - v[i]) * (u[i] - v[i])
	}
	return 10 * math.Log10(s/e)
}

// Clip returns x hard-clipped at ±θ, and θ, so that SDR(x, y) is sdr dB.
func Clip(x []float64, sdr float64) (y []float64, theta float64) {
	lo, hi := 0.0, 0.0
	for _, v := range x {
		hi = max(hi, math.Abs(v))
	}
	y = make([]float64, len(x))
	for range 60 {
		theta = (lo + hi) / 2
		for i, v := range x {
			y[i] = min(max(v, -theta), theta)
		}
		if SDR(x, y) < sdr {
			lo = theta
		} else {
			hi = theta
		}
	}
	return y, theta
}

// Voice is text said by a voice of espeak-ng.
func Voice(voice, text string) Item { return Item{Name: voice, voice: voice, text: text} }
