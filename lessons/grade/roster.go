package grade

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
)

// Limits of a roster.
const (
	maxRosterBytes = 1 << 20
	maxRosterNames = 5000
	rosterSeeds    = 1_000_000 // seeds that are given out lie below
)

// A Roster says who is expected, and with which seed each takes the lessons.
type Roster struct{ Entries []Entry }

// An Entry is one person on a roster.
type Entry struct {
	Name string `json:"name"`
	Seed uint64 `json:"seed"`
}

// ReadRoster reads a roster: comma-separated values (or with semicolons or tabs, as
// spreadsheets write them) whose first line names the columns: name and, if seeds are
// given, seed. Who has none gets one made of the name, so that a roster can grow
// without anybody's seed changing. Errors name the line.
func ReadRoster(b []byte) (*Roster, error) {
	if len(b) > maxRosterBytes {
		return nil, errors.New("is too long for a roster")
	}
	b = bytes.TrimPrefix(b, []byte("\ufeff"))
	if !utf8.Valid(b) {
		return nil, errors.New("is not text in UTF-8: have the spreadsheet save it as CSV UTF-8")
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = separator(b), -1, true
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("is empty: want a first line with the columns, name and, if you like, seed")
	}
	if err != nil {
		return nil, csvFault(err)
	}
	nameAt, seedAt, err := columns(head)
	if err != nil {
		return nil, err
	}
	out := &Roster{}
	given := map[uint64]string{}
	known := map[string]bool{}
	var open []int
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, csvFault(err)
		}
		line, _ := r.FieldPos(0)
		e, seeded, err := entry(row, nameAt, seedAt)
		switch {
		case err != nil:
			return nil, fmt.Errorf("line %d: %w", line, err)
		case e.Name == "":
			continue
		case known[nameKey(e.Name)]:
			return nil, fmt.Errorf("line %d: %s stands there twice: tell them apart, as in %s B.", line, plain.Quote(e.Name), plain.Shorten(e.Name))
		case seeded && given[e.Seed] != "":
			return nil, fmt.Errorf("line %d: %s and %s have one seed, %d", line, plain.Quote(given[e.Seed]), plain.Quote(e.Name), e.Seed)
		case len(out.Entries) == maxRosterNames:
			return nil, fmt.Errorf("line %d: more than %d names", line, maxRosterNames)
		}
		known[nameKey(e.Name)] = true
		if seeded {
			given[e.Seed] = e.Name
		} else {
			open = append(open, len(out.Entries))
		}
		out.Entries = append(out.Entries, e)
	}
	if len(out.Entries) == 0 {
		return nil, errors.New("names nobody")
	}
	for _, i := range open {
		e := &out.Entries[i]
		e.Seed = seedOf(e.Name)
		for given[e.Seed] != "" {
			e.Seed = (e.Seed + 1) % rosterSeeds
		}
		given[e.Seed] = e.Name
	}
	return out, nil
}

// separator is what parts the columns of the first line.
func separator(b []byte) rune {
	line, _, _ := bytes.Cut(b, []byte("\n"))
	for _, c := range ";\t" {
		if bytes.ContainsRune(line, c) && !bytes.ContainsRune(line, ',') {
			return c
		}
	}
	return ','
}

func csvFault(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("line %d: %w", p.Line, p.Err)
	}
	return err
}

// columns finds where names and seeds stand.
func columns(head []string) (name, seed int, err error) {
	name, seed = -1, -1
	for i, h := range head {
		switch h = strings.ToLower(strings.TrimSpace(h)); {
		case h == "name" && name < 0:
			name = i
		case h == "seed" && seed < 0:
			seed = i
		case h == "name" || h == "seed":
			return 0, 0, fmt.Errorf("line 1: the column %s stands there twice", h)
		case h != "":
			return 0, 0, fmt.Errorf("line 1: the column %s is not known: want name and, if you like, seed", plain.Quote(h))
		}
	}
	if name < 0 {
		return 0, 0, errors.New("line 1: there is no column \"name\"")
	}
	return name, seed, nil
}

