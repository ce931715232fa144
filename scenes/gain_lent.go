package scenes

// lend leaves the scene to a lesson or to practice, which puts its own take and
// settings on the bench; restore takes it back.
func (g *gainScene) lend() {
	g.lent = true
	g.blind.close()
	g.dropCaution()
	g.said = g.status
}

func (g *gainScene) restore() {
	g.lent = false
	g.names = [MaxStrips]string{}
	g.status = g.said
}

// cautions reports whether a caution waits for an answer; dropCaution takes it away.
func (g *gainScene) cautions() bool { return g.caution }

func (g *gainScene) dropCaution() { g.caution, g.afterCaution = false, nil }

// told keeps the result of the take on the bench from being told again; tellAnew has
// it told anew.
func (g *gainScene) told() { g.wave.known = g.s.Take() }

func (g *gainScene) tellAnew() { g.wave.known = nil }

// say puts words where the results stand.
func (g *gainScene) say(words string) { g.status = words }

// showStrip shows strip i in the diagram and the waves.
func (g *gainScene) showStrip(i int) { g.shown = i }

// nameStrips gives strips names of their own; "" is the usual one.
func (g *gainScene) nameStrips(names [MaxStrips]string) { g.names = names }
