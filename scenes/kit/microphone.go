package kit

import "gainwright/sounds/microphone"

// Processing is whether a browser says that it shapes the sound in some way. What it does
// not tell is not off.
type Processing = microphone.Processing

// What may be told of it.
const (
	NotTold = microphone.NotTold
	SaidOff = microphone.Off
	SaidOn  = microphone.On
)

// Opened is what is known of a microphone that was opened.
type Opened struct {
	Label string // of the device, as the system calls it
	// Echo, Noise and Gain are cancellation of echo, suppression of noise and automatic
	// gain, read back from the browser.
	Echo, Noise, Gain Processing
	DeviceRate        int     // Hz
	LatencyS          float64 // from air to Read, as far as known
}

// A MicState is how an opened or asked for microphone stands.
type MicState = microphone.State

// States. Ended is final: Err says why.
const (
	MicAsking    = microphone.Asking
	MicRunning   = microphone.Running
	MicSuspended = microphone.Suspended // the system holds the sound; it may go on
	MicEnded     = microphone.Ended
)

// MicReport is what a Microphone tells of itself.
type MicReport struct {
	State  MicState
	Err    error  // one sentence for a reader and a way on, when it has ended
	Opened Opened // of a running one
	// Breaks counts gaps in what came, LostS is their length. DriftPPM is by how much
	// the input's clock is ahead of the session's, as absorbed so far.
	Breaks   int64
	LostS    float64
	DriftPPM float64
}

// A Microphone lends a voice to the bench. All methods return at once and are called
// from the screen's goroutine or from the sound's, which in a browser are one.
type Microphone interface {
	Report() MicReport
	// Read gives what came since the last Read, one channel at the session's 48 kHz, full
	// scale ±1, at most len(dst); fewer, or none, where no more is there. What nobody
	// reads for long is dropped.
	Read(dst []float64) int
	// Pull gives exactly len(dst) for a strip that runs live: paced by who pulls,
	// which a slowly changing resampling ratio absorbs. A shortage is a break: it is
	// faded and counted.
	Pull(dst []float64)
	// Close lets the device go: the browser's sign that it is recording goes out.
	Close()
}

// A Listener is a Host that can ask for a microphone. It asks only when told to.
type Listener interface {
	// Listen asks; live for what is pulled as it comes, else for what is read whole.
	Listen(live bool) Microphone
}

// An Archivist is a Host that keeps what is too large for Store, in this browser only.
// Each answer comes once.
type Archivist interface {
	Keep(name string, data []byte) <-chan error
	Kept() <-chan KeptNames
	Fetch(name string) <-chan KeptData
	Forget(name string) <-chan error
}

// KeptNames are the names of what an Archivist keeps.
type KeptNames struct {
	Names []string
	Err   error
}

// KeptData is one of them.
type KeptData struct {
	Data []byte
	Err  error
}
