package scenario

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"gainwright/sim"
	"gainwright/sounds/equipment"
	"gainwright/sounds/voice"
)

// maxFaults bounds what is reported of one file.
const maxFaults = 50

// Parse reads a scenario. name stands in errors, which are *Error.
func Parse(name string, data []byte) (*Scenario, error) { return ParseOn(nil, name, data) }

// ParseOn reads a scenario that runs on a user's recorder, which fills in what the
// scenario does not say itself and has the place of its section recorder. Without one the
// section counts.
func ParseOn(r *equipment.Recorder, name string, data []byte) (*Scenario, error) {
	return parse(r, name, data, nil)
}

// parse is ParseOn; open reads a file that the section names.
func parse(r *equipment.Recorder, name string, data []byte, open func(string) ([]byte, string, error)) (*Scenario, error) {
	s := New()
	d := &decoder{name: name, s: s, open: open, given: r != nil}
	if r != nil {
		if err := d.runOn(r); err != nil {
			return nil, err
		}
		s.Strips[0].Chain = s.Base
	}
	root := d.parse(plain.Text(data))
	if root != nil {
		d.scenario(root)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	s.Source.write(s.Seed, s.Base.DistanceM) // which may stand below the source
	return s, nil
}

// Set changes the setting at path to a value written as in a file:
// "strips.A.preamp.gain_db", "seed", "source.talker". A path into a strip without
// the strip, "preamp.gain_db", changes all strips. Errors are *Error and leave
// the scenario as it was.
func (s *Scenario) Set(path, value string) error {
	next := s.Clone()
	d := &decoder{name: "--set " + path, s: next, noPlace: true}
	node := d.parse(value)
	if node != nil && d.err() == nil {
		d.set(strings.Split(path, "."), node)
	}
	if err := d.err(); err != nil {
		return err
	}
	next.Source.write(next.Seed, next.Base.DistanceM)
	*s = *next
	return nil
}

// Clone gives a copy whose settings can be changed on their own.
func (s *Scenario) Clone() *Scenario {
	n := *s
	n.Strips = slices.Clone(s.Strips)
	n.Source.Script = slices.Clone(s.Source.Script)
	return &n
}

// decoder walks a syntax tree and collects faults.
type decoder struct {
	name    string
	noPlace bool // a value from the command line has no line
	s       *Scenario
	faults  []Fault
	open    func(name string) (text []byte, path string, err error) // nil: no files here
	given   bool                                                    // a recorder has the place of the section
}

func (d *decoder) err() error { return plain.Gather(d.name, d.faults, maxFaults) }

func (d *decoder) fault(t *token.Token, key, format string, args ...any) {
	f := Fault{Name: d.name, Key: key, Msg: fmt.Sprintf(format, args...)}
	if d.noPlace {
		// The name already holds the path that the key would repeat.
		f.Key = strings.TrimPrefix(key, strings.TrimPrefix(d.name, "--set "))
		f.Key = strings.TrimPrefix(f.Key, ".")
	} else if t != nil && t.Position != nil {
		f.Line, f.Column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.faults = append(d.faults, f)
}

// parse gives the tree of the one document in text, or nil.
func (d *decoder) parse(text string) ast.Node {
	return plain.Parse(text, "scenario", MaxBytes, func(t *token.Token, format string, args ...any) { d.fault(t, "", format, args...) })
}

// pair is one entry of a mapping.
type pair struct {
	key  string
	at   *token.Token
	node ast.Node
}

// mapping lists the entries of a mapping; a fault if node is something else.
func (d *decoder) mapping(node ast.Node, key, what string) ([]pair, bool) {
	m, ok := node.(ast.MapNode)
	if !ok {
		if _, null := node.(*ast.NullNode); null {
			d.fault(node.GetToken(), key, "is empty: want %s", what)
		} else {
			d.fault(node.GetToken(), key, "want %s, not %s", what, plain.Kind(node))
		}
		return nil, false
	}
	var out []pair
	for it := m.MapRange(); it.Next(); {
		k := it.Key()
		if w, ok := plain.Scalar(k); ok {
			out = append(out, pair{w, k.GetToken(), it.Value()})
			continue
		}
		d.fault(k.GetToken(), key, "a key is a plain word here, not %s", plain.Kind(k))
	}
	return out, true
}

// unknown reports a key that is not one of known, and where it may belong.
func (d *decoder) unknown(p pair, at string, known []string) {
	msg := "unknown key"
	if near := plain.Nearest(p.key, known); near != "" {
		msg += fmt.Sprintf(": did you mean %s?", near)
	} else if home := homeOf(p.key); home != "" {
		msg += fmt.Sprintf(": %s belongs under %s", p.key, home)
	} else {
		msg += ": there are " + plain.Listed(known, "and")
	}
	d.fault(p.at, plain.Join(at, plain.Shorten(p.key)), "%s", msg)
}

var topKeys = []string{"title", "about", "seed", "room", "distance_m", "source", "recorder", "microphone", "plan", "strips"}

func (d *decoder) scenario(root ast.Node) {
	all, ok := d.mapping(root, "", "settings, as in \"title: …\"")
	if !ok {
		return
	}
	// What fills in comes before all, and what stands above the strips before them,
	// wherever it is written.
	for _, p := range all {
		if p.key == recorderKey {
			d.recorder(p.node)
		}
	}
	var strips *pair
	for _, p := range all {
		if p.key == "strips" {
			strips = &p
			continue
		}
		d.top(p, topKeys)
	}
	for i := range d.s.Strips {
		d.s.Strips[i].Chain = d.s.Base
	}
	if strips != nil {
		d.strips(strips.node)
	}
}

// top sets one key above the strips.
func (d *decoder) top(p pair, known []string) {
	switch p.key {
	case "title":
		d.text(p.node, "title", 200, &d.s.Title)
	case "about":
		d.text(p.node, "about", 2000, &d.s.About)
	case "seed":
		if v, ok := d.whole(p.node, "seed", 0, MaxSeed); ok {
			d.s.Seed = v
		}
	case "room", "distance_m", "microphone":
		d.chain(&d.s.Base, p, p.key, sharedKeys)
	case "source":
		d.source(p.node)
	case "plan":
		d.plan(p.node)
	case recorderKey: // has been read
	default:
		d.unknown(p, "", known)
	}
}

// text reads a line for people.
func (d *decoder) text(n ast.Node, key string, most int, dst *string) {
	s, ok := plain.Scalar(n)
	if !ok {
		d.fault(n.GetToken(), key, "want a text, not %s", plain.Kind(n))
		return
	}
	s = strings.Join(strings.Fields(s), " ")
	if c := len([]rune(s)); c > most {
		d.fault(n.GetToken(), key, "%d characters, the most is %d", c, most)
		return
	}
	if i := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }); i >= 0 || strings.ContainsRune(s, unicode.ReplacementChar) {
		d.fault(n.GetToken(), key, "holds a character that cannot be printed")
		return
	}
	*dst = s
}

