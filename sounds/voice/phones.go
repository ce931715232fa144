package voice

// class says how a phone is made, and so how its tracks are built.
type class uint8

const (
	vowel class = iota
	glide
	nasal
	stop
	fricative
	affricate
	breathy // h
	flap
)

type place uint8

const (
	noPlace place = iota
	labial
	dental
	alveolar
	palatal
	velar
)

// band is one resonance of a noise: centre and bandwidth in Hz, level in dB.
type band struct{ f, bw, db float64 }

// phone holds the targets of one ARPAbet symbol for an adult man.
//
// Formant targets, bandwidths: Klatt 1980, Tables II and III, several moved
// towards the means of Hillenbrand et al. 1995 where that made words easier to
// recognise. Inherent and minimum durations: Klatt's rules as printed in
// Allen, Hunnicutt & Klatt 1987, Table 9-1. Noise spectra and levels: set by
// us near the measurements of Jongman et al. 2000 (fricatives) and Zue 1976
// (bursts, voice onset times). Those are of words said with care: as in running
// speech, where the voice sets in sooner (Lisker & Abramson 1967, from memory), voiceless
// onset times are two thirds of Zue's, and bursts lie 3 to 7 dB lower. AO stands
// near the mean of Peterson & Barney 1952 for men.
//
// The voicing of v, dh and z, the length of z, l, sh and ng, the murmur of ng and where ay
// glides were set by what open recordings hold (a LibriVox reader, telephone prompts),
// aligned phone by phone with the same words said by a talker.
type phone struct {
	name   string
	class  class
	place  place
	voiced bool
	f      [3]float64 // targets at the start, Hz
	off    [3]float64 // and at the end
	bw     [3]float64
	inh    float64 // inherent duration, ms
	min    float64 // and least, ms
	ramp   float64 // length of the diphthong glide, ms
	mid    float64 // its centre as a fraction of the vowel
	av     float64 // voicing, dB re a vowel
	noise  float64 // frication or burst, dB re a steady vowel
	burst  float64 // length of the burst, ms
	vot    float64 // voice onset time, ms
	bands  []band
}

var (
	bandsF  = []band{{1300, 1600, 0}, {3500, 3500, 1}, {8000, 6000, 0}}
	bandsTH = []band{{1500, 1600, -4}, {4500, 4000, -1}, {8000, 5000, 0}}
	bandsS  = []band{{4700, 900, -4}, {6800, 2200, 0}, {9000, 3500, 0}, {13000, 6000, -6}}
	bandsSH = []band{{2550, 350, 0}, {3600, 700, 0}, {5600, 3000, -5}}
	bandsP  = []band{{900, 1200, 0}, {3000, 4000, -6}}
	bandsT  = []band{{3700, 900, 0}, {5200, 2500, -3}}
	bandsD  = []band{{4000, 1800, 0}, {6500, 3500, -2}}
	bandsK  = []band{{0, 450, 0}, {4500, 2500, -17}} // the first follows F2 of the vowel
)

