package program

import (
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
)

// Voices implements kit.Shell.
func (p *Program) Voices() kit.Voices { return &p.voices }

// Has implements kit.Shell.
func (p *Program) Has(tab string) bool { return p.at(tab) >= 0 }

// Ask implements kit.Shell.
func (p *Program) Ask(words, yes, no string, do func() error) {
	p.offer.put(words, yes, no, do, func() {})
	if p.offer.from != "" {
		p.router.SetFocus(idSoundYes)
	}
}

// OutputS implements kit.Shell.
func (p *Program) OutputS() float64 {
	n := p.buffer
	if q, ok := p.queue(); ok {
		n = q.Depth
	}
	return float64(n) / bench.Rate
}

// Visit implements kit.Shell.
func (p *Program) Visit(to string) error {
	i := p.at(to)
	if i < 0 {
		return fmt.Errorf("there is no scene %q", to)
	}
	if p.mayGo(i) {
		p.show(i)
	}
	return nil
}