// entry reads a row; an empty one has no name.
func entry(row []string, nameAt, seedAt int) (e Entry, seeded bool, err error) {
	cell := func(i int) string {
		if i < 0 || i >= len(row) {
			return ""
		}
		return strings.TrimSpace(row[i])
	}
	e.Name = plain.OneLine(cell(nameAt))
	text := cell(seedAt)
	// A name such as "Brandt, Anna" without its quotes would lose its second half.
	for i := range row {
		if i != nameAt && i != seedAt && cell(i) != "" {
			return e, false, fmt.Errorf("%s stands in no column of the first line: a name with a comma in it wants quotes around it", plain.Quote(cell(i)))
		}
	}
	if e.Name == "" {
		if text != "" {
			return e, false, errors.New("a seed without a name")
		}
		return e, false, nil
	}
	if n := utf8.RuneCountInString(e.Name); n > model.MaxName {
		return e, false, fmt.Errorf("a name of %d characters: the most is %d", n, model.MaxName)
	}
	if strings.ContainsFunc(e.Name, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return e, false, fmt.Errorf("the name %s has a character that cannot be printed", plain.Quote(e.Name))
	}
	if nameKey(e.Name) == "" {
		return e, false, fmt.Errorf("the name %s has no letter", plain.Quote(e.Name))
	}
	if text == "" {
		return e, false, nil
	}
	e.Seed, err = strconv.ParseUint(text, 10, 64)
	if err != nil || e.Seed > scenario.MaxSeed {
		return e, false, fmt.Errorf("the seed %s: want a whole number from 0 to %d", plain.Quote(text), uint64(scenario.MaxSeed))
	}
	return e, true, nil
}

// seedOf makes a seed of a name.
func seedOf(name string) uint64 {
	sum := sha256.Sum256([]byte(nameKey(name)))
	return binary.BigEndian.Uint64(sum[:8]) % rosterSeeds
}

// Link opens a lesson with this person's seed and name and, if there is a key of the
// class, has the result signed with this person's.
func (e Entry) Link(lesson string, class *keys.Key) (model.Link, error) {
	l := model.Link{Lesson: lesson, Seed: &e.Seed, Name: e.Name}
	if class == nil {
		return l, nil
	}
	own, err := class.For(e.Name, e.Seed)
	if err == nil {
		l.Key = own.Code()
	}
	return l, err
}

// An Absence says who has handed nothing in, of one lesson.
type Absence struct {
	Lesson  string   `json:"lesson"`
	Missing []string `json:"missing"`
}

// Check holds the grades against the roster: it notes at each whose seed or name is
// not as the roster has it, and tells, of each lesson that somebody took, who is
// missing. Without any grade everybody is missing, of the lesson "". With the class's key
// it tells of a signature that is not that of the name and seed whose on the roster it is.
func (r *Roster) Check(grades []*Grade, class *keys.Key) []Absence {
	byName, bySeed := map[string]Entry{}, map[uint64]Entry{}
	for _, e := range r.Entries {
		byName[nameKey(e.Name)], bySeed[e.Seed] = e, e
	}
	there := map[string]map[string]bool{}
	for _, g := range grades {
		note := func(format string, args ...any) {
			g.Notes = append(g.Notes, Flag{"", fmt.Sprintf(format, args...)})
		}
		if there[g.Lesson] == nil {
			there[g.Lesson] = map[string]bool{}
		}
		if e := r.signer(g, class); e != nil {
			note("the signature is that of %s, with the seed %d", e.Name, e.Seed)
		}
		e, known := byName[nameKey(g.Student)]
		o, given := bySeed[g.Seed]
		switch {
		case known:
			there[g.Lesson][nameKey(e.Name)] = true
			if e.Seed != g.Seed {
				note("the seed is %d; the roster gives %s the seed %d", g.Seed, e.Name, e.Seed)
			}
			if given && o != e {
				note("the seed %d is that of %s", g.Seed, o.Name)
			}
		case given:
			note("the name is not on the roster; the seed %d is that of %s", g.Seed, o.Name)
		default:
			note("the name is not on the roster")
		}
	}
	if len(there) == 0 {
		there[""] = nil
	}
	var out []Absence
	for lesson, who := range there {
		a := Absence{Lesson: lesson, Missing: []string{}}
		for _, e := range r.Entries {
			if !who[nameKey(e.Name)] {
				a.Missing = append(a.Missing, e.Name)
			}
		}
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b Absence) int { return cmp.Compare(a.Lesson, b.Lesson) })
	return out
}

// signer finds who on the roster has signed a result that bears another's name or seed; nil
// where the signature is its own, or nobody's.
func (r *Roster) signer(g *Grade, class *keys.Key) *Entry {
	if class == nil || g.Result == nil || g.Result.Signature.Method != keys.Student || g.Result.Verify(class) == "" {
		return nil
	}
	for i, e := range r.Entries {
		own, err := class.For(e.Name, e.Seed)
		if err != nil {
			return nil
		}
		if g.Result.SignedWith(own) {
			return &r.Entries[i]
		}
	}
	return nil
}
