package english

import (
	"maps"
	"slices"
	"strings"
)

// Sound is one phone of a word by its ARPAbet symbol, without the stress digit, which
// stands beside it and is 0 for consonants. AX is the vowel that ARPAbet writes AH0,
// DX a flap.
type Sound struct {
	Phone  string
	Stress int // 0, 1 or 2
}

// Vowel tells whether it is one.
func (s Sound) Vowel() bool { return sounds[s.Phone].vowel }

// Voiced tells whether the vocal folds swing in it, as they do in all vowels.
func (s Sound) Voiced() bool { return sounds[s.Phone].voiced }

type kind struct{ vowel, voiced bool }

// sounds are all there are.
var sounds = func() map[string]kind {
	m := map[string]kind{}
	for list, k := range map[string]kind{
		"IY IH EY EH AE AA AO AH AX OW UH UW ER AY AW OY": {true, true},
		"W Y R L M N NG V DH Z ZH JH B D G DX":            {false, true},
		"F TH S SH CH P T K HH":                           {false, false},
	} {
		for _, name := range strings.Fields(list) {
			m[name] = k
		}
	}
	return m
}()

// Phones are the symbols of all sounds, in alphabetical order.
func Phones() []string { return slices.Sorted(maps.Keys(sounds)) }
