package repair

// markedAt marks what a ceiling at ±theta left at it.
func markedAt(y []float64, theta float64) *stretch {
	c := Known(y, theta)
	return c.stretch(y)
}
