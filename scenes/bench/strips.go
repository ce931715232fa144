package bench

// What the strips are called, and the gain each has at a first visit.
var (
	StripLabels = [MaxStrips]string{"strip A", "strip B", "strip C", "strip D"}
	StripTitles = [MaxStrips]string{"Strip A", "Strip B", "Strip C", "Strip D"}
	StripNames  = [MaxStrips]string{"A", "B", "C", "D"}
	GainDefault = [MaxStrips]float64{52, 40, 40, 40}
)
