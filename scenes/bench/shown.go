package bench

import "gainwright/sim"

// Mode is what a session is doing.
type Mode uint8

// The modes.
const (
	// ModeCheck is the sound check: the talker talks, nothing is kept.
	ModeCheck Mode = iota
	// ModeRecord keeps everything.
	ModeRecord
	// ModeReview shows the last take and plays it; nobody talks.
	ModeReview
)

// Listen is what one hears.
type Listen uint8

// MaxStrips is how many strips run side by side at most, MinStrips at least.
const (
	MinStrips = 2
	MaxStrips = 4
)

// What one can listen to: a strip, counted from 0, the performance itself, or
// what a strip of the take became by mending.
const (
	ListenA Listen = iota
	ListenB
	ListenC
	ListenD
	ListenSpoken
	ListenMended
	NumListen
)

// StripView is what a strip shows at one moment.
type StripView struct {
	// Peak falls back like a meter's; RMS is slow and stands still in pauses.
	// Both in the station's unit.
	Peak, RMS [sim.NumStations]float64
	Loudest   // since the hold was last cleared
	// Meter reads the file, full scale = 1: now, held for 2 s, and what the
	// converter was asked for, held likewise.
	Meter, MeterHold, MeterWanted float64
	Overs                         int
	Reduction                     float64 // smallest amplitude ratio of either limiter lately
	Readings                      sim.Readings
}

// View is what a session shows at one moment.
type View struct {
	Frame   int64 // since the start
	Mode    Mode
	ModeRev uint64
	HoldRev uint64
	Take    int64 // frames of the take recorded, or the place played
	Strip   [MaxStrips]StripView
	Dropout int64 // frames for which the performance was not ready in time
	// Loudest is the frame of the loudest moment held.
	Loudest int64
	// Tenths are the last tenths of a second of the performance.
	Tenths Tenths
}

// Events are what a trainer can trigger, in the order of their buttons.
var Events = []string{"talk", "louder", "laugh", "lean_in", "cough"}

var eventWords = map[string]string{"talk": "talk", "louder": "louder", "laugh": "laugh", "lean_in": "leans in", "cough": "cough", Shout: "shout"}
