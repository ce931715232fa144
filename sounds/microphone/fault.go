package microphone

import (
	"errors"
	"fmt"
)

// otherwise is the way on where nothing can be heard.
const otherwise = "open a recording, or take one of the talkers here"

// Why there is no microphone, or no longer: one sentence each, with a way on.
var (
	ErrRefused  = errors.New("the browser does not let this page listen: allow the microphone at the sign beside the address and ask again, or " + otherwise)
	ErrFramed   = errors.New("the page around this one does not lend it the microphone: open this page by itself, or " + otherwise)
	ErrNoDevice = errors.New("no microphone was found: connect one and ask again, or " + otherwise)
	ErrInUse    = errors.New("the microphone is there but gives no sound, perhaps to another program that uses it: close that one and ask again, or " + otherwise)
	ErrGone     = errors.New("the microphone has gone; what it heard until then is kept: connect it and ask again, or " + otherwise)
	ErrInsecure = errors.New("over plain http browsers lend no microphone: open this page by https or on this computer itself, or " + otherwise)
	ErrNone     = errors.New("this browser lends no microphone to pages: take another browser, or " + otherwise)
	ErrWorklet  = errors.New("this browser has no audio worklet, which listening needs: take a current one, or " + otherwise)
	ErrLibrary  = errors.New("the libraries of this window have no sound input: start the scene in a browser, or " + otherwise)
)

// Explain says why a browser gave no microphone, by the name of the exception that it threw
// (W3C, Media Capture and Streams, getUserMedia) and its words; framed tells that the page
// stands in another that lends it none.
func Explain(name, words string, framed bool) error {
	switch name {
	case "NotAllowedError", "SecurityError":
		if framed {
			return ErrFramed
		}
		return ErrRefused
	case "NotFoundError", "OverconstrainedError":
		return ErrNoDevice
	case "NotReadableError", "AbortError", "InvalidStateError":
		return ErrInUse
	}
	if words == "" {
		words = name
	}
	return fmt.Errorf("the browser gave no microphone (%s): ask again, or "+otherwise, words)
}
