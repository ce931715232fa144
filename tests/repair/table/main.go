//go:build unix

// Command table measures declipping: speech hard-clipped to given distortion
// levels, restored by every effort and by ffmpeg's general-purpose adeclip filter
// in the same run, and how much nearer to the truth each came (ΔSDR in dB, STOI and
// ESTOI, mean and standard error over the files).
//
//	go run ./tests/repair/table                       # the thirteen files at 16 kHz
//	go run ./tests/repair/table --rate 16000,48000
//	go run ./tests/repair/table --set talkers --levels 3,10 --files
//	go run ./tests/repair/table --set DIR --rate 48000 # WAV files of your own
//	go run ./tests/repair/table --readme README.md    # puts what was measured there
//
// A table takes long, at 48 kHz an hour and more: what is measured is kept, and a
// second call goes on where the first was stopped.
//
// It needs the packages that gainwright/tests/repair/speechset names, and ffmpeg
// for the rows of that name. Times are processor seconds per second of signal, on
// one core.
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"gainwright/sim/repair"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/repair/stoi"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "table:", err)
		os.Exit(1)
	}
}

type method struct {
	name  string
	print string
	run   func(y []float64, rate int, theta float64) ([]float64, error)
}

func effort(e repair.Effort) method {
	return method{name: e.String(), run: func(y []float64, rate int, theta float64) ([]float64, error) {
		c := repair.Known(y, theta)
		out, _, err := repair.Declip{Effort: e, Clips: &c}.Apply(context.Background(), y, rate, repair.Run{Cores: 1})
		return out, err
	}}
}

func ffmpeg(name, filter string) method {
	return method{name: name, run: func(y []float64, rate int, _ float64) ([]float64, error) {
		var in, stdout, stderr bytes.Buffer
		binary.Write(&in, binary.LittleEndian, y)
		r := strconv.Itoa(rate)
		cmd := exec.Command("ffmpeg", "-v", "error", "-threads", "1", "-f", "f64le", "-ar", r, "-ac", "1", "-i", "-", "-af", filter, "-f", "f64le", "-")
		cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &stdout, &stderr
		if err := cmd.Run(); err != nil {
			return nil, fmt.Errorf("ffmpeg: %w: %s", err, stderr.String())
		}
		out := make([]float64, len(y))
		b := stdout.Bytes()
		for i := range out {
			if 8*i+8 <= len(b) {
				out[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
			}
		}
		return out, nil
	}}
}

// A result is what one method made of one file at one level. Results are kept as
// they come, so that a table that takes hours may be stopped and gone on with.
type result struct {
	Date    string  `json:"date"`
	Set     string  `json:"set"`
	RateHz  int     `json:"rate_hz"`
	SDR     float64 `json:"input_sdr_db"`
	File    string  `json:"file"`
	Method  string  `json:"method"`
	Print   string  `json:"print"` // see fingerprint
	Most    float64 `json:"most_s,omitempty"`
	GainDB  float64 `json:"gain_db"`
	CPUS    float64 `json:"processor_s"`
	Seconds float64 `json:"seconds"`
	Percent float64 `json:"clipped_percent"`

	// Short-time objective intelligibility and its extended kind, clipped and mended; all 0
	// where there is too little speech for them.
	STOI, ESTOI pair
}

type pair struct{ Clipped, Mended float64 }

type key struct {
	set          string
	rate         int
	sdr          float64
	file, method string
	print        string
	most         float64
}

func (r *result) key() key {
	return key{r.Set, r.RateHz, r.SDR, r.File, r.Method, r.Print, r.Most}
}

// fingerprint tells two versions of a method apart by what they make of a fixed signal at
// a rate, clipped heavily and lightly, for what is done differs; without it a kept result
// would outlive the code that made it.
func (m method) fingerprint(rate int) (string, error) {
	h := fnv.New32a()
	for _, sdr := range []float64{6, 15} {
		x := make([]float64, rate/4)
		seed := uint32(1)
		var s [2]float64
		for i := range x {
			seed = seed*1664525 + 1013904223
			e := float64(int32(seed))/(1<<31) + 8*max(0, math.Sin(2*math.Pi*110*float64(i)/float64(rate))-0.9)
			v := e + 1.8*math.Cos(2*math.Pi*600/float64(rate))*s[0] - 0.92*s[1]
			s[0], s[1] = v, s[0]
			x[i] = v
		}
		y, theta := speechset.Clip(x, sdr)
		out, err := m.run(y, rate, theta)
		if err != nil {
			return "", err
		}
		binary.Write(h, binary.LittleEndian, out)
	}
	return fmt.Sprintf("%08x", h.Sum32()), nil
}

// A store is the results so far, and the file they go to.
type store struct {
	got  map[key]result
	last map[string]result // see newest
	file *os.File
}

func openStore(path string) (*store, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR|os.O_APPEND, 0o666)
	if err != nil {
		return nil, err
	}
	s := &store{got: map[key]result{}, last: map[string]result{}, file: f}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		var r result
		if json.Unmarshal(lines.Bytes(), &r) == nil { // a line cut short by a stop is measured again
			s.hold(r)
		}
	}
	return s, lines.Err()
}

