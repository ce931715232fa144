package bench

import (
	"encoding/json"
	"testing"
)

func TestSurprises(t *testing.T) {
	seen := map[string]int{}
	for seed := range uint64(200) {
		d := surprises(seed)
		last, laugh := int64(0), false
		for _, e := range d {
			if e.At < last || e.At > maxFrames {
				t.Fatalf("seed %d: %v", seed, d)
			}
			last = e.At
			laugh = laugh || e.What == "laugh" && e.At < 25*Rate
			seen[e.What]++
		}
		if !laugh || d[0].At < 2*Rate {
			t.Errorf("seed %d: %v", seed, d[:3])
		}
	}
	for _, e := range Events {
		if seen[e] == 0 {
			t.Errorf("nobody ever did %q", e)
		}
	}
}

func FuzzUnpack(f *testing.F) {
	s, err := StartSetup("captain").Pack()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(s)
	f.Add("")
	f.Add("AAAA")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := Unpack(s)
		if err != nil {
			return
		}
		if err := p.Validate(); err != nil {
			t.Fatalf("%q gave a set-up that could not be: %v", s, err)
		}
		again, err := p.Pack()
		if err != nil {
			t.Fatal(err)
		}
		if q, err := Unpack(again); err != nil || q != p {
			t.Fatalf("%+v became %+v, %v", p, q, err)
		}
	})
}

func FuzzSetupJSON(f *testing.F) {
	b, err := json.Marshal(StartSetup("pip"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		var p Setup
		if json.Unmarshal(b, &p) == nil && p.Validate() != nil {
			t.Fatalf("%q gave a set-up that could not be", b)
		}
	})
}
