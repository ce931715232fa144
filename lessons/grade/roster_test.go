package grade_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/grade"
)

func TestRoster(t *testing.T) {
	r, err := grade.ReadRoster([]byte("\ufeffSeed;Name\r\n17;Anna Brandt\r\n;\"Bert; called B\"\r\n\r\n;Änne\r\n"))
	if one, err := grade.ReadRoster([]byte("name\nAnna,,\n")); err != nil || len(one.Entries) != 1 {
		t.Errorf("empty cells at the end: %v, %v", one, err)
	}
	if err != nil || len(r.Entries) != 3 || r.Entries[0] != (grade.Entry{Name: "Anna Brandt", Seed: 17}) || r.Entries[1].Name != "Bert; called B" {
		t.Fatalf("%v %v", r, err)
	}
	// Who joins later changes nobody's seed.
	more, err := grade.ReadRoster([]byte("name,seed\nZoë,\nÄnne\nAnna Brandt,17\n\"Bert; called B\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Entries {
		if !slices.Contains(more.Entries, e) {
			t.Errorf("%v is not in %v", e, more.Entries)
		}
	}
	for text, want := range map[string]string{
		"": "is empty", "name": "names nobody", "seed\n1": "no column \"name\"", "name,mail\na,b": "the column \"mail\"", "name,name\na,b": "twice",
		"name,seed\na,1\nb,1": "line 3: \"a\" and \"b\" have one seed, 1", "name\na\nA": "line 3: \"A\" stands there twice", "name,seed\na,-1": "line 2: the seed \"-1\"",
		"name,seed\na,9007199254740992": "line 2: the seed", "name,seed\n,3": "line 2: a seed without a name", "name\n" + strings.Repeat("n", 61): "61 characters",
		"name\na\x1b[31m": "cannot be printed", "name\n...": "no letter", "name\nBrandt, Anna": "line 2: \"Anna\" stands in no column", "name,seed\nAnna,1,2": "line 2: \"2\" stands in no column", "name\n\"a": "line 2", "name\n\xff": "UTF-8",
	} {
		if _, err := grade.ReadRoster([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// Who is missing is said, and whose seed is another.
func TestRosterCheck(t *testing.T) {
	r, err := grade.ReadRoster([]byte("name,seed\nAnna,1\nBert,2\nCarla,3\n"))
	if err != nil {
		t.Fatal(err)
	}
	of := func(name string, seed uint64) *grade.Grade {
		return &grade.Grade{Student: name, Seed: seed, Lesson: "mine"}
	}
	all := []*grade.Grade{of("anna", 1), of("Bert", 1), of("Dora", 3), of("Emil", 9)}
	got := fmt.Sprint(r.Check(all))
	if got != "[{mine [Carla]}]" {
		t.Errorf("missing: %s", got)
	}
	for i, want := range []string{"[]", "[the seed is 1; the roster gives Bert the seed 2 the seed 1 is that of Anna]", "[the name is not on the roster; the seed 3 is that of Carla]", "[the name is not on the roster]"} {
		if got := fmt.Sprint(all[i].Notes); got != want {
			t.Errorf("%s: %s, want %s", all[i].Student, got, want)
		}
	}
	if got := fmt.Sprint(r.Check(nil)); got != "[{ [Anna Bert Carla]}]" {
		t.Errorf("nothing handed in: %s", got)
	}
}

func FuzzRoster(f *testing.F) {
	f.Add([]byte("name,seed\nAnna,1\nBert,\n"))
	f.Add([]byte("\ufeffseed;name\n;\"a\nb\"\n"))
	f.Add([]byte("name\tseed\nx\t0\n\"\"\t\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := grade.ReadRoster(b)
		if err != nil {
			if err.Error() == "" || strings.Contains(err.Error(), "\n") {
				t.Fatalf("%q: %q", b, err)
			}
			return
		}
		names, seeds := map[string]bool{}, map[uint64]bool{}
		text := "name,seed\n"
		for _, e := range r.Entries {
			if e.Name == "" || names[e.Name] || seeds[e.Seed] || e.Seed >= 1<<53 {
				t.Fatalf("%q: %v", b, r.Entries)
			}
			names[e.Name], seeds[e.Seed] = true, true
			text += fmt.Sprintf("\"%s\",%d\n", strings.ReplaceAll(e.Name, `"`, `""`), e.Seed)
		}
		again, err := grade.ReadRoster([]byte(text))
		if err != nil || !slices.Equal(again.Entries, r.Entries) {
			t.Fatalf("%q: %v, %v", text, again, err)
		}
	})
}