func (s *store) hold(r result) {
	s.got[r.key()] = r
	kind, _, _ := strings.Cut(r.Set, " ")
	s.last[newest(kind, r.Method, r.RateHz)] = r
}

// newest is where the last result is kept of a method at a rate and of a set, without what
// tells talkers of different days apart.
func newest(set, method string, rate int) string { return fmt.Sprint(set, " ", method, " ", rate) }

func (s *store) put(r result) error {
	s.hold(r)
	b, err := json.Marshal(r)
	if err != nil {
		return err
	}
	_, err = s.file.Write(append(b, '\n'))
	return err
}

// cell is what came of the files of a set.
type cell struct {
	gain, stoi, estoi spread // dB, and of the mended
	stoi0, estoi0     spread // of the clipped
	worst, times      float64
	percent           float64
	seconds           float64 // of all files
	date              string
	whole             bool
}

// spread is the mean of n values and its standard error.
type spread struct{ n, sum, square float64 }

func (s *spread) add(v float64) { s.n, s.sum, s.square = s.n+1, s.sum+v, s.square+v*v }

func (s spread) mean() float64 { return s.sum / s.n }

func (s spread) err() float64 {
	return math.Sqrt(max(0, s.square/s.n-s.mean()*s.mean()) / (s.n - 1))
}

func (s *store) cell(set string, items []speechset.Item, rate int, sdr, most float64, m method) cell {
	c := cell{worst: math.Inf(1), whole: true}
	for _, it := range items {
		r, ok := s.got[key{set, rate, sdr, it.Name, m.name, m.print, most}]
		if !ok {
			return cell{}
		}
		c.gain.add(r.GainDB)
		c.worst = min(c.worst, r.GainDB)
		if r.STOI != (pair{}) {
			c.stoi.add(r.STOI.Mended)
			c.estoi.add(r.ESTOI.Mended)
			c.stoi0.add(r.STOI.Clipped)
			c.estoi0.add(r.ESTOI.Clipped)
		}
		c.times += r.CPUS
		c.percent += r.Percent / float64(len(items))
		c.date = max(c.date, r.Date)
		c.seconds += r.Seconds
	}
	c.times = c.seconds / c.times
	return c
}

func numbers(text, flag string) ([]float64, error) {
	var out []float64
	for _, s := range strings.Split(text, ",") {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return nil, fmt.Errorf("--%s: %w", flag, err)
		}
		out = append(out, v)
	}
	return out, nil
}

