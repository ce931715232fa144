package speechset

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// A Speaker is somebody of whom a Debian package has many short recordings.
type Speaker struct {
	Name string
	Rate int  // Hz, of the recordings
	Held bool // kept for judging: nothing is set by this voice
	dir  string
	skip string // what the names of other people's or rates' files hold
	only string // what folder and name of this one's files look like, anywhere below; "" for all in dir
}

// Speakers are the people, and a few voices changed beyond that, of the packages
// hedgewars-data, ktuberling-data and klettres-data (44.1 kHz, some of it made from less),
// asterisk-core-sounds-en-g722 and its French, Italian and Russian sisters (16 kHz),
// alsa-utils and pocketsphinx-testdata. No two that may be one person are on different
// sides: those of one package and language.
var Speakers = []Speaker{
	{Name: "british", dir: voices + "Classic"},
	{Name: "spanish", dir: voices + "Default_es"},
	{Name: "russian", dir: voices + "Default_ru"},
	{Name: "hillbilly", dir: voices + "HillBilly"},
	{Name: "pirate", dir: voices + "Pirate"},
	{Name: "singer", dir: voices + "Singer"},
	{Name: "robot", dir: voices + "Robot"},
	{Name: "toy-danish", dir: toys + "da"},
	{Name: "toy-greek", dir: toys + "el"},
	{Name: "toy-lithuanian", dir: toys + "lt"},
	{Name: "toy-slovene", dir: toys + "sl"},
	{Name: "letters-hebrew", dir: "klettres/he/syllab"},
	{Name: "letters-dutch", dir: "klettres/nl/syllab"},
	{Name: "prompts", dir: "asterisk/sounds/en_US_f_Allison", Rate: 16000},
	{Name: "labels", dir: "sounds/alsa", Rate: 48000, skip: "Noise"},
	{Name: "usual", dir: voices + "Default"},
	{Name: "polish", dir: voices + "Default_pl"},
	{Name: "ukrainian", dir: voices + "Default_uk"},
	{Name: "mobster", dir: voices + "Mobster"},
	{Name: "accent", dir: voices + "Russian"},
	{Name: "accent-polish", dir: voices + "Russian_pl"},
	{Name: "surfer", dir: voices + "Surfer"},
	{Name: "toy-german", dir: toys + "de"},
	{Name: "toy-english", dir: toys + "en"},
	{Name: "toy-galician", dir: toys + "gl"},
	{Name: "toy-walloon", dir: toys + "wa"},
	{Name: "letters-italian", dir: "klettres/it/syllab"},
	{Name: "letters-portuguese", dir: "klettres/pt_BR/syllab"},
	{Name: "cards", dir: "pocketsphinx/test/data/cards", Rate: 16000},
	{Name: "book", dir: "pocketsphinx/test/data/librivox", Rate: 16000},

	{Name: "letters-arabic", dir: "klettres/ar/alpha", Held: true},
	{Name: "letters-czech", dir: "klettres/cs/alpha", Held: true},
	{Name: "letters-hungarian", dir: "klettres/hu/syllab", Held: true},
	{Name: "letters-norwegian", dir: "klettres/nb/alpha", Held: true},
	{Name: "letters-tswana", dir: "klettres/tn/syllab", Held: true},
	{Name: "letters-french", dir: "klettres/fr/syllab", Held: true},
	{Name: "letters-low-german", dir: "klettres/nds/syllab", Held: true},
	{Name: "letters-spanish", dir: "klettres/es/syllab", Held: true},
	{Name: "letters-russian", dir: "klettres/ru/alpha", Held: true},
	{Name: "letters-ukrainian", dir: "klettres/uk/syllab", Held: true},
	{Name: "letters-british", dir: "klettres/en_GB/alpha", Held: true},
	{Name: "toy-catalan", dir: toys + "ca", Held: true},
	{Name: "toy-french", dir: toys + "fr", Held: true},
	{Name: "toy-finnish", dir: toys + "fi", Held: true},
	{Name: "toy-irish", dir: toys + "ga", Held: true},
	{Name: "toy-romanian", dir: toys + "ro", Held: true},
	{Name: "toy-serbian", dir: toys + "sr", Held: true},
	{Name: "toy-swedish", dir: toys + "sv", Held: true},
	{Name: "toy-spanish", dir: toys + "es", Held: true},
	{Name: "toy-russian", dir: toys + "ru", Held: true},
	{Name: "toy-ukrainian", dir: toys + "uk", Held: true},
	{Name: "prompts-french", dir: "asterisk/sounds/fr_CA_f_June", Rate: 16000, skip: ".wav", Held: true},
	{Name: "prompts-italian", dir: "asterisk/sounds/it_IT_m_Carlo", Rate: 16000, Held: true},
	{Name: "prompts-russian", dir: "asterisk/sounds/ru_RU_f_IvrvoiceRU", Rate: 16000, Held: true},
}

