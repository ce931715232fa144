package bench

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"gainwright/sim"
	"gainwright/sounds/voice"
)

// Setup is all that can be set on the bench and undone again: plain, comparable
// values.
type Setup struct {
	N      int // strips in use
	Chain  [MaxStrips]sim.Chain
	Locked [MaxStrips]bool
	// Safety is 0, or 1 + the strip that this one follows SafetyDB lower.
	Safety [MaxStrips]int
	Talker string
	// Seed of the performances; 0 for a new one with each take.
	Seed uint64
	// Surprise lets things happen unasked while a take is recorded.
	Surprise bool
}

// SyncSafety sets the safety tracks by the strips that they follow.
func (p *Setup) SyncSafety() {
	for i := range p.N {
		if k := p.Safety[i]; k > 0 && k <= p.N && k-1 != i {
			p.Chain[i] = p.Chain[k-1].WithPlace(sim.LimiterOff)
			p.Chain[i].Preamp.GainDB -= SafetyDB
		}
	}
}

// Validate returns nil, or what is wrong with the set-up.
func (p *Setup) Validate() error {
	// A lesson may do with a single strip.
	if p.N < 1 || p.N > MaxStrips {
		return fmt.Errorf("%d strips: there are %d to %d", p.N, MinStrips, MaxStrips)
	}
	for i := range p.N {
		if err := p.Chain[i].Validate(); err != nil {
			return fmt.Errorf("strip %s: %w", StripNames[i], err)
		}
		if k := p.Safety[i]; k != 0 && (k < 1 || k > p.N || k-1 == i || p.Safety[k-1] != 0) {
			return fmt.Errorf("strip %s follows a strip that there is not, or that follows another", StripNames[i])
		}
	}
	if _, err := voice.Find(p.Talker); err != nil {
		return err
	}
	return nil
}

// MaxCarried bounds what is read of a link, and of the memory of an earlier visit.
const MaxCarried = 64 << 10

// stored is a set-up as a link and the host's memory hold it.
type stored struct {
	Version  int           `json:"v"`
	Talker   string        `json:"talker"`
	Seed     uint64        `json:"seed,omitempty"`
	Surprise bool          `json:"surprise,omitempty"`
	Strips   []storedStrip `json:"strips"`
}

type storedStrip struct {
	Chain  sim.Chain `json:"chain"`
	Locked bool      `json:"locked,omitempty"`
	Safety int       `json:"safety,omitempty"`
}

// MarshalJSON writes the strips in use.
func (p Setup) MarshalJSON() ([]byte, error) {
	s := stored{Version: 1, Talker: p.Talker, Seed: p.Seed, Surprise: p.Surprise}
	for i := range p.N {
		s.Strips = append(s.Strips, storedStrip{p.Chain[i], p.Locked[i], p.Safety[i]})
	}
	return json.Marshal(s)
}

// UnmarshalJSON reads what MarshalJSON writes; what is missing of a chain is as by
// default. A set-up that could not be is an error.
func (p *Setup) UnmarshalJSON(b []byte) error {
	var raw struct {
		Version  int    `json:"v"`
		Talker   string `json:"talker"`
		Seed     uint64 `json:"seed"`
		Surprise bool   `json:"surprise"`
		Strips   []struct {
			Chain  json.RawMessage `json:"chain"`
			Locked bool            `json:"locked"`
			Safety int             `json:"safety"`
		} `json:"strips"`
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&raw); err != nil {
		return fmt.Errorf("not a set-up: %w", err)
	}
	if raw.Version != 1 {
		return fmt.Errorf("a set-up of version %d, which this program does not know", raw.Version)
	}
	if len(raw.Strips) < MinStrips || len(raw.Strips) > MaxStrips {
		return fmt.Errorf("a set-up of %d strips: there are %d to %d", len(raw.Strips), MinStrips, MaxStrips)
	}
	n := Setup{N: len(raw.Strips), Talker: raw.Talker, Seed: raw.Seed, Surprise: raw.Surprise}
	for i := range n.Chain {
		n.Chain[i] = sim.Default()
	}
	for i, s := range raw.Strips {
		n.Locked[i], n.Safety[i] = s.Locked, s.Safety
		if len(s.Chain) == 0 {
			continue
		}
		d := json.NewDecoder(bytes.NewReader(s.Chain))
		d.DisallowUnknownFields()
		if err := d.Decode(&n.Chain[i]); err != nil {
			return fmt.Errorf("strip %s: %w", StripNames[i], err)
		}
	}
	if err := n.Validate(); err != nil {
		return err
	}
	*p = n
	return nil
}

// Pack writes a set-up short enough for a link: JSON, deflated, in the alphabet of
// base64url.
func (p Setup) Pack() (string, error) {
	b, err := json.Marshal(p)
	if err != nil {
		return "", err
	}
	var z bytes.Buffer
	w, err := flate.NewWriter(&z, flate.BestCompression)
	if err != nil {
		return "", err
	}
	if _, err := w.Write(b); err != nil {
		return "", err
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(z.Bytes()), nil
}

// Unpack reads what Pack writes.
func Unpack(s string) (Setup, error) {
	var p Setup
	if len(s) > MaxCarried {
		return p, errors.New("the link is too long to carry a set-up")
	}
	z, err := base64.RawURLEncoding.DecodeString(strings.TrimRight(s, "="))
	if err != nil {
		return p, errors.New("the link carries something that is no set-up")
	}
	b, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(z)), MaxCarried))
	if err != nil {
		return p, errors.New("the link carries a set-up that is cut short")
	}
	return p, json.Unmarshal(b, &p)
}