// speech returns a set, and the name its results are kept under: our talkers learn to
// speak better from time to time, and then count as others.
func speech(set string) (items []speechset.Item, name string, err error) {
	switch set {
	case "test":
		items = speechset.Test
	case "held":
		items = speechset.Held
	case "tuning":
		items = speechset.Tuning
	case "talkers":
		items = speechset.Talkers(4)
		h := fnv.New32a()
		for _, it := range items {
			x, err := it.Load(16000)
			if err != nil {
				return nil, "", err
			}
			binary.Write(h, binary.LittleEndian, x)
		}
		return items, fmt.Sprintf("talkers %08x", h.Sum32()), nil
	default:
		if items, err = speechset.Folder(set); err != nil {
			return nil, "", fmt.Errorf("--set is none of test, held, tuning, talkers, and as a folder: %w", err)
		}
	}
	if err := speechset.Missing(items); err != nil {
		return nil, "", err
	}
	return items, set, nil
}

func run(ctx context.Context, w io.Writer) error {
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = os.TempDir()
	}
	rates := flag.String("rate", "16000", "sample rates, Hz")
	levels := flag.String("levels", "1,3,5,7,10,15,20", "input SDR, dB")
	set := flag.String("set", "test", "test, held, tuning, talkers, or a `FOLDER` of WAV files")
	methods := flag.String("methods", "fast,best,adeclip", "what to run: fast, balanced, best, adeclip, adeclip-tuned")
	most := flag.Float64("seconds", 0, "use at most so much of each file, from its middle; 0 for all")
	files := flag.Bool("files", false, "also print every file")
	keep := flag.String("store", filepath.Join(cache, "gainwright", "declip.jsonl"), "results are kept in this `FILE`, and not measured again")
	readme := flag.String("readme", "", "measure nothing; write the tables of what is kept into this `FILE`, between its marks")
	flag.Parse()
	known := []method{effort(repair.Fast), effort(repair.Balanced), effort(repair.Best),
		ffmpeg("adeclip", "adeclip"), ffmpeg("adeclip-tuned", "adeclip=t=1:m=s:w=55:a=16")}
	var use []method
	for _, name := range strings.Split(*methods, ",") {
		i := slices.IndexFunc(known, func(m method) bool { return m.name == name })
		if i < 0 {
			return fmt.Errorf("--methods: %q is not known", name)
		}
		use = append(use, known[i])
	}
	sdrs, err := numbers(*levels, "levels")
	if err != nil {
		return err
	}
	hz, err := numbers(*rates, "rate")
	if err != nil {
		return err
	}
	kept, err := openStore(*keep)
	if err != nil {
		return err
	}
	defer kept.file.Close()
	if *readme != "" {
		return kept.intoReadme(*readme, use, sdrs)
	}
	items, name, err := speech(*set)
	if err != nil {
		return err
	}
	for _, h := range hz {
		for i, m := range use {
			if use[i].print, err = m.fingerprint(int(h)); err != nil {
				return err
			}
		}
		if err := kept.measure(ctx, w, name, items, int(h), sdrs, *most, use, *files); err != nil {
			return err
		}
		kept.print(w, name, items, int(h), sdrs, *most, use)
	}
	return nil
}

