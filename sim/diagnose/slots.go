package diagnose

// slots say when things happened, in a fixed number of stretches of time that
// grow longer as the recording does.
type slots struct {
	width int64
	list  [mostSlots]slot
	used  int
}

const mostSlots = 2048

type slot struct {
	peak   float32
	tops   int32 // 10 ms blocks
	flats  int32
	cut    int32 // samples in them
	excess float32
}

func (s *slots) at(i int64) *slot {
	for i/s.width >= mostSlots {
		for k := range mostSlots / 2 {
			a, b := s.list[2*k], s.list[2*k+1]
			s.list[k] = slot{max(a.peak, b.peak), a.tops + b.tops, a.flats + b.flats, a.cut + b.cut, max(a.excess, b.excess)}
		}
		clear(s.list[mostSlots/2:])
		s.width *= 2
		s.used = (s.used + 1) / 2
	}
	k := int(i / s.width)
	s.used = max(s.used, k+1)
	return &s.list[k]
}

func (s *slots) block(i int64, peak float64) {
	t := s.at(i)
	t.tops++
	t.peak = max(t.peak, float32(peak))
}

func (s *slots) flat(i int64, n int, db float64) {
	t := s.at(i)
	t.flats++
	t.cut += int32(n)
	t.excess = max(t.excess, float32(db))
}
