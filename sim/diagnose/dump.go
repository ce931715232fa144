package diagnose

import "fmt"

func (c *Channel) Dump() {
	c.finish()
	for k := range 2 {
		s := &c.sides[k]
		lv, share := s.flats.mode()
		fmt.Printf("  %d peak %.4f at %d runs %d kinks %d long %d flats %d longest %d mode %.4f %.2f tilt %.1f full %d/%d step %.2g\n", k, s.peak, s.atPeak, s.peakRuns, s.wallKinks, s.peakLongest, s.flats.n, s.flats.longest, lv, share, s.flats.tilt(), c.full, c.fullRuns, c.step)
	}
	h, ok := c.tones.find()
	hz, d := c.bands.edge()
	fmt.Printf("  hum %v %.0f Hz %.1f dB prom %.1f n %d; edge %.0f %.0f dB, talk %.1f snr %.1f dc %.4f\n", ok, h.hz, h.levelDB, h.prominent, h.harmonics, hz, d, c.stats.ActiveDB(), c.stats.SNRDB(), c.stats.DC())
}