// measure runs what is not in the store yet.
func (s *store) measure(ctx context.Context, w io.Writer, set string, items []speechset.Item, rate int, sdrs []float64, most float64, use []method, files bool) error {
	waves := make([][]float64, len(items))
	for _, sdr := range sdrs {
		for f, it := range items {
			var y []float64
			var theta float64
			line := fmt.Sprintf("%d Hz %2g dB %-16s", rate, sdr, it.Name)
			for _, m := range use {
				r := result{Set: set, RateHz: rate, SDR: sdr, File: it.Name, Method: m.name, Print: m.print, Most: most}
				if old, ok := s.got[r.key()]; ok {
					line += fmt.Sprintf("  %s %6.2f", m.name, old.GainDB)
					continue
				}
				if err := ctx.Err(); err != nil {
					return err
				}
				if waves[f] == nil {
					x, err := it.Load(rate)
					if err != nil {
						return err
					}
					if n := int(most * float64(rate)); n > 0 && n < len(x) {
						x = x[(len(x)-n)/2:][:n]
					}
					waves[f] = x
				}
				x := waves[f]
				if y == nil {
					y, theta = speechset.Clip(x, sdr)
				}
				start := cpu()
				out, err := m.run(y, rate, theta)
				if err != nil {
					return err
				}
				r.CPUS, r.Seconds = cpu()-start, float64(len(x))/float64(rate)
				r.GainDB = speechset.SDR(x, out) - sdr
				if r.STOI, r.ESTOI, err = heard(x, y, out, rate); err != nil {
					return err
				}
				r.Percent = 100 * repair.Known(y, theta).Share
				r.Date = time.Now().Format("2006-01-02")
				if err := s.put(r); err != nil {
					return err
				}
				line += fmt.Sprintf("  %s %6.2f", m.name, r.GainDB)
			}
			if files {
				fmt.Fprintln(w, line)
			}
		}
	}
	return nil
}

// heard is STOI and ESTOI of y and out against x.
func heard(x, y, out []float64, rate int) (s, e pair, err error) {
	if s.Clipped, e.Clipped, err = stoi.Measure(x, y, rate); err == nil {
		s.Mended, e.Mended, err = stoi.Measure(x, out, rate)
	}
	if errors.Is(err, stoi.ErrShort) {
		return pair{}, pair{}, nil
	}
	return s, e, err
}

func (s *store) print(w io.Writer, set string, items []speechset.Item, rate int, sdrs []float64, most float64, use []method) {
	fmt.Fprintf(w, "\n%d files of set %q at %d Hz, mean ΔSDR in dB ± its standard error (seconds of signal per processor second)\n\n", len(items), set, rate)
	head := "| input SDR, dB |"
	for _, v := range sdrs {
		head += fmt.Sprintf(" %g |", v)
	}
	fmt.Fprintln(w, head)
	fmt.Fprintln(w, "|---"+strings.Repeat("|---", len(sdrs))+"|")
	share, clipped := "| clipped samples, % |", "| clipped, STOI and ESTOI |"
	for i, m := range use {
		mean, worst, heard := "| "+m.name+" |", "| "+m.name+", worst file |", "| "+m.name+", STOI and ESTOI |"
		for _, v := range sdrs {
			c := s.cell(set, items, rate, v, most, m)
			mean += fmt.Sprintf(" %.2f ± %.2f (%.2f) |", c.gain.mean(), c.gain.err(), c.times)
			worst += fmt.Sprintf(" %.2f |", c.worst)
			heard += fmt.Sprintf(" %.3f %.3f ± %.3f |", c.stoi.mean(), c.estoi.mean(), c.estoi.err())
			if i == 0 {
				share += fmt.Sprintf(" %.1f |", c.percent)
				clipped += fmt.Sprintf(" %.3f %.3f |", c.stoi0.mean(), c.estoi0.mean())
			}
		}
		fmt.Fprintln(w, mean+"\n"+worst+"\n"+heard)
	}
	fmt.Fprintln(w, clipped+"\n"+share)
}

const (
	beginMark = "<!-- declip table: go run ./tests/repair/table -->"
	endMark   = "<!-- end of declip table -->"
)

