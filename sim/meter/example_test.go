package meter_test

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
)

// Ten seconds of a 997 Hz tone at −20 dBFS, fed in blocks as they come.
func Example() {
	const rate = 48000
	loud, err := meter.NewLoudness(rate, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	peak := meter.NewTruePeak(rate)
	block := make([]float64, 480)
	for start := 0; start < 10*rate; start += len(block) {
		for i := range block {
			block[i] = 0.1 * math.Sin(2*math.Pi*997*float64(start+i)/rate)
		}
		loud.WriteMono(block)
		peak.Write(block)
	}
	fmt.Printf("%.2f LUFS, %.1f dBTP\n", loud.Integrated(), peak.DB())
	// Output: -23.01 LUFS, -20.0 dBTP
}
