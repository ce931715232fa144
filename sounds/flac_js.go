//go:build js

package sounds

// The required version of the FLAC library does not compile for the browser.
func (r *Reader) openFLAC(int64) (decoder, error) {
	return nil, badInput("is a FLAC file, which cannot be read in the browser: convert it to WAV, or use the command line")
}
