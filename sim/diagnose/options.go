package diagnose

// Options say what is known about the file.
type Options struct {
	// FullScale is the magnitude from which a sample stands at full scale, such as
	// 1−2^−15 in a 16-bit file; 0 or infinite where there is none.
	FullScale float64
	// Step is the distance between neighbouring codes, 2^−15 in a 16-bit file; 0
	// for floating point.
	Step float64
	// Lossy tells that the file's own format is a lossy one.
	Lossy bool
}
