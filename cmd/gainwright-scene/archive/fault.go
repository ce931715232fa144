package archive

import (
	"errors"
	"fmt"
)

// Why something is not kept or not found: one sentence each, with a way on.
var (
	ErrForbidden = errors.New("the browser keeps nothing for this page, as in a private window or where its settings forbid it: save it to a file")
	ErrFull      = errors.New("the browser has no room left for it: delete something that is kept here, or save it to a file")
	ErrNewer     = errors.New("a newer version of this page runs in another tab: load this page again; what is kept is safe")
	ErrBlocked   = errors.New("another tab, of an older version of this page, holds what is kept: close it and try again; what is kept is safe")
)

// Explain says why the browser's database failed, by the name of the exception (W3C, Indexed
// Database API, and the names of Web IDL) and its words.
func Explain(name, words string) error {
	switch name {
	case "QuotaExceededError":
		return ErrFull
	case "SecurityError", "NotAllowedError", "InvalidStateError", "TypeError":
		return ErrForbidden
	case "VersionError":
		return ErrNewer
	}
	if words == "" {
		words = name
	}
	return fmt.Errorf("the browser's memory failed (%s): try again, or save it to a file", words)
}
