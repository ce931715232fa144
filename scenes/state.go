package scenes

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
	"gainwright/sounds/scenario"
)

// What a Host may do besides. All are optional.
type (
	// Linker is a Host that has an address: a link to a set-up is made of it, and
	// one that was followed is told.
	Linker interface {
		// Address is where the program is, without what a link carries.
		Address() string
		// Carried is what the link that was followed carries, or empty.
		Carried() string
	}
	// Calmer is a Host that knows whether the user wants little motion.
	Calmer interface {
		Calm() bool
	}
	// Tabbed is a Host of which several run at once and share what Store keeps, as
	// the tabs of a browser do.
	Tabbed interface {
		// LoadOwn and StoreOwn are as Load and Store, but of this one alone: what is
		// stored so outlives a reload and ends with the tab.
		LoadOwn(key string) string
		StoreOwn(key, value string)
		// Elsewhere gives a key that another one has stored, each once; false when
		// there are no more.
		Elsewhere() (key string, ok bool)
	}
	// Chancer is a Host that knows a number that is another one each time.
	Chancer interface {
		Chance() uint64
	}
)

// linkMark stands before what a link carries.
const linkMark = "#setup="

// maxCarried bounds what is read of a link, and of the memory of an earlier visit.
const maxCarried = 64 << 10

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
			return fmt.Errorf("strip %s: %w", stripNames[i], err)
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
	if len(s) > maxCarried {
		return p, errors.New("the link is too long to carry a set-up")
	}
	z, err := base64.RawURLEncoding.DecodeString(strings.TrimRight(s, "="))
	if err != nil {
		return p, errors.New("the link carries something that is no set-up")
	}
	b, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(z)), maxCarried))
	if err != nil {
		return p, errors.New("the link carries a set-up that is cut short")
	}
	return p, json.Unmarshal(b, &p)
}

// Scenario writes a set-up as a scenario file. It has no word for locks; a safety
// track is a strip like the others there.
func (p Setup) Scenario() ([]byte, error) {
	s := scenario.New()
	s.Title = "Set-up from the bench"
	s.Seed = max(p.Seed, 1) & scenario.MaxSeed
	s.Source.Talker = p.Talker
	s.Base = p.Chain[0]
	s.Strips = nil
	for i := range p.N {
		s.Strips = append(s.Strips, scenario.Strip{Name: stripNames[i], Chain: p.Chain[i]})
	}
	return s.Marshal()
}

// FromScenario takes a set-up out of a scenario file: its first four strips, and
// its talker if it has one.
func FromScenario(name string, data []byte, now Setup) (Setup, error) {
	s, err := scenario.Parse(name, data)
	if err != nil {
		return now, err
	}
	p := Setup{N: min(max(len(s.Strips), MinStrips), MaxStrips), Talker: now.Talker, Surprise: now.Surprise}
	for i := range p.Chain {
		p.Chain[i] = s.Strips[min(i, len(s.Strips)-1)].Chain
	}
	if s.Source.File == "" && s.Source.Talker != "" {
		p.Talker = s.Source.Talker
	}
	return p, p.Validate()
}

// Keep keeps the set-up and the takes of this visit in the host's memory; a knob that
// is being turned comes to rest first.
func (g *gainScene) Keep(now float64) {
	if g.lent {
		return
	}
	if set := g.s.Setup(); set != g.stored && now > g.touched+0.5 {
		g.stored = set
		if b, err := json.Marshal(set); err == nil {
			g.store("setup", string(b))
		}
	}
	if g.s.recipeRev != g.storedRev {
		g.storedRev = g.s.recipeRev
		g.rememberTakes()
	}
}

// store keeps what belongs to this tab where a reload finds it, and for the next visit.
func (g *gainScene) store(key, value string) {
	if t, ok := g.p.Host().(Tabbed); ok {
		t.StoreOwn(key, value)
	}
	g.p.Host().Store(key, value)
}

// own keeps what this tab begins with where its reload finds it, whatever other tabs
// do meanwhile. What a link carried is so kept, too, though for other visits only once
// something was done with it.
func (g *gainScene) own() {
	t, ok := g.p.Host().(Tabbed)
	if !ok {
		return
	}
	if b, err := json.Marshal(g.s.Setup()); err == nil {
		t.StoreOwn("setup", string(b))
	}
	if g.storedTakes != "" {
		t.StoreOwn("takes", g.storedTakes)
	}
}

// recalled is what belongs to this tab, and at a new visit what was stored last.
func (g *gainScene) recalled(key string) string {
	if t, ok := g.p.Host().(Tabbed); ok {
		if v := t.LoadOwn(key); v != "" {
			return v
		}
	}
	return g.p.Host().Load(key)
}

func (g *gainScene) rememberTakes() {
	var keep []Recipe
	for _, r := range g.s.Recipes() {
		if r.Perf.File == "" {
			keep = append(keep, r)
		}
	}
	for len(keep) > 0 {
		b, err := json.Marshal(keep)
		if err == nil && len(b) <= maxCarried {
			if s := string(b); s != g.storedTakes {
				g.storedTakes = s
				g.store("takes", s)
			}
			return
		}
		keep = keep[1:]
	}
}

// recall takes over what an earlier visit left, or what the link carries.
func (g *gainScene) recall() {
	h := g.p.Host()
	carried := ""
	if l, ok := h.(Linker); ok {
		carried = l.Carried()
	}
	if b := g.recalled("setup"); b != "" && len(b) <= maxCarried {
		var p Setup
		// What cannot be read is as at a first visit.
		if json.Unmarshal([]byte(b), &p) == nil {
			_ = g.s.SetSetup(p)
		}
	}
	if b := g.recalled("takes"); b != "" && len(b) <= maxCarried {
		g.storedTakes = b
		var rs []Recipe
		if json.Unmarshal([]byte(b), &rs) == nil {
			ok := rs[:0]
			for _, r := range rs {
				if r.Validate() == nil && len(ok) < maxRecipes {
					ok = append(ok, r)
				}
			}
			g.s.SetRecipes(ok)
			// The last take is there again, and shown; whoever followed a link wants
			// to see what that carries.
			if n := len(ok); n > 0 && g.s.Restore(ok[n-1], carried != "") == nil {
				g.status = remakingWords(ok[n-1].Number)
			}
		}
	}
	defer g.own()
	if carried == "" {
		return
	}
	p, err := Unpack(strings.TrimPrefix(carried, linkMark))
	if err == nil {
		err = g.s.SetSetup(p)
	}
	if err != nil {
		g.p.Fail(fmt.Errorf("the link's set-up was not taken over: %w", err))
		return
	}
	g.status = "This set-up came with the link."
}

// link makes a link that carries the set-up.
func (g *gainScene) link() (string, error) {
	l, ok := g.p.Host().(Linker)
	if !ok {
		return "", errors.New("this program has no address that could carry a set-up; save it as a file instead")
	}
	s, err := g.s.Setup().Pack()
	if err != nil {
		return "", err
	}
	return l.Address() + linkMark + s, nil
}