// Later are people that nothing is set by, for judging whatever is set next: the packages
// tuxpaint-stamps-default (44.1 kHz; its Spanish voice was recorded clipped),
// fillets-ng-data-cs and -nl (22.05 kHz) and asterisk-prompt-it-menardi-wav (8 kHz). Of
// the first Seen, takes were looked at while something was worked on, and declipping's mixer
// learnt from them; the others were
// judged by once, on 2026-11-29, so that whoever changes what they judge needs others.
var Later = []Speaker{
	{Name: "stamps-french", dir: stamps, only: "*/*_desc_fr.ogg"},
	{Name: "stamps-russian", dir: stamps, only: "*/*_desc_ru.ogg"},
	{Name: "stamps-romanian", dir: stamps, only: "*/*_desc_ro.ogg"},
	{Name: "stamps-catalan", dir: stamps, only: "*/*_desc_ca.ogg"},
	{Name: "stamps-bulgarian", dir: stamps, only: "*/*_desc_bg.ogg"},
	{Name: "stamps-belarusian", dir: stamps, only: "*/*_desc_be.ogg"},
	{Name: "stamps-greek", dir: stamps, only: "*/*_desc_el.ogg"},
	{Name: "stamps-danish", dir: stamps, only: "*/*_desc_da.ogg"},
	{Name: "stamps-lithuanian", dir: stamps, only: "*/*_desc_lt.ogg"},
	{Name: "fish-czech-small", dir: fish, only: "cs/*-m-*.ogg", Rate: 22050},
	{Name: "fish-czech-big", dir: fish, only: "cs/*-v-*.ogg", Rate: 22050},
	{Name: "fish-dutch-small", dir: fish, only: "nl/*-m-*.ogg", Rate: 22050},
	{Name: "fish-dutch-big", dir: fish, only: "nl/*-v-*.ogg", Rate: 22050},
	{Name: "prompts-italian-woman", dir: "asterisk/sounds/it_IT_f_Menardi", Rate: 8000},
}

// Seen is how many of Later were looked at before the others judged.
const Seen = 5

const (
	voices = "games/hedgewars/Data/Sounds/voices/"
	toys   = "ktuberling/sounds/"
	stamps = "tuxpaint/stamps"
	fish   = "games/fillets-ng/sound"
)

// Processes are what voices go through before they are heard, as effects of sox; Top, Hz, is
// the highest frequency that one names, 0 if none that may be too high.
var Processes = []struct {
	Name, Effects string
	Top           float64
}{
	{Name: "plain"},
	{Name: "compressed", Effects: "compand 0.005,0.15 6:-70,-70,-45,-22,-20,-10,0,-4 -3"},
	{Name: "equalised", Effects: "bass 8 equalizer 2800 1.2q 9 treble -5"},
	{Name: "band-limited", Effects: "sinc 300-3400", Top: 3400},
	{Name: "reverb", Effects: "reverb 55 40 60"},
	{Name: "squeezed", Effects: "overdrive 12 0 gain -3"},
	{Name: "compressed, band-limited", Effects: "compand 0.002,0.08 6:-70,-70,-45,-18,-20,-7,0,-3 -3 sinc 250-5000", Top: 5000},
	{Name: "equalised, compressed", Effects: "highpass 120 equalizer 3500 0.9q 10 compand 0.01,0.2 6:-70,-70,-40,-18,0,-4 -3"},
	{Name: "reverb, compressed", Effects: "reverb 40 compand 0.003,0.1 6:-70,-70,-40,-15,0,-3 -3"},
}

func (s Speaker) files() ([]string, error) {
	dir := filepath.Join(Root(), "usr/share", s.dir)
	names, err := s.below(dir)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, file := range names {
		n := filepath.Base(file)
		if strings.HasSuffix(n, ".raw") || s.skip != "" && strings.Contains(n, s.skip) {
			continue
		}
		if slices.Contains([]string{".ogg", ".wav", ".g722"}, filepath.Ext(n)) {
			out = append(out, file)
		}
	}
	if len(out) == 0 {
		return nil, Absent(fmt.Sprintf("recordings of %s in %s", s.Name, dir))
	}
	return out, nil
}

