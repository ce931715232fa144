package serve

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"sync/atomic"
	"time"

	"github.com/andybalholm/brotli"
	"github.com/gofrs/flock"

	"gainwright/lessons"
)

// Names within a kept build.
const (
	wasmName = "scene.wasm"
	execName = "wasm_exec.js"
	sumsName = "SHA256SUMS"
	// lockName stands beside the builds, and stays: a file that comes and goes
	// could be held under two names.
	lockName = ".lock"
	// watchedName begins with a dot, so that it is taken for no build.
	watchedName = ".watched"
	// buildPrefix begins the name of a build under way.
	buildPrefix = ".build-"
	// kept is how many builds stay: the present one, and a few so that going
	// back and forth between versions of the source does not compile each time.
	kept = 4
	// brotliQuality is as good as a first start can wait for: 9 takes 8 s where 5
	// takes 2.5 s and sends 4 % less; 11 had not ended after five minutes (beside other
	// work, two cores).
	brotliQuality = 9
)

// gcflags.txt has the patterns of packages with what the compiler is told of them, one a
// line; of those that fit a package the last one counts. Nothing is put in line but where
// the sound and the picture are made, and what that stands on: elsewhere (readers of
// scenarios and rules, the shader compiler, text) it only makes the download larger, by an
// eighth. (A file, so that tests/all.sh compiles for the browser with the same flags, and
// thereby once.)
//
//go:embed gcflags.txt
var gcflags string

// recipe tells builds apart that were made of the same source in another way.
func (c *Cache) recipe() string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %d", c.buildFlags(), brotliQuality))
	return hex.EncodeToString(sum[:4])
}

// buildFlags are those of the compiler.
func (c *Cache) buildFlags() []string {
	version := c.Version
	if version == "" {
		version = lessons.Version()
	}
	flags := []string{"-trimpath", "-buildvcs=false", "-ldflags", "-s -w -X '" + lessons.BuiltFlag(version) + "'"}
	for _, p := range strings.Fields(gcflags) {
		flags = append(flags, "-gcflags="+p)
	}
	return flags
}

// Cache keeps builds below Dir.
type Cache struct {
	Dir string
	// Say tells the user what is going on; done is how many packages are
	// compiled so far, and seconds how long it has taken. It is called about
	// once a second and at each new step.
	Say func(step string, done int, seconds float64)

	// Compile makes out of the source in src and gives line the name of each package
	// compiled; nil: with the Go compiler.
	Compile func(ctx context.Context, t Tool, src, out string, line func(string)) error

	// Version is what results made in the scene say of the program; "": this one's.
	Version string

	// plain leaves builds uncompressed, which nobody downloads: Watched.
	plain bool
}

// Watched is a cache beside c for a source that is being worked on: its builds are not
// compressed, and do not push those of c out.
func (c *Cache) Watched() *Cache {
	w := *c
	w.Dir, w.plain = filepath.Join(c.Dir, watchedName), true
	return &w
}

// NewCache is the user's own cache.
func NewCache() (*Cache, error) {
	d, err := os.UserCacheDir()
	if err != nil {
		return nil, fmt.Errorf("no place to keep the compiled scene: %w", err)
	}
	return &Cache{Dir: filepath.Join(d, "gainwright")}, nil
}

func (c *Cache) say(step string, done int, since time.Time) {
	if c.Say != nil {
		c.Say(step, done, time.Since(since).Seconds())
	}
}

// Ensure returns the directory of the build of the source in src, compiling it
// if it is not there yet. fresh reports whether it was compiled now.
func (c *Cache) Ensure(ctx context.Context, src string) (dir string, fresh bool, err error) {
	source, err := SourceKey(src)
	if err != nil {
		return "", false, err
	}
	tool, err := FindTool(ctx, src)
	if errors.Is(err, ErrNoGo) {
		// Whatever Go built it: an old build of this very source will do.
		if d := c.newest(source + "-"); d != "" {
			return d, false, nil
		}
	}
	if err != nil {
		return "", false, err
	}
	dir = filepath.Join(c.Dir, source+"-"+tool.Version+"-"+c.recipe())
	if c.complete(dir) {
		c.touch(dir)
		return dir, false, nil
	}
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return "", false, fmt.Errorf("no place to keep the compiled scene: %w", err)
	}
	unlock, err := c.lock(ctx)
	if err != nil {
		return "", false, err
	}
	defer unlock()
	if c.complete(dir) { // another start was faster
		return dir, false, nil
	}
	if err := c.build(ctx, tool, src, dir); err != nil {
		return "", false, err
	}
	c.prune(dir)
	return dir, true, nil
}

