package grade_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/keys"
	"gainwright/lessons/run"
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
	got := fmt.Sprint(r.Check(all, nil))
	if got != "[{mine [Carla]}]" {
		t.Errorf("missing: %s", got)
	}
	for i, want := range []string{"[]", "[the seed is 1; the roster gives Bert the seed 2 the seed 1 is that of Anna]", "[the name is not on the roster; the seed 3 is that of Carla]", "[the name is not on the roster]"} {
		if got := fmt.Sprint(all[i].Notes); got != want {
			t.Errorf("%s: %s, want %s", all[i].Student, got, want)
		}
	}
	if got := fmt.Sprint(r.Check(nil, nil)); got != "[{ [Anna Bert Carla]}]" {
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

// A result signed with a student's key is bound to a name and seed: neither another's result
// with one's own name in it nor one's own in another's name passes, and the roster tells
// whose key it was.
func TestStudentsKeys(t *testing.T) {
	l := trial.Lesson(t)
	class := keys.New()
	r := trial.Must(grade.ReadRoster([]byte("name,seed\nAda,1\nBo,2\n")))
	ada, bo := trial.Must(class.For("Ada", 1)), trial.Must(class.For("Bo", 2))
	honest, _ := play.Through(t, l, []byte("answers: {guess: a, set: {A.preamp.gain_db: 25}, much: '= A.headroom_db', why: Because.}\n"), 1)
	for _, c := range []struct {
		name  string
		do    func(res *run.Result)
		key   *keys.Key
		flag  string // ""; it is accepted
		noted string
	}{
		{"her own", func(res *run.Result) {}, ada, "", ""},
		{"spelt in another way", func(res *run.Result) { res.Student = "ada." }, ada, "", ""},
		{"his name in her file", func(res *run.Result) { res.Student = "Bo" }, nil, "not signed with the key", ""},
		{"his name in her file, signed by him", func(res *run.Result) { res.Student = "Bo" }, bo, "not that of \"Bo\" with the seed 1", "that of Bo, with the seed 2"},
		{"his name and seed in her file", func(res *run.Result) { res.Student, res.Seed = "Bo", 2 }, bo, "in the file; seed 2 draws", ""},
		{"her name, signed by him", func(res *run.Result) {}, bo, "not that of \"Ada\"", "that of Bo"},
		{"the key that all share", func(res *run.Result) {}, keys.New(), "does not fit", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			res := play.Reread(t, honest)
			res.Student = "Ada"
			c.do(res)
			if err := res.Sign(c.key); err != nil {
				t.Fatal(err)
			}
			g := gradeOne(t, l, play.Reread(t, res), class)
			r.Check([]*grade.Grade{g}, class)
			if g.OK() != (c.flag == "") || !strings.Contains(fmt.Sprint(g.Flags), c.flag) {
				t.Errorf("flags %v, want %q", g.Flags, c.flag)
			}
			if notes := fmt.Sprint(g.Notes); !strings.Contains(notes, c.noted) || c.noted == "" && strings.Contains(notes, "signature") {
				t.Errorf("notes %v, want %q", notes, c.noted)
			}
		})
	}
	res := play.Reread(t, honest)
	res.Student = "Ada"
	if err := res.Sign(ada); err != nil {
		t.Fatal(err)
	}
	if g := gradeOne(t, l, res, nil); g.OK() {
		t.Error("a signature with a key is accepted without one")
	}
	if g := gradeOne(t, l, res, ada); !g.OK() { // she can verify her own
		t.Errorf("%v", g.Flags)
	}
}