// below are the files in dir or, where the speaker is told by their names, in all folders
// below it.
func (s Speaker) below(dir string) (out []string, err error) {
	if s.only == "" {
		list, err := os.ReadDir(dir)
		for _, f := range list {
			out = append(out, filepath.Join(dir, f.Name()))
		}
		if errors.Is(err, fs.ErrNotExist) {
			return nil, Absent(dir)
		}
		return out, err
	}
	err = filepath.WalkDir(dir, func(path string, f fs.DirEntry, err error) error {
		if path == dir && errors.Is(err, fs.ErrNotExist) {
			return Absent(dir)
		}
		if err != nil {
			return err
		}
		if ok, err := filepath.Match(s.only, filepath.Join(filepath.Base(filepath.Dir(path)), f.Name())); err != nil || !ok {
			return err
		}
		if info, err := f.Info(); err != nil || info.Size() < leastBytes {
			return err
		}
		out = append(out, path)
		return nil
	})
	return out, err
}

// leastBytes is what a file has in which something is said: a few names of stamps are
// empty.
const leastBytes = 4000

// Recordings is how many there are of s; an error says what to do where there are none.
func (s Speaker) Recordings() (int, error) {
	list, err := s.files()
	return len(list), err
}

// MissingSpeakers tells what is not there of list, or of what decodes it, first; nil for
// nothing.
func MissingSpeakers(list []Speaker) error {
	for _, s := range list {
		if _, err := s.files(); err != nil {
			return err
		}
	}
	return programs("sox", "ffmpeg")
}

// ErrSilent is of a piece in which nothing is said.
var ErrSilent = errors.New("silent")

// ErrNarrow is of a process that goes higher than what a recording holds.
var ErrNarrow = errors.New("the process goes higher than the recording")

// Take is the part-th piece of so many seconds of what s says, one recording after
// another, through a process: mono, at its own rate, mean removed, peak 1.
func (s Speaker) Take(part int, seconds float64, effects string) ([]float64, int, error) {
	rate := s.Rate
	if rate == 0 {
		rate = 44100
	}
	list, err := s.files()
	if err != nil {
		return nil, 0, err
	}
	n := int(seconds * float64(rate))
	var x []float64
	for k := 0; len(x) < n && k < len(list); k++ {
		v, err := decoded(list[(7*part+k)%len(list)], rate)
		if err != nil {
			return nil, 0, err
		}
		x = append(x, v...)
	}
	if n > len(x) {
		n = len(x)
	}
	if x, err = through(x[:n], rate, effects); err != nil {
		return nil, 0, err
	}
	if err := Centre(x); err != nil {
		return nil, 0, fmt.Errorf("%s, part %d: %w", s.Name, part, err)
	}
	return x, rate, nil
}

func decoded(file string, rate int) ([]float64, error) {
	r := strconv.Itoa(rate)
	cmd := exec.Command("sox", "-D", "-V1", file, "-t", "raw", "-e", "float", "-b", "32", "-c", "1", "-r", r, "-", "gain", "-6")
	if strings.HasSuffix(file, ".g722") {
		cmd = exec.Command("ffmpeg", "-v", "error", "-i", file, "-f", "f32le", "-ac", "1", "-ar", r, "-")
	}
	b, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return floats(b), nil
}

func through(x []float64, rate int, effects string) ([]float64, error) {
	if effects == "" {
		return x, nil
	}
	raw := []string{"-t", "raw", "-e", "float", "-b", "32", "-c", "1", "-r", strconv.Itoa(rate)}
	args := append(append(append([]string{"-D", "-R", "-V1"}, raw...), "-"), append(raw, "-")...)
	args = append(args, strings.Fields("gain -12 "+effects)...)
	cmd := exec.Command("sox", args...)
	var in strings.Builder
	for _, v := range x {
		if err := binary.Write(&in, binary.LittleEndian, float32(v)); err != nil {
			return nil, err
		}
	}
	cmd.Stdin = strings.NewReader(in.String())
	b, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			return nil, fmt.Errorf("sox %s: %w: %s", effects, err, exit.Stderr)
		}
		return nil, fmt.Errorf("sox %s: %w", effects, err)
	}
	return floats(b), nil
}

func floats(b []byte) []float64 {
	x := make([]float64, len(b)/4)
	for i := range x {
		x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return x
}
