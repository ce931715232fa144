//go:build !amd64

package rfft

// wide is vector code, which there is none of for this processor.
type wide struct{}

func newWide(*Transform) *wide                                  { return nil }
func (*wide) forward(*Transform) []complex128                   { panic("rfft: no vector code") }
func (*wide) unfold(_, _ []complex128) int                      { panic("rfft: no vector code") }
func (*wide) fold(_, _ []complex128) int                        { panic("rfft: no vector code") }
func (*wide) conjugate(_ []float64, _ []complex128) (pairs int) { panic("rfft: no vector code") }