func (d *decoder) whole(n ast.Node, key string, lo, hi uint64) (uint64, bool) {
	if i, ok := n.(*ast.IntegerNode); ok {
		switch v := i.Value.(type) {
		case uint64:
			if v >= lo && v <= hi {
				return v, true
			}
		case int64:
			if v >= 0 && uint64(v) >= lo && uint64(v) <= hi {
				return uint64(v), true
			}
		}
		d.fault(n.GetToken(), key, "%s is out of range: a whole number from %d to %d", plain.Shorten(n.GetToken().Value), lo, hi)
		return 0, false
	}
	d.fault(n.GetToken(), key, "want a whole number from %d to %d, not %s", lo, hi, plain.Kind(n))
	return 0, false
}

// number reads a number; inf is one.
func (d *decoder) number(n ast.Node, key, want string) (float64, bool) {
	switch n := n.(type) {
	case *ast.IntegerNode:
		switch v := n.Value.(type) {
		case uint64:
			return float64(v), true
		case int64:
			return float64(v), true
		}
	case *ast.FloatNode:
		return n.Value, true
	case *ast.InfinityNode:
		return n.Value, true
	case *ast.NanNode:
		return math.NaN(), true
	case *ast.StringNode:
		switch strings.ToLower(n.Value) {
		case "inf", "+inf", "infinity":
			return math.Inf(1), true
		case "-inf":
			return math.Inf(-1), true
		}
	}
	d.fault(n.GetToken(), key, "want %s, not %s", want, plain.Kind(n))
	return 0, false
}

