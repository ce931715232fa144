// Command light measures declipping where it has most to lose, in takes that are clipped
// lightly, and sets how cautious it is and what it may promise.
//
//	go run ./tests/repair/light                  # the speakers that are worked on
//	go run ./tests/repair/light --calibrate      # and writes the tables of caution and promises
//	go run ./tests/repair/light --calibrate --low # sets only what holds up to 24 kHz
//	go run ./tests/repair/light --calibrate --high # only what holds above
//	go run ./tests/repair/light --calibrate --promises # leaves the caution as it is
//	go run ./tests/repair/light --held           # the others: for judging, once, at the end
//	go run ./tests/repair/light --held --low     # these at 16 kHz
//	go run ./tests/repair/light --later          # nine more, by whom it was judged last
//
// There are 300 light takes (12 to 25 dB between voice and error, a handful of clipped
// samples, half a second) and some 100 heavy ones (3 to 10 dB) on each side. The packages
// are those of gainwright/tests/repair/speechset. After any change to package
// gainwright/sim/repair/restore, calibrate and judge; that takes twenty minutes on one core, and
// five minutes.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"

	"gainwright/sim/repair"
	"gainwright/sim/repair/restore"
	"gainwright/tests/repair/lightly"
	"gainwright/tests/repair/speechset"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "light:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, w io.Writer) error {
	held := flag.Bool("held", false, "the speakers that nothing is set by")
	later := flag.Bool("later", false, "nine more speakers, by whom it was judged on 2026-11-29: looked at, nothing set by")
	low := flag.Bool("low", false, "all takes at 16 kHz; with --calibrate, set only what holds up to 24 kHz")
	high := flag.Bool("high", false, "with --calibrate, set only what holds above 24 kHz")
	promises := flag.Bool("promises", false, "with --calibrate, set only what is promised, with the caution in use")
	calibrate := flag.Bool("calibrate", false, "write what the caution weighs and what is promised into --tables")
	round := flag.Int("round", 0, "another round of the same speakers, otherwise processed")
	tables := flag.String("tables", "sim/repair", "`FOLDER` of package repair, for the tables")
	efforts := flag.String("efforts", "best,balanced,fast", "what to run; best comes first when the caution is to be set")
	flag.Parse()
	if *calibrate && (*held || *later) {
		return fmt.Errorf("what is --held or --later sets nothing")
	}
	if *promises && !*calibrate {
		return fmt.Errorf("--promises goes with --calibrate")
	}
	if *high && (*low || !*calibrate) {
		return fmt.Errorf("--high goes with --calibrate, and without --low")
	}
	var people []speechset.Speaker
	if *later {
		people = speechset.Later[speechset.Seen:]
	} else {
		people = speechset.Side(*held)
	}
	if err := speechset.MissingSpeakers(people); err != nil {
		return err
	}
	var use []repair.Effort
	for _, name := range strings.Split(*efforts, ",") {
		e, err := repair.ParseEffort(name)
		if err != nil {
			return err
		}
		use = append(use, e)
	}
	if *calibrate {
		return calibrated(ctx, w, use, rates{up: !*high, above: !*low, caution: !*promises}, *tables)
	}
	for _, e := range use {
		for _, list := range []struct {
			name  string
			cases []speechset.LightCase
		}{{"light", speechset.LightOf(people, *round)}, {"heavy", speechset.HeavyOf(people, *round)}} {
			if *low {
				list.cases = speechset.At16kHz(list.cases)
			}
			all, err := measured(ctx, w, list.cases, e, lightly.Watch)
			if err != nil {
				return err
			}
			lightly.Sum(all).Print(w, fmt.Sprintf("%v, %s", e, list.name))
			if e != repair.Fast {
				heed(all, restore.NoCaution())
				lightly.Sum(all).Print(w, fmt.Sprintf("%v, %s, as it would be without caution", e, list.name))
			}
		}
	}
	return nil
}

func measured(ctx context.Context, w io.Writer, list []speechset.LightCase, e repair.Effort, how func(context.Context, speechset.LightCase, repair.Effort) (lightly.Result, error)) ([]lightly.Result, error) {
	var all []lightly.Result
	for i, c := range list {
		r, err := how(ctx, c, e)
		if errors.Is(err, speechset.ErrNarrow) {
			fmt.Fprintf(w, "%v %d/%d %s: left out: %v\n", e, i+1, len(list), c, err)
			continue
		}
		if err != nil {
			return nil, err
		}
		all = append(all, r)
		fmt.Fprintf(w, "%v %d/%d %s\n", e, i+1, len(list), r)
	}
	return all, nil
}

