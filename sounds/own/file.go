package own

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// chunk is the name of the part of the WAV file that says what is where in it. Programs
// that do not know it pass over it, as RIFF demands.
const chunk = "gwov"

// MostSeconds is how long a performance is at most.
const MostSeconds = 90

// ErrPlain is for a WAV file that holds a recording and no performance: nothing says
// which part of it is what.
var ErrPlain = errors.New("this is a recording; nothing in it says where the talk and the laugh are")

// head is what the chunk holds.
type head struct {
	Version  int               `json:"version"`
	Name     string            `json:"name"`
	Parts    map[string][2]int `json:"parts"` // frames
	Told     Told              `json:"browser"`
	LouderDB float64           `json:"louder_db,omitempty"`
	DBSPL    float64           `json:"talk_db_spl,omitempty"`
}

// Settle rounds the samples to what Pack keeps, 24 bits, so that what is performed
// now and what is performed from the file are the same to the sample.
func (p *Performance) Settle() {
	const full = 1 << 23
	for i, v := range p.Samples {
		p.Samples[i] = float32(math.Round(max(-full, min(full-1, float64(v)*full))) / full)
	}
}

// Pack makes a WAV file of 24 bits of a settled performance, with what is where in it.
func (p *Performance) Pack() ([]byte, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	h := head{Version: 1, Name: p.Name, Parts: map[string][2]int{}, Told: p.Told, LouderDB: p.LouderDB, DBSPL: p.MeasuredDBSPL}
	for k, s := range p.Parts {
		if s.Len() > 0 {
			h.Parts[Part(k).String()] = [2]int{s.From, s.To}
		}
	}
	text, err := json.Marshal(h)
	if err != nil {
		return nil, err
	}
	x := make([]float64, len(p.Samples))
	for i, v := range p.Samples {
		x[i] = float64(v)
	}
	wav, err := codec.WAVBytes(Rate, [][]float64{x}, codec.PCM24)
	if err != nil {
		return nil, err
	}
	wav = append(wav, chunk...)
	wav = binary.LittleEndian.AppendUint32(wav, uint32(len(text)))
	wav = append(wav, text...)
	if len(text)%2 == 1 {
		wav = append(wav, 0)
	}
	binary.LittleEndian.PutUint32(wav[4:], uint32(len(wav)-8))
	return wav, nil
}

// Unpack reads what Pack has made. name is for messages.
func Unpack(name string, data []byte) (*Performance, error) {
	text, err := find(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var h head
	if err := json.Unmarshal(text, &h); err != nil {
		return nil, fmt.Errorf("%s: what is where in it cannot be read: %w", name, err)
	}
	if h.Version != 1 {
		return nil, fmt.Errorf("%s: made by a later version of this program (%d)", name, h.Version)
	}
	r, err := sounds.OpenBytes(name, data)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if i := r.Info(); i.Rate != Rate || i.Channels != 1 || i.Frames > MostSeconds*Rate {
		return nil, fmt.Errorf("%s: a voice is one channel at 48 kHz, %d s at most", name, MostSeconds)
	}
	chs, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	p := &Performance{Name: h.Name, Told: h.Told, LouderDB: h.LouderDB, MeasuredDBSPL: h.DBSPL, Samples: make([]float32, len(chs[0]))}
	for i, v := range chs[0] {
		p.Samples[i] = float32(v)
	}
	for k := range NumParts {
		if s, ok := h.Parts[k.String()]; ok {
			p.Parts[k] = Span{s[0], s[1]}
		}
	}
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return p, nil
}

// find gives the text of the chunk.
func find(data []byte) ([]byte, error) {
	if len(data) < 12 || !bytes.Equal(data[:4], []byte("RIFF")) || !bytes.Equal(data[8:12], []byte("WAVE")) {
		return nil, ErrPlain
	}
	for at := 12; at+8 <= len(data); {
		n := int(binary.LittleEndian.Uint32(data[at+4:]))
		if n < 0 || n > len(data)-at-8 {
			return nil, ErrPlain
		}
		if string(data[at:at+4]) == chunk {
			return data[at+8 : at+8+n], nil
		}
		at += 8 + n + n%2
	}
	return nil, ErrPlain
}