func (d *decoder) ranged(n ast.Node, key, unit string, lo, hi float64) (float64, bool) {
	unit = pad(unit)
	span := fmt.Sprintf("%v to %v%s", lo, hi, unit)
	if math.IsInf(hi, 1) {
		span = fmt.Sprintf("%v or more, or inf", lo)
	}
	v, ok := d.number(n, key, "a number, "+span)
	if !ok {
		return 0, false
	}
	if !(v >= lo && v <= hi) { // also NaN
		d.fault(n.GetToken(), key, "%v%s is out of range: %s", v, unit, span)
		return 0, false
	}
	return v, true
}

func pad(unit string) string {
	if unit == "" || strings.HasPrefix(unit, ":") {
		return unit
	}
	return " " + unit
}

func (d *decoder) flag(n ast.Node, key string) (bool, bool) {
	if b, ok := n.(*ast.BoolNode); ok {
		return b.Value, true
	}
	d.fault(n.GetToken(), key, "want true or false, not %s", plain.Kind(n))
	return false, false
}

func (d *decoder) word(n ast.Node, key string, allowed []string) (string, bool) {
	s, ok := plain.Scalar(n)
	if !ok {
		d.fault(n.GetToken(), key, "want %s, not %s", plain.Listed(allowed, "or"), plain.Kind(n))
		return "", false
	}
	if slices.Contains(allowed, s) {
		return s, true
	}
	if near := plain.Nearest(s, allowed); near != "" {
		d.fault(n.GetToken(), key, "there is no %s: did you mean %s? There are %s", plain.Quote(s), near, plain.Listed(allowed, "and"))
	} else {
		d.fault(n.GetToken(), key, "there is no %s: there are %s", plain.Quote(s), plain.Listed(allowed, "and"))
	}
	return "", false
}

// chain sets p, a setting or a group of them below a strip. known are the keys
// of this level, for the message.
func (d *decoder) chain(c *sim.Chain, p pair, at string, known []string) {
	if set, ok := sim.SettingByKey(p.key); ok {
		d.setting(set, c, p.node, at)
		return
	}
	g, ok := groups[p.key]
	if !ok {
		d.unknown(pair{p.key, p.at, p.node}, strings.TrimSuffix(strings.TrimSuffix(at, p.key), "."), known)
		return
	}
	all, ok := d.mapping(p.node, at, "settings ("+plain.Listed(g, "and")+")")
	if !ok {
		return
	}
	for _, q := range all {
		if !slices.Contains(g, q.key) {
			d.unknown(q, at, g)
			continue
		}
		set, _ := sim.SettingByKey(p.key + "." + q.key)
		d.setting(set, c, q.node, plain.Join(at, q.key))
	}
}

// stripName is what may name a strip: it becomes the name of its files.
var stripName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,23}$`) })

// Names that some systems keep for devices, whatever the ending.
var deviceName = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9]|lpt[0-9])$`) })

func (d *decoder) strips(n ast.Node) {
	all, ok := d.mapping(n, "strips", "named strips, as in \"A: {preamp: {gain_db: 46}}\"")
	if !ok {
		return
	}
	if len(all) == 0 || len(all) > MaxStrips {
		d.fault(n.GetToken(), "strips", "%d strips: want 1 to %d", len(all), MaxStrips)
		return
	}
	d.s.Strips = make([]Strip, 0, len(all))
	seen := map[string]bool{}
	for _, p := range all {
		at := plain.Join("strips", plain.Shorten(p.key))
		if !stripName().MatchString(p.key) || deviceName().MatchString(p.key) {
			d.fault(p.at, at, "a strip's name becomes a file's: up to 24 letters, digits, - and _")
			continue
		}
		if low := strings.ToLower(p.key); seen[low] {
			d.fault(p.at, at, "two strips of that name: their files would be the same")
			continue
		} else {
			seen[low] = true
		}
		c := d.s.Base
		if _, null := p.node.(*ast.NullNode); !null { // "A:" is a strip of defaults
			d.strip(&c, p.node, at)
		}
		d.s.Strips = append(d.s.Strips, Strip{p.key, c})
	}
}

