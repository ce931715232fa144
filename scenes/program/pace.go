package program

// calmStep is how often, in seconds, a picture that moves by itself is drawn for
// those who want little motion: levels then step instead of rising and falling back.
const calmStep = 0.5

// pace is when a picture is drawn.
type pace struct {
	owed   bool // the picture has moved since it was drawn
	stepAt float64
}

// step tells whether to draw: what the user did, at once; what moves by itself, at
// every frame or, where little motion is wanted, now and then.
func (p *pace) step(calm, moves, acted bool, now float64) bool {
	if !calm {
		return moves || acted
	}
	p.owed = p.owed || moves
	if !acted && (!p.owed || now < p.stepAt+calmStep && now >= p.stepAt) {
		return false
	}
	p.owed, p.stepAt = false, now
	return true
}