// rates are those that something is set for: up to 24 kHz, and above; and whether the caution
// is, too.
type rates struct{ up, above, caution bool }

// calibrated sets the cautions by what best does, and then what each effort promises with
// them.
func calibrated(ctx context.Context, w io.Writer, use []repair.Effort, set rates, tables string) error {
	promises := map[repair.Effort]repair.Promises{}
	for _, e := range []repair.Effort{repair.Best, repair.Balanced, repair.Fast} {
		promises[e] = repair.PromisesOf(e)
	}
	cautions := restore.TheCautions()
	for _, e := range use {
		takes, err := takesOf(ctx, w, e, set)
		if err != nil {
			return err
		}
		if e == repair.Best && set.caution {
			if set.up {
				cautions.Low = lightly.Fit(seen(takes, func(rate int) bool { return !restore.Wide(rate) }))
			}
			if set.above {
				cautions.High = lightly.Fit(seen(takes, restore.Wide))
			}
			fmt.Fprintf(w, "cautions %.4f\n", cautions)
			if err := writeCautions(filepath.Join(tables, "restore", "caution_table.go"), cautions); err != nil {
				return err
			}
		}
		if e != repair.Fast && set.caution {
			heed(takes, &cautions)
			for i, r := range takes {
				fmt.Fprintf(w, "%v with it %d %s\n", e, i+1, r)
			}
		}
		of := func(low bool) repair.Promise {
			return fit(slices.DeleteFunc(slices.Clone(takes), func(r lightly.Result) bool { return restore.Wide(r.Rate) == low }), e != repair.Fast)
		}
		p := repair.PromisesOf(e)
		if set.up {
			p.Low = of(true)
		}
		if set.above {
			p.High = of(false)
		}
		promises[e] = p
		for i, r := range takes {
			if takes[i].Promised = 0; r.Sure {
				takes[i].Promised = promises[e].Of(r.Rate).At(r.Agreement, r.SDR)
			}
		}
		for _, list := range split(takes) {
			if len(list.takes) == 0 {
				continue
			}
			lightly.Sum(list.takes).Print(w, fmt.Sprintf("%v, %s", e, list.name))
		}
		fmt.Fprintf(w, "%v promises %+v\n", e, promises[e])
	}
	return writePromises(filepath.Join(tables, "promise_table.go"), promises)
}

// takesOf is what there is to learn from: the takes at 16 kHz, for low rates, and as they
// are, for high ones, and of best, whose caution the others share, the light ones otherwise
// processed.
func takesOf(ctx context.Context, w io.Writer, e repair.Effort, set rates) ([]lightly.Result, error) {
	cases := slices.Concat(speechset.LightCases(false, 0), speechset.HeavyCases(false, 0))
	slow := func(c speechset.LightCase) bool { return c.Speaker.Rate == 16000 }
	var use []speechset.LightCase
	if set.up {
		use = speechset.At16kHz(cases)
	}
	if set.above {
		use = append(slices.DeleteFunc(use, slow), cases...)
		if e == repair.Best {
			use = append(use, speechset.LightCases(false, 5)...)
		}
		if !set.up {
			use = slices.DeleteFunc(use, slow)
		}
	}
	all, err := measured(ctx, w, use, e, lightly.Watch)
	if err != nil {
		return nil, err
	}
	for _, r := range all {
		if r.Seen != nil && r.Case.Heavy() {
			r.Seen.Weight = heavyWeight
		}
	}
	return all, nil
}

type named struct {
	name  string
	takes []lightly.Result
}

// split are the takes by rate, and by how much is clipped.
func split(all []lightly.Result) []named {
	list := []named{{name: "light, up to 24 kHz"}, {name: "heavy, up to 24 kHz"}, {name: "light"}, {name: "heavy"}}
	for _, r := range all {
		k := 0
		if restore.Wide(r.Rate) {
			k = 2
		}
		if r.Case.Heavy() {
			k++
		}
		list[k].takes = append(list[k].takes, r)
	}
	return list
}

// heavyWeight is how much a take clipped heavily counts in setting the caution, whose
// business it is to let these pass.
const heavyWeight = 3

func seen(all []lightly.Result, at func(rate int) bool) (out []*lightly.Seen) {
	for _, r := range all {
		if r.Seen != nil && at(r.Rate) {
			out = append(out, r.Seen)
		}
	}
	return out
}