// parts are the files of a build, but sumsName, which lists their SHA-256 as the
// program sha256sum does and checks.
func (c *Cache) parts() []string {
	if c.plain {
		return []string{wasmName, execName}
	}
	return []string{wasmName, wasmName + ".gz", wasmName + ".br", execName}
}

func (c *Cache) sums(dir string) (string, error) {
	var list strings.Builder
	for _, n := range c.parts() {
		f, err := os.Open(filepath.Join(dir, n))
		if err != nil {
			return "", err
		}
		h := sha256.New()
		size, err := io.Copy(h, f)
		f.Close()
		if err == nil && size == 0 {
			err = fmt.Errorf("%s is empty", n)
		}
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&list, "%x  %s\n", h.Sum(nil), n)
	}
	return list.String(), nil
}

// complete reports whether dir holds a whole build, each file as it was made.
// Builds are moved into place whole; but disks fail, copies break off and people
// clean up, and a browser would only say that it cannot start. Reading it all takes
// a tenth of a second.
func (c *Cache) complete(dir string) bool {
	want, err := os.ReadFile(filepath.Join(dir, sumsName))
	if err != nil {
		return false
	}
	got, err := c.sums(dir)
	return err == nil && got == string(want)
}

func (c *Cache) touch(dir string) {
	now := time.Now()
	os.Chtimes(dir, now, now) // only for pruning; a failure costs a compilation later
}

// newest returns the newest complete build whose key begins with prefix.
func (c *Cache) newest(prefix string) string {
	for _, d := range c.builds() {
		if strings.HasPrefix(filepath.Base(d), prefix) && c.complete(d) {
			return d
		}
	}
	return ""
}

// builds lists the kept builds, newest first.
func (c *Cache) builds() []string {
	entries, err := os.ReadDir(c.Dir)
	if err != nil {
		return nil
	}
	type build struct {
		dir  string
		when time.Time
	}
	var all []build
	for _, e := range entries {
		if i, err := e.Info(); err == nil && e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			all = append(all, build{filepath.Join(c.Dir, e.Name()), i.ModTime()})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].when.After(all[j].when) })
	dirs := make([]string, len(all))
	for i, b := range all {
		dirs[i] = b.dir
	}
	return dirs
}

// prune removes all but the newest builds. Whoever calls it holds the lock, so
// that whatever else was begun was left behind.
func (c *Cache) prune(keep string) {
	for i, d := range c.builds() {
		if i >= kept && d != keep {
			os.RemoveAll(d)
		}
	}
	entries, _ := os.ReadDir(c.Dir)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), buildPrefix) {
			os.RemoveAll(filepath.Join(c.Dir, e.Name()))
		}
	}
}

// lock waits until no other start compiles. The lock is the operating system's: it
// ends with the program that holds it, however that ends, and heeds no file's time.
// Where there are none (some network drives) two starts may compile the same, and
// whichever is later wins, whole.
func (c *Cache) lock(ctx context.Context) (unlock func(), err error) {
	l := flock.New(filepath.Join(c.Dir, lockName))
	began := time.Now()
	for {
		got, err := l.TryLock()
		if got || err != nil {
			return func() { l.Close() }, nil
		}
		c.say("Waiting for another start that is compiling the scene", 0, began)
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(250 * time.Millisecond):
		}
	}
}