var phoneTable = []phone{
	{name: "IY", class: vowel, f: [3]float64{310, 2180, 2920}, off: [3]float64{290, 2260, 2920}, bw: [3]float64{42, 150, 380}, inh: 155, min: 55, ramp: 200, mid: .45},
	{name: "IH", class: vowel, f: [3]float64{420, 1880, 2570}, off: [3]float64{480, 1680, 2600}, bw: [3]float64{50, 100, 140}, inh: 135, min: 40, ramp: 90, mid: .65},
	{name: "EY", class: vowel, f: [3]float64{480, 1800, 2520}, off: [3]float64{330, 2150, 2600}, bw: [3]float64{65, 100, 200}, inh: 190, min: 100, ramp: 140, mid: .55},
	{name: "EH", class: vowel, f: [3]float64{530, 1750, 2500}, off: [3]float64{620, 1600, 2530}, bw: [3]float64{60, 90, 200}, inh: 150, min: 70, ramp: 60, mid: .70},
	{name: "AE", class: vowel, f: [3]float64{690, 1720, 2430}, off: [3]float64{700, 1520, 2470}, bw: [3]float64{70, 120, 320}, inh: 230, min: 80, ramp: 100, mid: .75},
	{name: "AA", class: vowel, f: [3]float64{720, 1220, 2600}, off: [3]float64{720, 1220, 2600}, bw: [3]float64{100, 70, 160}, inh: 240, min: 100},
	{name: "AO", class: vowel, f: [3]float64{570, 850, 2570}, off: [3]float64{570, 900, 2600}, bw: [3]float64{90, 100, 80}, inh: 240, min: 100, ramp: 110, mid: .80},
	{name: "AH", class: vowel, f: [3]float64{620, 1220, 2550}, off: [3]float64{620, 1220, 2550}, bw: [3]float64{80, 70, 140}, inh: 140, min: 60},
	{name: "AX", class: vowel, f: [3]float64{510, 1380, 2500}, off: [3]float64{510, 1380, 2500}, bw: [3]float64{80, 70, 140}, inh: 120, min: 60},
	{name: "OW", class: vowel, f: [3]float64{540, 1100, 2300}, off: [3]float64{450, 900, 2300}, bw: [3]float64{80, 70, 70}, inh: 220, min: 80, ramp: 150, mid: .50},
	{name: "UH", class: vowel, f: [3]float64{450, 1100, 2350}, off: [3]float64{500, 1180, 2390}, bw: [3]float64{60, 100, 80}, inh: 160, min: 60, ramp: 90, mid: .65},
	{name: "UW", class: vowel, f: [3]float64{350, 1250, 2200}, off: [3]float64{320, 900, 2200}, bw: [3]float64{65, 110, 140}, inh: 210, min: 70, ramp: 140, mid: .55},
	{name: "ER", class: vowel, f: [3]float64{470, 1270, 1600}, off: [3]float64{420, 1310, 1600}, bw: [3]float64{65, 60, 110}, inh: 180, min: 80},
	{name: "AY", class: vowel, f: [3]float64{660, 1200, 2550}, off: [3]float64{400, 1950, 2500}, bw: [3]float64{85, 90, 200}, inh: 250, min: 150, ramp: 100, mid: .66},
	{name: "AW", class: vowel, f: [3]float64{640, 1230, 2550}, off: [3]float64{420, 940, 2350}, bw: [3]float64{80, 70, 110}, inh: 260, min: 100, ramp: 120, mid: .70},
	{name: "OY", class: vowel, f: [3]float64{550, 960, 2400}, off: [3]float64{360, 1820, 2450}, bw: [3]float64{70, 50, 140}, inh: 280, min: 150, ramp: 150, mid: .60},

	{name: "W", class: glide, f: [3]float64{290, 610, 2150}, bw: [3]float64{50, 80, 60}, inh: 80, min: 60, av: -4},
	{name: "Y", class: glide, f: [3]float64{260, 2180, 3020}, bw: [3]float64{40, 160, 350}, inh: 90, min: 40, av: -5},
	{name: "R", class: glide, f: [3]float64{310, 1060, 1380}, bw: [3]float64{70, 100, 120}, inh: 80, min: 30, av: -4},
	{name: "L", class: glide, f: [3]float64{310, 1050, 2880}, bw: [3]float64{80, 100, 280}, inh: 105, min: 55, av: -0.5},

	{name: "M", class: nasal, place: labial, f: [3]float64{480, 1270, 2130}, bw: [3]float64{40, 200, 200}, inh: 70, min: 60, av: -1.5},
	{name: "N", class: nasal, place: alveolar, f: [3]float64{480, 1340, 2470}, bw: [3]float64{40, 300, 300}, inh: 75, min: 50, av: -1.5},
	{name: "NG", class: nasal, place: velar, f: [3]float64{480, 2000, 2900}, bw: [3]float64{110, 450, 500}, inh: 110, min: 70, av: -9},

	{name: "F", class: fricative, place: labial, f: [3]float64{340, 1100, 2080}, bw: [3]float64{200, 120, 150}, inh: 100, min: 80, noise: -26.5, bands: bandsF},
	{name: "V", class: fricative, place: labial, voiced: true, f: [3]float64{220, 1100, 2080}, bw: [3]float64{110, 90, 120}, inh: 70, min: 45, av: -14, noise: -38, bands: bandsF},
	{name: "TH", class: fricative, place: dental, f: [3]float64{320, 1290, 2540}, bw: [3]float64{200, 90, 200}, inh: 90, min: 60, noise: -31, bands: bandsTH},
	{name: "DH", class: fricative, place: dental, voiced: true, f: [3]float64{270, 1290, 2540}, bw: [3]float64{60, 80, 170}, inh: 60, min: 36, av: -16, noise: -40, bands: bandsTH},
	{name: "S", class: fricative, place: alveolar, f: [3]float64{320, 1390, 2530}, bw: [3]float64{200, 80, 200}, inh: 105, min: 80, noise: -4.5, bands: bandsS},
	{name: "Z", class: fricative, place: alveolar, voiced: true, f: [3]float64{240, 1390, 2530}, bw: [3]float64{70, 60, 180}, inh: 85, min: 50, av: -14, noise: -10.5, bands: bandsS},
	{name: "SH", class: fricative, place: palatal, f: [3]float64{300, 1840, 2750}, bw: [3]float64{200, 100, 300}, inh: 125, min: 80, noise: -8, bands: bandsSH},
	{name: "ZH", class: fricative, place: palatal, voiced: true, f: [3]float64{260, 1840, 2750}, bw: [3]float64{60, 80, 270}, inh: 70, min: 40, av: -9, noise: -14, bands: bandsSH},

	{name: "CH", class: affricate, place: palatal, f: [3]float64{350, 1800, 2820}, bw: [3]float64{200, 90, 300}, inh: 140, min: 100, noise: -9, burst: 15, bands: bandsSH},
	{name: "JH", class: affricate, place: palatal, voiced: true, f: [3]float64{260, 1800, 2820}, bw: [3]float64{60, 80, 270}, inh: 115, min: 80, av: -14, noise: -12.5, burst: 10, bands: bandsSH},

	{name: "P", class: stop, place: labial, f: [3]float64{400, 1100, 2150}, bw: [3]float64{300, 150, 220}, inh: 90, min: 50, noise: -12.5, burst: 5, vot: 38, bands: bandsP},
	{name: "B", class: stop, place: labial, voiced: true, f: [3]float64{200, 1100, 2150}, bw: [3]float64{60, 110, 130}, inh: 85, min: 60, av: -14, noise: -18, burst: 5, vot: 13, bands: bandsP},
	{name: "T", class: stop, place: alveolar, f: [3]float64{400, 1600, 2600}, bw: [3]float64{300, 120, 250}, inh: 75, min: 50, noise: -8, burst: 15, vot: 46, bands: bandsT},
	{name: "D", class: stop, place: alveolar, voiced: true, f: [3]float64{200, 1600, 2600}, bw: [3]float64{60, 100, 170}, inh: 75, min: 50, av: -14, noise: -18, burst: 8, vot: 19, bands: bandsD},
	{name: "K", class: stop, place: velar, f: [3]float64{300, 1990, 2850}, bw: [3]float64{250, 160, 330}, inh: 80, min: 60, noise: -8, burst: 25, vot: 47, bands: bandsK},
	{name: "G", class: stop, place: velar, voiced: true, f: [3]float64{200, 1990, 2850}, bw: [3]float64{60, 150, 280}, inh: 80, min: 60, av: -14, noise: -12, burst: 20, vot: 30, bands: bandsK},

	{name: "HH", class: breathy, f: [3]float64{500, 1500, 2500}, bw: [3]float64{250, 120, 160}, inh: 80, min: 20},
	{name: "DX", class: flap, place: alveolar, voiced: true, f: [3]float64{250, 1700, 2600}, bw: [3]float64{80, 120, 200}, inh: 28, min: 24, av: -8},
}

// locus gives, for a place of articulation, where F2 and F3 head at a closure
// (locus equations: boundary = slope·vowel + (1-slope)·locus; slopes near
// Sussman et al. 1991, loci set by us) and how long the movement takes.
type locus struct {
	f2, k2, f3, k3, f1, k1, ms float64
}

var loci = map[place]locus{
	labial:   {820, .75, 2150, .5, 220, .45, 40},
	dental:   {1350, .5, 2540, .5, 220, .45, 50},
	alveolar: {1880, .43, 2650, .5, 220, .45, 50},
	palatal:  {2000, .4, 2700, .5, 220, .45, 50},
	velar:    {2500, .7, 2700, .5, 220, .45, 60},
}

var velarBack = locus{1400, .9, 1900, .5, 220, .45, 60}

var phones = func() map[string]*phone {
	m := make(map[string]*phone, len(phoneTable))
	for i := range phoneTable {
		p := &phoneTable[i]
		if p.class != vowel {
			p.off = p.f
			p.voiced = p.voiced || p.class == glide || p.class == nasal
		} else {
			p.voiced = true
		}
		m[p.name] = p
	}
	return m
}()