func (d *decoder) strip(c *sim.Chain, n ast.Node, at string) {
	known := append(slices.Clone(stripKeys), markKey)
	all, ok := d.mapping(n, at, "settings ("+plain.Listed(known, "and")+")")
	if !ok {
		return
	}
	before := len(d.faults)
	for _, q := range all {
		if q.key != markKey {
			d.chain(c, q, plain.Join(at, q.key), known)
		}
	}
	d.mark(c, all, at)
	if len(d.faults) == before {
		// The engine has the last word.
		if err := c.Validate(); err != nil {
			d.fault(n.GetToken(), at, "%s", plain.OneLine(err.Error()))
		}
	}
}

var sourceKeys = []string{"talker", "script", "conversation", "file", "level_db_spl"}

var conversationKeys = []string{"minutes", "with"}

func (d *decoder) source(n ast.Node) {
	all, ok := d.mapping(n, "source", "talker and script or conversation, or file and level_db_spl")
	if !ok {
		return
	}
	var src Source
	src.LevelDBSPL = New().Source.LevelDBSPL
	at := map[string]*token.Token{}
	bad := len(d.faults)
	for _, p := range all {
		at[p.key] = p.at
		d.sourceKey(&src, p)
	}
	switch {
	case at["file"] != nil && (at["talker"] != nil || at["script"] != nil || at["conversation"] != nil):
		d.fault(at["file"], "source", "either a file or a talker with a script, not both")
	case at["script"] != nil && at["conversation"] != nil:
		d.fault(at["conversation"], "source.conversation", "makes a script from the seed: either that or a script of your own, not both")
	case at["file"] == nil && at["level_db_spl"] != nil:
		d.fault(at["level_db_spl"], "source.level_db_spl", "is for a file; how loud a talker is, the script's efforts say")
	}
	if at["file"] == nil {
		if at["talker"] == nil {
			src.Talker = DefaultTalker
		}
		if at["script"] == nil {
			src.Script = DefaultScript()
		}
	}
	if len(d.faults) == bad {
		d.checkScript(&src, n.GetToken())
		d.s.Source = src
	}
}

// checkScript finds what only the whole script shows.
func (d *decoder) checkScript(src *Source, t *token.Token) {
	if src.File != "" {
		return
	}
	if c := src.Conversation; c.Minutes > 0 {
		if slices.Contains(c.With, src.Talker) {
			d.fault(t, "source.conversation.with", "%s is the source's own talker already", src.Talker)
		}
		return // of a conversation the others' leaning is not heard
	}
	for i, e := range src.Script {
		if e.Do == "lean" && e.Talker != "" && !strings.EqualFold(e.Talker, src.Talker) {
			d.fault(t, fmt.Sprintf("source.script entry %d", i+1), "only the source's own talker (%s) leans: there is one distance to the microphone", src.Talker)
		}
	}
}

func (d *decoder) sourceKey(src *Source, p pair) {
	at := "source." + p.key
	switch p.key {
	case "talker":
		if w, ok := d.word(p.node, at, talkerNames()); ok {
			src.Talker = w
		}
	case "script":
		src.Script = d.script(p.node)
	case "conversation":
		src.Conversation = d.conversation(p.node, at)
	case "file":
		s, _ := plain.Scalar(p.node)
		if s == "" || strings.ContainsRune(s, 0) {
			d.fault(p.node.GetToken(), at, "want the path of an audio file, not %s", plain.Kind(p.node))
			return
		}
		src.File = s
	case "level_db_spl":
		if v, ok := d.ranged(p.node, at, "dB SPL", MinLevelDBSPL, MaxLevelDBSPL); ok {
			src.LevelDBSPL = v
		}
	default:
		d.unknown(p, "source", sourceKeys)
	}
}