// build compiles into a directory beside dir and moves it into place whole.
func (c *Cache) build(ctx context.Context, tool Tool, src, dir string) error {
	tmp, err := os.MkdirTemp(c.Dir, buildPrefix)
	if err != nil {
		return fmt.Errorf("no place to keep the compiled scene: %w", err)
	}
	defer os.RemoveAll(tmp)
	if err := os.Chmod(tmp, 0o755); err != nil {
		return err
	}
	wasm := filepath.Join(tmp, wasmName)
	if err := c.compiling(ctx, tool, src, wasm); err != nil {
		return err
	}
	if !c.plain {
		c.say("Compressing it", 0, time.Now())
		if err := pack(wasm); err != nil {
			return err
		}
	}
	js, err := os.ReadFile(filepath.Join(tool.Root, "lib", "wasm", execName))
	if err != nil {
		return fmt.Errorf("the Go installation lacks its browser support: %w", err)
	}
	if err := os.WriteFile(filepath.Join(tmp, execName), js, 0o644); err != nil {
		return err
	}
	list, err := c.sums(tmp)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(tmp, sumsName), []byte(list), 0o644); err != nil {
		return err
	}
	os.RemoveAll(dir) // an incomplete one
	if err := os.Rename(tmp, dir); err != nil && !c.complete(dir) {
		return fmt.Errorf("keeping the compiled scene: %w", err)
	}
	return nil
}

// compiling runs the compiler and tells how it goes.
func (c *Cache) compiling(ctx context.Context, tool Tool, src, out string) error {
	began := time.Now()
	var done atomic.Int64
	const step = "Compiling the scene for the browser (only after a change)"
	c.say(step, 0, began)
	stop := make(chan struct{})
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		t := time.NewTicker(time.Second)
		defer t.Stop()
		for {
			select {
			case <-stop:
				return
			case <-t.C:
				c.say(step, int(done.Load()), began)
			}
		}
	}()
	compile := c.Compile
	if compile == nil {
		compile = c.goBuild
	}
	err := compile(ctx, tool, src, out, func(string) { done.Add(1) })
	close(stop)
	<-ended
	return err
}

// goBuild runs the Go compiler; line gets the name of every package compiled.
func (c *Cache) goBuild(ctx context.Context, tool Tool, src, out string, line func(string)) error {
	cmd := exec.CommandContext(ctx, tool.Path, append(append([]string{"build", "-v"}, c.buildFlags()...), "-o", out, scenePackage)...)
	cmd.Dir = src
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 3 * time.Second
	stderr, err := cmd.StderrPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("starting the Go compiler: %w", err)
	}
	var all bytes.Buffer
	sc := bufio.NewScanner(stderr)
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		all.WriteString(sc.Text() + "\n")
		if packageName.MatchString(sc.Text()) {
			line(sc.Text())
		}
	}
	if err := cmd.Wait(); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return fmt.Errorf("compiling the scene failed: %s", firstError(all.String()))
	}
	return nil
}

var (
	packageName = regexp.MustCompile(`^[\w.\-/~]+$`)
	errorLine   = regexp.MustCompile(`\.go:\d+:|^go: |^package `)
)

// firstError picks the line of a compiler's output that says what is wrong.
func firstError(out string) string {
	lines := strings.Split(strings.TrimSpace(out), "\n")
	for _, l := range lines {
		if errorLine.MatchString(l) && !strings.HasPrefix(l, "go: downloading") {
			return strings.TrimSpace(l)
		}
	}
	return strings.TrimSpace(lines[len(lines)-1])
}

// pack writes the compressed forms beside a file, both at once.
func pack(name string) error {
	data, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	errs := make(chan error, 2)
	go func() {
		errs <- compressTo(name+".gz", data, func(w io.Writer) io.WriteCloser {
			z, _ := gzip.NewWriterLevel(w, 6)
			return z
		})
	}()
	go func() {
		errs <- compressTo(name+".br", data, func(w io.Writer) io.WriteCloser {
			return brotli.NewWriterLevel(w, brotliQuality)
		})
	}()
	return errors.Join(<-errs, <-errs)
}

func compressTo(name string, data []byte, enc func(io.Writer) io.WriteCloser) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	b := bufio.NewWriterSize(f, 1<<16)
	z := enc(b)
	_, err = z.Write(data)
	return errors.Join(err, z.Close(), b.Flush(), f.Close())
}

// Gzipped is data compressed as far as it goes, without a name or a time: the same bytes
// from the same data.
func Gzipped(data []byte) ([]byte, error) {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}
