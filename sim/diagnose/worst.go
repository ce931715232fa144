package diagnose

import (
	"math"
)

// The places at which the wave would have risen highest are kept, with what is
// around them, and restored in the end: how high it would have gone is read from
// the restored peaks.
const (
	mostPlaces = 6
	aroundS    = 0.1     // on either side
	ringLength = 1 << 16 // samples that are remembered: more than looking lags behind, and one place
)

// place is a stretch of the recording around a cut top.
type place struct {
	at   int64 // of the top, in samples from the beginning
	rise float64
	have bool
	x    []float64
	from int64
}

type places struct {
	half int64
	ring []float64
	list [mostPlaces]place
	used int
	due  int64 // no place is complete before
}

func newPlaces(rate int) *places {
	p := &places{half: int64(aroundS * float64(rate)), ring: make([]float64, ringLength), due: math.MaxInt64}
	for i := range p.list {
		p.list[i].x = make([]float64, 0, 2*p.half)
	}
	return p
}

// remember takes the samples that end at total.
func (p *places) remember(x []float64, total int64) {
	at := int(total-int64(len(x))) & (ringLength - 1)
	n := copy(p.ring[at:], x)
	copy(p.ring, x[n:])
	if total >= p.due {
		p.complete(total, false)
	}
}

// add offers a top that would have risen by rise dB.
func (p *places) add(at int64, rise float64) {
	least := 0
	for i := range p.used {
		l := &p.list[i]
		if d := at - l.at; d < 2*p.half && d > -2*p.half {
			// Near enough to be in the middle of what is kept: it stays.
			if rise > l.rise && (d > p.half*3/4 || d < -p.half*3/4) {
				l.at, l.have = at, false
				p.due = min(p.due, at+p.half)
			}
			l.rise = max(l.rise, rise)
			return
		}
		if l.rise < p.list[least].rise {
			least = i
		}
	}
	if p.used < mostPlaces {
		least = p.used
		p.used++
	} else if rise <= p.list[least].rise {
		return
	}
	l := &p.list[least]
	l.at, l.rise, l.have = at, rise, false
	p.due = min(p.due, at+p.half)
}

// complete copies the surroundings of tops that have them now.
func (p *places) complete(total int64, last bool) {
	p.due = math.MaxInt64
	for i := range p.used {
		l := &p.list[i]
		if l.have {
			continue
		}
		if total < l.at+p.half && !last {
			p.due = min(p.due, l.at+p.half)
			continue
		}
		l.from = max(0, l.at-p.half)
		l.x = l.x[:0]
		for k := l.from; k < min(total, l.at+p.half); k++ {
			l.x = append(l.x, p.ring[k&(ringLength-1)])
		}
		l.have = true
	}
}

// run is a straight top of a place.
type run struct {
	start, end int
	up         bool
}