// conversation reads how long it takes and who takes part.
func (d *decoder) conversation(n ast.Node, at string) Conversation {
	c := Conversation{Minutes: 45}
	all, ok := d.mapping(n, at, "minutes and with, as in {minutes: 45, with: [maren]}")
	if !ok {
		return Conversation{}
	}
	for _, p := range all {
		switch p.key {
		case "minutes":
			if v, ok := d.ranged(p.node, at+".minutes", "min", MinConversation, MaxConversation); ok {
				c.Minutes = v
			}
		case "with":
			seq, ok := p.node.(*ast.SequenceNode)
			if !ok {
				d.fault(p.node.GetToken(), at+".with", "want a list of talkers, as in [maren], not %s", plain.Kind(p.node))
				continue
			}
			for _, v := range seq.Values {
				w, ok := d.word(v, at+".with", talkerNames())
				switch {
				case !ok:
				case slices.Contains(c.With, w):
					d.fault(v.GetToken(), at+".with", "%s stands there twice", w)
				default:
					c.With = append(c.With, w)
				}
			}
		default:
			d.unknown(p, at, conversationKeys)
		}
	}
	return c
}

// TalkerNames lists who can talk.
func talkerNames() []string {
	var out []string
	for _, t := range voice.Talkers() {
		out = append(out, t.Name)
	}
	return out
}

// eventKeys are the keys of one entry of a script, from the fields of an event.
var eventKeys = func() []string {
	var out []string
	t := reflect.TypeFor[voice.Event]()
	for i := range t.NumField() {
		out = append(out, yamlName(t.Field(i)))
	}
	return out
}()

func yamlName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
	return name
}

func (d *decoder) script(n ast.Node) voice.Script {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		d.fault(n.GetToken(), "source.script", "want a list of events, as in \"- {do: laugh, effort: loud}\", not %s", plain.Kind(n))
		return nil
	}
	if len(seq.Values) == 0 {
		d.fault(n.GetToken(), "source.script", "is empty: nothing would happen")
		return nil
	}
	out := make(voice.Script, 0, len(seq.Values))
	for i, v := range seq.Values {
		out = append(out, d.event(v, fmt.Sprintf("source.script[%d]", i+1)))
	}
	bad := len(d.faults)
	if bad == 0 {
		if err := out.Validate(); err != nil {
			d.fault(n.GetToken(), "source.script", "%s", plain.OneLine(err.Error()))
		}
	}
	return out
}

// event reads one entry into the event's fields by their names.
func (d *decoder) event(n ast.Node, at string) voice.Event {
	var e voice.Event
	all, ok := d.mapping(n, at, "an event ("+plain.Listed(eventKeys, "and")+")")
	if !ok {
		return e
	}
	ev := reflect.ValueOf(&e).Elem()
	tokens := map[string]*token.Token{}
	bad := len(d.faults)
	for _, p := range all {
		i := slices.Index(eventKeys, p.key)
		if i < 0 {
			d.unknown(p, at, eventKeys)
			continue
		}
		tokens[p.key] = p.node.GetToken()
		d.eventField(ev.Field(i).Addr().Interface(), p.node, plain.Join(at, p.key))
	}
	if len(d.faults) > bad {
		return e
	}
	if err := (voice.Script{e}).Validate(); err != nil {
		msg := plain.OneLine(strings.TrimPrefix(err.Error(), "script entry 1: "))
		t, key := n.GetToken(), at
		if len(all) > 0 {
			t = all[0].at
		}
		if k, rest, ok := strings.Cut(msg, ": "); ok && slices.Contains(eventKeys, k) {
			key, msg = plain.Join(at, k), rest
			if tokens[k] != nil {
				t = tokens[k]
			}
		}
		d.fault(t, key, "%s", msg)
	}
	return e
}

func (d *decoder) eventField(dst any, n ast.Node, at string) {
	switch dst := dst.(type) {
	case *string:
		d.text(n, at, 5000, dst)
	case *float64:
		if v, ok := d.number(n, at, "a number"); ok {
			*dst = v
		}
	case **float64:
		if v, ok := d.number(n, at, "a number"); ok {
			*dst = &v
		}
	case *bool:
		if v, ok := d.flag(n, at); ok {
			*dst = v
		}
	case *voice.Effort:
		w, ok := plain.Scalar(n)
		if !ok {
			d.fault(n.GetToken(), at, "want quiet, normal, raised, loud, shout or a number from 0 to 1, not %s", plain.Kind(n))
			return
		}
		e, err := voice.ParseEffort(w)
		if err != nil {
			d.fault(n.GetToken(), at, "%s", plain.OneLine(strings.TrimPrefix(err.Error(), "effort ")))
			return
		}
		*dst = e
	default:
		panic(fmt.Sprintf("scenario: no reader for a %T", dst))
	}
}

