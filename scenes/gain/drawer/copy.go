package drawer

import "gainwright/sim"

// CopyStation gives dst the settings of one station of src.
func CopyStation(dst, src *sim.Chain, st sim.Station) {
	switch st {
	case sim.AtMicOut:
		dst.Microphone = src.Microphone
	case sim.AtPreamp:
		gain := dst.Preamp.GainDB
		dst.Preamp = src.Preamp
		dst.Preamp.GainDB = gain
	case sim.AtInputLimiter:
		dst.InputLimiter = src.InputLimiter
		dst.Limiter.On = src.Limiter.On
	case sim.AtConverter:
		dst.Converter = src.Converter
	case sim.AtLimiter:
		dst.Limiter = src.Limiter
		dst.InputLimiter.On = src.InputLimiter.On
	case sim.AtFile:
		dst.File = src.File
	}
}