// heed makes results what they would be with other cautions.
func heed(all []lightly.Result, c *restore.Cautions) {
	for i := range all {
		if all[i].Seen != nil {
			all[i].GainDB, all[i].SDR = all[i].Seen.After(c)
			all[i].Sure = all[i].SDR >= 3
			all[i].ESTOI, all[i].Promised = math.NaN(), 0
		}
	}
}

// fit finds a promise that nine of ten takes keep: a plane below which a tenth of the takes
// lies (quantile regression: Koenker, Bassett, Econometrica 46, 1978), lowered by as much as
// it promises too much to speakers that it was not fitted to, a third of them at a time
// (cross-conformal prediction: Vovk, Ann. Math. Artif. Intell. 74, 2015).
func fit(all []lightly.Result, apart bool) repair.Promise {
	third, n := map[string]int{}, 0
	for _, s := range speechset.Speakers {
		if !s.Held {
			third[s.Name] = n % 3
			n++
		}
	}
	var off []float64
	for k := range 3 {
		var from, to []lightly.Result
		for _, r := range all {
			switch {
			case !r.Sure:
			case third[r.Case.Speaker.Name] == k:
				to = append(to, r)
			default:
				from = append(from, r)
			}
		}
		p := plane(from, apart)
		for _, r := range to {
			off = append(off, r.GainDB-p.Plane(r.Agreement, r.SDR))
		}
	}
	p := plane(all, apart)
	slices.Sort(off)
	p.Base += off[max(0, int(math.Floor(broken*float64(len(off)+1)))-1)]
	return p
}

const broken = 0.1 // of the promises, at most

// plane is the quantile regression, by descent (Adam) on a loss with a round corner.
func plane(all []lightly.Result, apart bool) repair.Promise {
	var w, m, v [3]float64
	for round := 1; round <= 6000; round++ {
		var g [3]float64
		for _, r := range all {
			if !r.Sure {
				continue
			}
			x := [3]float64{1, min(max(r.Agreement, 0), repair.MostAgreement) / 10, min(max(r.SDR, 0), repair.MostSDR) / 10}
			if !apart {
				x[1] = 0
			}
			d := min(r.GainDB, 25) - w[0]*x[0] - w[1]*x[1] - w[2]*x[2]
			slope := 1/(1+math.Exp(4*d)) - broken
			for k := range g {
				g[k] += slope * x[k] / float64(len(all))
			}
		}
		for k := range w {
			m[k] = 0.9*m[k] + 0.1*g[k]
			v[k] = 0.99*v[k] + 0.01*g[k]*g[k]
			w[k] -= 0.3 / math.Sqrt(float64(round)) * m[k] / (math.Sqrt(v[k]) + 1e-9)
		}
	}
	return repair.Promise{Base: w[0], PerApart: w[1] / 10, PerSDR: w[2] / 10}
}

func writeCautions(path string, c restore.Cautions) error {
	row := func(name string, c restore.Caution) string {
		var b strings.Builder
		for i, v := range c {
			if i > 0 {
				b.WriteString(", ")
			}
			fmt.Fprintf(&b, "%.4f", v)
		}
		return fmt.Sprintf("\t%s Caution{%s},\n", name, b.String())
	}
	text := "package restore\n\n// Code generated by go run ./tests/repair/light --calibrate. DO NOT EDIT.\n\nvar theCautions = Cautions{\n" +
		row("Low: ", c.Low) + row("High:", c.High) + "}\n"
	return os.WriteFile(path, []byte(text), 0o666)
}

func writePromises(path string, p map[repair.Effort]repair.Promises) error {
	one := func(p repair.Promise) string {
		return fmt.Sprintf("Promise{%.2f, %.3f, %.3f}", p.Base, p.PerApart, p.PerSDR)
	}
	row := func(name string, e repair.Effort) string {
		return fmt.Sprintf("\t%s {%s, %s},\n", name, one(p[e].Low), one(p[e].High))
	}
	text := "package repair\n\n// Code generated by go run ./tests/repair/light --calibrate. DO NOT EDIT.\n\nimport \"gainwright/sim/repair/restore\"\n\n" +
		"// promises are what each effort may promise: up to 24 kHz, and above.\nvar promises = map[restore.Effort]Promises{\n" +
		row("restore.Best:    ", repair.Best) + row("restore.Balanced:", repair.Balanced) + row("restore.Fast:    ", repair.Fast) + "}\n"
	return os.WriteFile(path, []byte(text), 0o666)
}