// set changes one setting, from the command line.
func (d *decoder) set(path []string, n ast.Node) {
	full := strings.Join(path, ".")
	bad := func(known []string) {
		msg := "there is no such setting"
		if near := plain.Nearest(full, known); near != "" {
			msg += ": did you mean " + near + "?"
		} else if near := plain.Nearest(path[len(path)-1], lastParts(known)); near != "" {
			msg += ": did you mean " + known[slices.Index(lastParts(known), near)] + "?"
		}
		d.fault(nil, "", "%s", msg)
	}
	switch path[0] {
	case "title", "about", "seed", "source":
		if len(path) == 1 {
			d.top(pair{path[0], nil, n}, topKeys)
			return
		}
		if path[0] == "source" && len(path) == 2 && slices.Contains(sourceKeys, path[1]) {
			d.setSource(path[1], n)
			return
		}
	case "plan":
		if len(path) == 1 {
			d.plan(n)
			return
		}
		if d.planAt(strings.Join(path[1:], "."), n, full) {
			return
		}
	case "strips":
		if len(path) == 1 {
			d.strips(n)
			return
		}
		st := d.s.Strip(path[1])
		if st == nil {
			d.fault(nil, "", "there is no strip %s: there are %s", plain.Quote(path[1]), plain.Listed(d.s.StripNames(), "and"))
			return
		}
		if len(path) == 2 {
			d.strip(&st.Chain, n, full)
			return
		}
		if key := strings.Join(path[2:], "."); settable(key) {
			d.chainAt(&st.Chain, key, n, full)
			return
		}
	default:
		if settable(full) {
			d.chainAt(&d.s.Base, full, n, full)
			if len(d.faults) > 0 {
				return
			}
			for i := range d.s.Strips {
				d.chainAt(&d.s.Strips[i].Chain, full, n, full)
			}
			return
		}
	}
	bad(d.allPaths())
}

func (d *decoder) setSource(key string, n ast.Node) {
	src := &d.s.Source
	d.sourceKey(src, pair{key, nil, n})
	switch {
	case len(d.faults) > 0:
		return
	case key == "file":
		src.Talker, src.Script, src.Conversation = "", nil, Conversation{}
	case key == "talker" || key == "script" || key == "conversation":
		src.File = ""
		if key == "script" {
			src.Conversation = Conversation{}
		}
		if src.Talker == "" {
			src.Talker = DefaultTalker
		}
		if src.Script == nil {
			src.Script = DefaultScript()
		}
	}
	d.checkScript(src, nil)
}

// chainAt sets a leaf or a whole group by its path below the strip.
func (d *decoder) chainAt(c *sim.Chain, key string, n ast.Node, full string) {
	if set, ok := sim.SettingByKey(key); ok {
		d.setting(set, c, n, full)
		return
	}
	d.chain(c, pair{key, nil, n}, full, stripKeys)
}

func settable(key string) bool {
	_, leaf := sim.SettingByKey(key)
	_, group := groups[key]
	return leaf || group
}

func (d *decoder) allPaths() []string {
	out := []string{"title", "about", "seed"}
	for _, k := range sourceKeys {
		out = append(out, "source."+k)
	}
	for _, k := range append([]string{presetKey}, planOrder...) {
		out = append(out, "plan."+k)
	}
	for _, k := range leafOrder {
		out = append(out, k)
		for _, s := range d.s.Strips {
			out = append(out, "strips."+s.Name+"."+k)
		}
	}
	return out
}

func lastParts(paths []string) []string {
	out := make([]string, len(paths))
	for i, p := range paths {
		out[i] = p[strings.LastIndexByte(p, '.')+1:]
	}
	return out
}
