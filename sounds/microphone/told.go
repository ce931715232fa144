package microphone

// A Processing is whether a browser says that it shapes the sound in some way. What it does
// not tell is not off.
type Processing uint8

// What may be told of it.
const (
	NotTold Processing = iota
	Off
	On
)

// Told is what a browser tells of an opened input.
type Told struct {
	Label             string // of the device, as the system calls it
	Echo, Noise, Gain Processing
	Rate              int     // Hz
	LatencyS          float64 // from air to Read
}

// A State is how an input stands.
type State uint8

// States. Ended is final.
const (
	Asking State = iota
	Running
	Suspended // the system holds the sound; it may go on
	Ended
)