// intoReadme puts the tables of both sets at both rates, as the newest version of each
// method made them, between the marks of a file.
func (s *store) intoReadme(path string, use []method, sdrs []float64) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	begin, end := bytes.Index(text, []byte(beginMark)), bytes.Index(text, []byte(endMark))
	if begin < 0 || end < begin {
		return fmt.Errorf("%s has no %q … %q", path, beginMark, endMark)
	}
	t := readmeTables{store: s, use: use, sdrs: sdrs}
	t.head(&t.gains, "| speech | rate | files, of them oversampled | method |", 4)
	t.head(&t.heard, "| speech | rate | method |", 3)
	for _, set := range []struct{ name, words string }{{"test", "recordings"}, {"talkers", "our talkers"}} {
		items := speechset.Test
		if set.name == "talkers" {
			items = speechset.Talkers(4)
		}
		for _, rate := range []int{16000, 48000} {
			t.rows(set.name, set.words, items, rate)
		}
	}
	blank := ""
	if strings.Contains(t.gains.String(), "–") {
		blank = "; – was not measured, for want of time"
	}
	days := t.last
	if t.first != t.last {
		days = t.first + " to " + t.last
	}
	out := fmt.Sprintf("%s%s\n%s\nMeasured on %s by `go run ./tests/repair/table --rate 16000,48000` (and `--set talkers`)%s. How well words come through, by STOI and ESTOI (1 is all):\n\n%s%s",
		text[:begin], beginMark, t.gains.String(), days, blank, t.heard.String(), text[end:])
	if t.missing > 0 {
		fmt.Fprintf(os.Stderr, "table: %d values are not measured yet\n", t.missing)
	}
	return os.WriteFile(path, []byte(out), 0o666)
}

// readmeTables are the tables of what was gained and of how it is understood, in the making.
type readmeTables struct {
	store        *store
	use          []method
	sdrs         []float64
	gains, heard strings.Builder
	first, last  string // days
	missing      int
}

func (t *readmeTables) head(b *strings.Builder, head string, columns int) {
	for _, v := range t.sdrs {
		head += fmt.Sprintf(" %g dB |", v)
	}
	fmt.Fprintln(b, head+"\n"+strings.Repeat("|---", columns+len(t.sdrs))+"|")
}

// rows adds what is kept of a set at a rate, of the newest version of each method.
func (t *readmeTables) rows(set, words string, items []speechset.Item, rate int) {
	names := map[string]string{"best": "**best**", "adeclip": "ffmpeg `adeclip`"}
	clipped := ""
	for _, m := range t.use {
		last := t.store.last[newest(set, m.name, rate)]
		m.print = last.Print
		name := m.name
		if n := names[name]; n != "" {
			name = n
		}
		gains, heard, before, seconds := "", "", "", 0.0
		for _, v := range t.sdrs {
			c := t.store.cell(last.Set, items, rate, v, 0, m)
			if !c.whole {
				t.missing++
				gains, heard, before = gains+" – |", heard+" – |", before+" – |"
				continue
			}
			seconds = c.seconds
			t.last = max(t.last, c.date)
			if t.first == "" || c.date < t.first {
				t.first = c.date
			}
			gains += strings.ReplaceAll(fmt.Sprintf(" %.1f ± %.1f |", c.gain.mean(), c.gain.err()), "-", "−")
			heard += fmt.Sprintf(" %.2f %.2f |", c.stoi.mean(), c.estoi.mean())
			before += fmt.Sprintf(" %.2f %.2f |", c.stoi0.mean(), c.estoi0.mean())
		}
		if seconds == 0 {
			continue
		}
		start := fmt.Sprintf("| %s | %d kHz |", words, rate/1000)
		fmt.Fprintf(&t.gains, "%s %s | %s |%s\n", start, behind(items, rate, seconds), name, gains)
		if clipped == "" {
			clipped = before
			fmt.Fprintf(&t.heard, "%s clipped |%s\n", start, before)
		}
		fmt.Fprintf(&t.heard, "%s %s |%s\n", start, name, heard)
	}
}

// behind says what stands behind a row: how many files and seconds, and how many of the
// files were recorded at a lower rate.
func behind(items []speechset.Item, rate int, seconds float64) string {
	over := "none"
	n := 0
	for _, it := range items {
		if it.Own() < rate {
			n++
		}
	}
	if n > 0 {
		over = strconv.Itoa(n)
	}
	return fmt.Sprintf("%d (%.0f s), %s", len(items), seconds, over)
}

// cpu is the processor time of this process and its children, in seconds.
func cpu() float64 {
	sum := 0.0
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			sum += float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
		}
	}
	return sum
}
