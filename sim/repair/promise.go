package repair

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
	"gainwright/sim/repair/restore"
)

// What declipping may promise of a take whose truth nobody has is the gain that nine of
// ten takes of other speakers reached, of which it said the same: how far two of its own
// estimates are apart, and how much it thinks was cut off. promise_table.go has the
// figures;
//
//	go run ./tests/repair/light --calibrate
//
// measures them anew, as is due after any change to package restore.

// A Promise is how the promised gain, dB, follows from what is seen of a take: the sum of
// Base, PerApart for each dB of agreement between the estimates, and PerSDR for each dB of
// the estimated input SDR.
type Promise struct{ Base, PerApart, PerSDR float64 }

// Promises are those of an effort, Low for rates up to 24 kHz, where less comes back.
type Promises struct{ Low, High Promise }

// Of is the one for recordings of rate Hz.
func (p Promises) Of(rate int) Promise {
	if restore.Wide(rate) {
		return p.High
	}
	return p.Low
}

// PromisesOf are what an effort promises.
func PromisesOf(e restore.Effort) Promises { return promises[e] }

// Up to where what is seen of a take tells anything.
const (
	MostAgreement = 40.0 // dB; closer than that says no more
	MostSDR       = 30.0 // dB, likewise
	mostPromise   = 20.0 // dB; what is better is not told apart
	leastPromise  = 1.0  // dB; less is no promise
)

// At is the promise, dB, 0 or more, for an agreement and an estimated input SDR, dB.
func (p Promise) At(agreement, sdr float64) float64 {
	return min(max(p.Plane(agreement, sdr), 0), mostPromise)
}

// Plane is the same without bounds.
func (p Promise) Plane(agreement, sdr float64) float64 {
	return p.Base + p.PerApart*clamp(agreement, MostAgreement) + p.PerSDR*clamp(sdr, MostSDR)
}

// clamp holds v within 0 and most; what is no number counts as most, as two estimates
// alike have it.
func clamp(v, most float64) float64 {
	if v != v {
		return most
	}
	return min(max(v, 0), most)
}

// Report is of a take that was declipped in parts, with tops of that kind, at rate Hz.
func (d *DeclipTotals) Report(kind Flatness, rate int) Report {
	return Report{Treatment: declipName, Verdict: d.Verdict(kind), Numbers: d.Numbers(rate), doubt: d.doubt}
}

// Heed adds what a report of declipping says of how sure it is; totals of several
// stretches or channels are as sure as their estimates together.
func (d *DeclipTotals) Heed(rep Report) {
	if !rep.doubt.told {
		return
	}
	d.doubt = doubt{d.doubt.Plus(rep.doubt.Doubt), rep.doubt.effort, rep.doubt.rate, true}
}

// AgreementDB is by how much what was added is above what two estimates of it are apart,
// dB; not a number where there is but one, or nothing was added.
func (d *DeclipTotals) AgreementDB() float64 {
	if d.doubt.Added == 0 {
		return math.NaN()
	}
	return meter.PowerDB(d.doubt.Added / d.doubt.Apart)
}

// PromisedGainDB is by how much the error fell at least in nine of ten takes that looked
// like this one, dB; 0 for no promise.
func (d *DeclipTotals) PromisedGainDB() float64 {
	if !d.doubt.told || d.filled == 0 || d.unlike() {
		return 0
	}
	return promises[d.doubt.effort].Of(d.doubt.rate).At(d.AgreementDB(), d.SDR())
}

// heldPercent is by how much less was added than the better estimate says, in percent.
func (d *DeclipTotals) heldPercent() float64 {
	if d.doubt.Added == 0 {
		return 0
	}
	return 100 * max(0, 1-math.Sqrt(d.doubt.Kept/d.doubt.Added))
}

func (d *DeclipTotals) promiseNumbers() []Number {
	n := []Number{{"promised_gain_db", d.PromisedGainDB()}}
	if a := d.AgreementDB(); a == a {
		n = append(n, Number{"estimates_agree_db", a}, Number{"held_back_percent", d.heldPercent()})
	}
	return n
}

// Promised says, after a space, what may be hoped for.
func (d *DeclipTotals) Promised() string {
	p := d.PromisedGainDB()
	if p < leastPromise {
		return " How much of the error is gone cannot be promised."
	}
	return fmt.Sprintf(" At most %.0f %% of the error should be left: so it was in nine of ten takes that looked like this.", roundedUp(100*math.Pow(10, -p/10)))
}

// roundedUp is the next of a few plain percentages from v on.
func roundedUp(v float64) float64 {
	for _, n := range []float64{1, 2, 3, 5, 7, 10, 15, 20, 25, 30, 40, 50, 60, 70} {
		if v <= n+1e-9 {
			return n
		}
	}
	return 80
}

// lost says what did not come back, at an estimated input SDR, dB.
func (d *DeclipTotals) lost(in float64) string {
	var s string
	switch {
	case in >= 15:
		s = "It is still a guess: single peaks may be wrong."
	case in >= 7:
		s = "Some roughness stays on the loudest sounds."
	default:
		s = "The loud passages stay audibly distorted; use it if there is nothing else."
	}
	return s + d.heldWords()
}

// heldWords says, after a space, that less was added than might have been.
func (d *DeclipTotals) heldWords() string {
	if d.heldPercent() < 10 {
		return ""
	}
	return " Where two ways of reckoning did not agree, or peaks came out higher than is likely, less was added."
}
