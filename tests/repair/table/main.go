//go:build unix

// Command table measures declipping: speech hard-clipped to given distortion
// levels, restored by every effort and by ffmpeg's general-purpose adeclip filter
// in the same run, and how much nearer to the truth each came (ΔSDR in dB, mean
// over the files).
//
//	go run ./tests/repair/table                       # the thirteen files at 16 kHz
//	go run ./tests/repair/table --rate 48000
//	go run ./tests/repair/table --set talkers --levels 3,10 --files
//
// It needs the packages that gainwright/tests/repair/speechset names, and ffmpeg
// for the rows of that name. Times are processor seconds per second of signal, on
// one core.
package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"time"

	"gainwright/sim/repair"
	"gainwright/tests/repair/speechset"
)

func main() {
	if err := run(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "table:", err)
		os.Exit(1)
	}
}

type method struct {
	name string
	run  func(y []float64, rate int, theta float64) ([]float64, error)
}

func effort(e repair.Effort) method {
	return method{e.String(), func(y []float64, rate int, theta float64) ([]float64, error) {
		c := repair.Known(y, theta)
		out, _, err := repair.Declip{Effort: e, Clips: &c}.Apply(context.Background(), y, rate, repair.Run{Cores: 1})
		return out, err
	}}
}

func ffmpeg(name, filter string) method {
	return method{name, func(y []float64, rate int, _ float64) ([]float64, error) {
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

func run(w io.Writer) error {
	rate := flag.Int("rate", 16000, "sample rate, Hz")
	levels := flag.String("levels", "1,3,5,7,10,15,20", "input SDR, dB")
	set := flag.String("set", "test", "test, tuning or talkers")
	methods := flag.String("methods", "fast,balanced,best,adeclip,adeclip-tuned", "what to run")
	most := flag.Float64("seconds", 0, "use at most so much of each file; 0 for all")
	files := flag.Bool("files", false, "also print every file")
	flag.Parse()
	var items []speechset.Item
	switch *set {
	case "test":
		items = speechset.Test
	case "tuning":
		items = speechset.Tuning
	case "talkers":
		items = speechset.Talkers(4)
	default:
		return fmt.Errorf("--set %q is not one of test, tuning, talkers", *set)
	}
	if *set != "talkers" {
		if m := speechset.Missing(items); m != "" {
			return fmt.Errorf("%s is missing; %s tells where the packages were unpacked", m, speechset.Env)
		}
	}
	known := []method{effort(repair.Fast), effort(repair.Balanced), effort(repair.Best),
		ffmpeg("adeclip", "adeclip"), ffmpeg("adeclip-tuned", "adeclip=t=1:m=s:w=55:a=16")}
	var use []method
	for _, name := range strings.Split(*methods, ",") {
		found := false
		for _, m := range known {
			if m.name == name {
				use, found = append(use, m), true
			}
		}
		if !found {
			return fmt.Errorf("--methods: %q is not known", name)
		}
	}
	var sdrs []float64
	for _, s := range strings.Split(*levels, ",") {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return fmt.Errorf("--levels: %w", err)
		}
		sdrs = append(sdrs, v)
	}
	var waves [][]float64
	seconds := 0.0
	for _, it := range items {
		x, err := it.Load(*rate)
		if err != nil {
			return err
		}
		if n := int(*most * float64(*rate)); n > 0 && n < len(x) {
			x = x[(len(x)-n)/2:][:n]
		}
		waves = append(waves, x)
		seconds += float64(len(x)) / float64(*rate)
	}
	fmt.Fprintf(w, "%s, %d files of set %q, %.0f s at %d Hz, mean ΔSDR in dB (processor seconds per second)\n\n",
		time.Now().Format("2006-01-02"), len(items), *set, seconds, *rate)
	head := "| input SDR, dB |"
	for _, s := range sdrs {
		head += fmt.Sprintf(" %g |", s)
	}
	gains := make([][]float64, len(use))
	times := make([][]float64, len(use))
	worst := make([][]float64, len(use))
	shares := make([]float64, len(sdrs))
	for m := range use {
		gains[m], times[m], worst[m] = make([]float64, len(sdrs)), make([]float64, len(sdrs)), make([]float64, len(sdrs))
	}
	for l, sdr := range sdrs {
		for m := range use {
			worst[m][l] = math.Inf(1)
		}
		for f, x := range waves {
			y, theta := speechset.Clip(x, sdr)
			shares[l] += 100 * repair.Known(y, theta).Share / float64(len(waves))
			line := fmt.Sprintf("%2g dB %-16s", sdr, items[f].Name)
			for m, how := range use {
				start := cpu()
				out, err := how.run(y, *rate, theta)
				if err != nil {
					return err
				}
				times[m][l] += (cpu() - start) / seconds
				d := speechset.SDR(x, out) - sdr
				gains[m][l] += d / float64(len(waves))
				worst[m][l] = min(worst[m][l], d)
				line += fmt.Sprintf("  %s %6.2f", how.name, d)
			}
			if *files {
				fmt.Fprintln(w, line)
			}
		}
	}
	if *files {
		fmt.Fprintln(w)
	}
	fmt.Fprintln(w, head)
	fmt.Fprintln(w, "|---"+strings.Repeat("|---", len(sdrs))+"|")
	for m, how := range use {
		fmt.Fprintf(w, "| %s |", how.name)
		for l := range sdrs {
			fmt.Fprintf(w, " %.2f (%.2f) |", gains[m][l], times[m][l])
		}
		fmt.Fprintf(w, "\n| %s, worst file |", how.name)
		for l := range sdrs {
			fmt.Fprintf(w, " %.2f |", worst[m][l])
		}
		fmt.Fprintln(w)
	}
	fmt.Fprint(w, "| clipped samples, % |")
	for l := range sdrs {
		fmt.Fprintf(w, " %.1f |", shares[l])
	}
	fmt.Fprintln(w)
	return nil
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
