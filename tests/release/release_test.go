//go:build full && linux

// Package release tries what people without Go take home: the archives of
// cmd/gainwright/release, opened and started as on a machine of theirs.
package release

import (
	"archive/tar"
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"debug/buildinfo"
	"debug/elf"
	"debug/macho"
	"debug/pe"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"gainwright/tests/limited"
)

const root = "../.."

// own is the program for this machine; the others are looked at. Nothing of ours is
// compiled for one system alone, and types are held to Windows and macOS by TestOtherSystems
// in tests: their libraries, which take minutes to compile, come with GAINWRIGHT_LONG.
var (
	own    = "linux/" + runtime.GOARCH
	others []string
)

func init() {
	if os.Getenv("GAINWRIGHT_LONG") != "" {
		others = append(others, "windows/amd64", "darwin/arm64")
		if own != "linux/arm64" {
			others = append(others, "linux/arm64")
		}
	}
}

// released makes the programs, with a command as the README names it.
func released(t *testing.T, targets []string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	cmd := limited.Command(t, 20*time.Minute, "go", "run", "./cmd/gainwright/release", "--for", strings.Join(targets, ","), dir)
	cmd.Dir = root
	began := time.Now()
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("made in %.0f s, with %.0f s of processor time\n%s", time.Since(began).Seconds(),
		(cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), out)
	return dir
}

func archive(target string) string {
	name := "gainwright-" + strings.ReplaceAll(target, "/", "-")
	if strings.HasPrefix(target, "windows/") {
		return name + ".zip"
	}
	return name + ".tar.gz"
}

// TestRelease: the sums hold, each archive has all that belongs to it, each program is
// of its system and has the scene inside; and the one for this machine shows it, without
// Go, without a network, from a folder of somebody's.
func TestRelease(t *testing.T) {
	targets := append([]string{own}, others...)
	dir := released(t, targets)
	sums, err := os.ReadFile(filepath.Join(dir, "SHA256SUMS"))
	if err != nil {
		t.Fatal(err)
	}
	var want string
	home := t.TempDir()
	programs := map[string]string{}
	for _, target := range targets {
		data, err := os.ReadFile(filepath.Join(dir, archive(target)))
		if err != nil {
			t.Fatal(err)
		}
		want += fmt.Sprintf("%x  %s\n", sha256.Sum256(data), archive(target))
		programs[target] = unpack(t, target, data, filepath.Join(home, target))
	}
	if string(sums) != want {
		t.Errorf("sums\n%swant\n%s", sums, want)
	}
	served := serveWithoutAnything(t, programs[own])
	kept := keptScene(t, served.Name)
	for _, n := range []string{"scene.wasm", "scene.wasm.br", "wasm_exec.js"} {
		data, err := os.ReadFile(filepath.Join(kept, n))
		if err != nil {
			t.Fatal(err)
		}
		if sum := fmt.Sprintf("%x", sha256.Sum256(data)); served.Sums[n] != sum || len(data) < 10000 {
			t.Errorf("%s: served %s, compiled %s, %d bytes", n, served.Sums[n], sum, len(data))
		}
	}
	coded, err := os.ReadFile(filepath.Join(kept, "scene.wasm.br"))
	if err != nil {
		t.Fatal(err)
	}
	for target, path := range programs {
		program, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := isFor(target, program); err != nil {
			t.Errorf("%s: %v", target, err)
		}
		if !bytes.Contains(program, coded) {
			t.Errorf("%s has not the scene inside", target)
		}
		billed(t, target, path)
	}
	valid(t, filepath.Join(filepath.Dir(programs[own]), "gainwright.cdx.json"))
}

// TestWithoutScene: a program that was built without the scene, far from its source,
// says in one line what to do, and version says it, too.
func TestWithoutScene(t *testing.T) {
	dir := t.TempDir()
	program := filepath.Join(dir, "gainwright")
	build := limited.Command(t, 10*time.Minute, "go", "build", "-o", program, "./cmd/gainwright")
	build.Dir = root
	build.Env = append(build.Environ(), "GOFLAGS=-trimpath", "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for args, want := range map[string]string{
		"open --no-browser": "built without the scene",
		"version":           "; the scene is compiled when it is opened\n",
	} {
		cmd := limited.Command(t, time.Minute, program, strings.Fields(args)...)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if strings.Count(string(out), "\n") != 1 || !strings.Contains(string(out), want) || (err == nil) != (args == "version") {
			t.Errorf("%s: %v, %s", args, err, out)
		}
	}
}

// TestSameBytes: one commit in two folders, each compiled from nothing, gives the same
// archives for every system. It takes a quarter of an hour.
func TestSameBytes(t *testing.T) {
	var sums [2][]byte
	for i, place := range []string{"here", "there/and/deeper"} {
		clone := filepath.Join(t.TempDir(), filepath.FromSlash(place))
		if out, err := limited.Command(t, 5*time.Minute, "git", "clone", "-q", root, clone).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		cmd := limited.Command(t, time.Hour, "go", "run", "./cmd/gainwright/release", "out")
		cmd.Dir = clone
		cmd.Env = append(cmd.Environ(), "GOCACHE="+filepath.Join(clone, "..", "cache"), "XDG_CACHE_HOME="+t.TempDir())
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		var err error
		if sums[i], err = os.ReadFile(filepath.Join(clone, "out", "SHA256SUMS")); err != nil {
			t.Fatal(err)
		}
	}
	if bytes.Count(sums[0], []byte("\n")) != 6 || !bytes.Equal(sums[0], sums[1]) {
		t.Errorf("once\n%sthen\n%s", sums[0], sums[1])
	}
}

// unpack gives the program of an archive and looks whether the rest is there.
func unpack(t *testing.T, target string, data []byte, to string) (program string) {
	t.Helper()
	var names []string
	put := func(name string, mode os.FileMode, r io.Reader) {
		names = append(names, name)
		path := filepath.Join(to, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(f, r); err != nil || f.Close() != nil {
			t.Fatal(err)
		}
	}
	program = "gainwright/gainwright"
	if strings.HasPrefix(target, "windows/") {
		program += ".exe"
		r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range r.File {
			f, err := e.Open()
			if err != nil {
				t.Fatal(err)
			}
			put(e.Name, e.Mode(), f)
			f.Close()
		}
	} else {
		z, err := gzip.NewReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		for r := tar.NewReader(z); ; {
			h, err := r.Next()
			if err == io.EOF {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			put(h.Name, h.FileInfo().Mode(), r)
		}
	}
	for _, n := range []string{program, "gainwright/README.md", "gainwright/LICENSE", "gainwright/gainwright.cdx.json",
		"gainwright/completion/gainwright.bash", "gainwright/completion/_gainwright", "gainwright/completion/gainwright.fish", "gainwright/completion/gainwright.ps1",
		"gainwright/licences/std/LICENSE", "gainwright/licences/github.com/hajimehoshi/ebiten/v2/LICENSE"} {
		if !slices.Contains(names, n) {
			t.Errorf("%s lacks %s", archive(target), n)
		}
	}
	readme, err := os.ReadFile(filepath.Join(to, "gainwright", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	links := regexp.MustCompile(`\]\(([\w./]+)\)`).FindAllSubmatch(readme, -1)
	for _, l := range links {
		if !slices.Contains(names, "gainwright/"+string(l[1])) {
			t.Errorf("%s: the README leads to %s, which is not there", archive(target), l[1])
		}
	}
	if len(links) < 3 {
		t.Errorf("the README leads to %q", links)
	}
	return filepath.Join(to, filepath.FromSlash(program))
}

// isFor reads a program as its system's format, and tells whether it is for the
// machine. On Linux nothing else may be needed to start it.
func isFor(target string, program []byte) error {
	goos, arch, _ := strings.Cut(target, "/")
	r := bytes.NewReader(program)
	is := func(got any, of map[string]any) error {
		if got != of[arch] {
			return fmt.Errorf("is for %v", got)
		}
		return nil
	}
	switch goos {
	case "windows":
		f, err := pe.NewFile(r)
		if err != nil {
			return err
		}
		return is(f.Machine, map[string]any{"amd64": uint16(pe.IMAGE_FILE_MACHINE_AMD64), "arm64": uint16(pe.IMAGE_FILE_MACHINE_ARM64)})
	case "darwin":
		f, err := macho.NewFile(r)
		if err != nil {
			return err
		}
		if arch == "arm64" && !slices.ContainsFunc(f.Loads, func(l macho.Load) bool {
			return f.ByteOrder.Uint32(l.Raw()) == 0x1d // LC_CODE_SIGNATURE in Apple's mach-o/loader.h: machines of this kind start nothing without
		}) {
			return fmt.Errorf("lacks the signature of its own that its system wants")
		}
		return is(f.Cpu, map[string]any{"amd64": macho.CpuAmd64, "arm64": macho.CpuArm64})
	}
	f, err := elf.NewFile(r)
	if err != nil {
		return err
	}
	for _, p := range f.Progs {
		if p.Type == elf.PT_INTERP || p.Type == elf.PT_DYNAMIC {
			return fmt.Errorf("wants a library")
		}
	}
	return is(f.Machine, map[string]any{"amd64": elf.EM_X86_64, "arm64": elf.EM_AARCH64})
}

// billed: what Go itself noted in the program is in the bill of materials.
func billed(t *testing.T, target, program string) {
	t.Helper()
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(filepath.Dir(program), "gainwright.cdx.json"))
	if err != nil {
		t.Fatal(err)
	}
	var bill struct {
		Components []struct{ Name, Version string }
	}
	if err := json.Unmarshal(text, &bill); err != nil {
		t.Fatal(err)
	}
	has := map[string]string{}
	for _, c := range bill.Components {
		has[c.Name] = c.Version
	}
	if len(info.Deps) < 20 {
		t.Errorf("%s: Go notes %d modules", target, len(info.Deps))
	}
	for _, d := range info.Deps {
		if has[d.Path] != d.Version {
			t.Errorf("%s: %s %s is billed as %q", target, d.Path, d.Version, has[d.Path])
		}
	}
	if has["std"] != info.GoVersion || has["github.com/hajimehoshi/ebiten/v2"] == "" {
		t.Errorf("%s: Go %s is billed as %q; of the scene's: %q", target, info.GoVersion, has["std"], has["github.com/hajimehoshi/ebiten/v2"])
	}
}

// keptScene is where the scene lies that was compiled for the release.
func keptScene(t *testing.T, name string) string {
	t.Helper()
	d, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(d, "gainwright", name)
}

// served is what came from a program.
type served struct {
	Name string            // of the build
	Sums map[string]string // of the files
}

// serveWithoutAnything starts the program where there is nothing: no search path, no
// home, no network but loopback. That needs a name space of its own, in which this
// test's own program asks; where the machine grants none, the network stays.
func serveWithoutAnything(t *testing.T, program string) (s served) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ask := func(alone bool) ([]byte, error) {
		cmd := limited.Command(t, 3*time.Minute, self, "-test.run=^TestAsk$", "-test.v")
		cmd.Dir = t.TempDir()
		cmd.Env = []string{"GAINWRIGHT_ASKED=" + program, fmt.Sprintf("GAINWRIGHT_ALONE=%v", alone)}
		if alone {
			cmd.SysProcAttr = &syscall.SysProcAttr{
				Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNET,
				UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
				GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
			}
		}
		return cmd.CombinedOutput()
	}
	out, err := ask(true)
	if err != nil && strings.Contains(err.Error(), "operation not permitted") {
		t.Logf("this machine grants no network of its own (%v): tried with the one there is", err)
		out, err = ask(false)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	_, text, ok := strings.Cut(string(out), "served: ")
	text, _, _ = strings.Cut(text, "\n")
	if !ok || json.Unmarshal([]byte(text), &s) != nil {
		t.Fatalf("it told nothing:\n%s", out)
	}
	return s
}

// TestAsk is the part of TestRelease that runs in the other name space.
func TestAsk(t *testing.T) {
	program := os.Getenv("GAINWRIGHT_ASKED")
	if program == "" {
		return // it is asked by TestRelease
	}
	if os.Getenv("GAINWRIGHT_ALONE") == "true" {
		loopbackUp(t)
		// 192.0.2.1 is nobody's (RFC 5737).
		if c, err := net.DialTimeout("tcp", "192.0.2.1:80", time.Second); err == nil || !strings.Contains(err.Error(), "unreachable") {
			t.Fatalf("there is a network: %v, %v", c, err)
		}
	}
	for _, k := range []string{"PATH", "HOME", "XDG_CACHE_HOME"} {
		if os.Getenv(k) != "" {
			t.Fatalf("there is %s", k)
		}
	}
	version, err := limited.Command(t, time.Minute, program, "version").CombinedOutput()
	if err != nil || !regexp.MustCompile(`^gainwright .*\([0-9a-f]{12}.*, \d{4}-\d\d-\d\d\), go.*; with the scene inside\n$`).Match(version) {
		t.Errorf("%v: %s", err, version)
	}
	if out, err := limited.Command(t, time.Minute, program, "open", "--no-browser", "--watch").CombinedOutput(); err == nil || !strings.Contains(string(out), "--watch compiles the scene from Gainwright's source, which was not found") {
		t.Errorf("--watch without a source: %v: %s", err, out)
	}
	cmd := limited.Command(t, 2*time.Minute, program, "open", "--no-browser")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, _ := bufio.NewReader(out).ReadString('\n') // ends with the program, which has a deadline
	url := regexp.MustCompile(`http://\S+/`).FindString(line)
	if url == "" {
		t.Fatalf("it says %q, %s", line, errs.Bytes())
	}
	page := string(get(t, url, ""))
	name := regexp.MustCompile(`scene\.wasm\?([\w.-]+)"`).FindStringSubmatch(page)
	if name == nil || !strings.Contains(page, "<title>Gainwright</title>") {
		t.Fatalf("the page is %s", page)
	}
	s := served{name[1], map[string]string{}}
	for _, f := range [][3]string{{"scene.wasm.br", "scene.wasm?" + name[1], "br"}, {"scene.wasm", "scene.wasm?" + name[1], "identity"}, {"wasm_exec.js", "wasm_exec.js", "identity"}} {
		s.Sums[f[0]] = fmt.Sprintf("%x", sha256.Sum256(get(t, url+f[1], f[2])))
	}
	for _, n := range []string{"start.js", "style.css", "icon.svg"} {
		if len(get(t, url+n, "identity")) < 200 {
			t.Errorf("%s is empty", n)
		}
	}
	cmd.Process.Signal(syscall.SIGINT)
	if err := cmd.Wait(); err != nil || errs.Len() > 0 {
		t.Errorf("it ended with %v: %s", err, errs.Bytes())
	}
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Printf("\nserved: %s\n", text)
}

func get(t *testing.T, url, coding string) []byte {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	if coding != "" {
		r.Header.Set("Accept-Encoding", coding)
	}
	client := http.Client{Timeout: time.Minute}
	a, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	data, err := io.ReadAll(a.Body)
	if err != nil || a.StatusCode != 200 {
		t.Fatalf("%s: %d, %v", url, a.StatusCode, err)
	}
	return data
}

// loopbackUp switches loopback on, which a new name space has switched off
// (netdevice(7): SIOCGIFFLAGS, SIOCSIFFLAGS).
func loopbackUp(t *testing.T) {
	t.Helper()
	s, err := syscall.Socket(syscall.AF_INET, syscall.SOCK_DGRAM, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(s)
	var request struct {
		name  [syscall.IFNAMSIZ]byte
		flags uint16
		_     [22]byte
	}
	copy(request.name[:], "lo")
	for _, call := range []uintptr{syscall.SIOCGIFFLAGS, syscall.SIOCSIFFLAGS} {
		if _, _, e := syscall.Syscall(syscall.SYS_IOCTL, uintptr(s), call, uintptr(unsafe.Pointer(&request))); e != 0 {
			t.Fatalf("loopback: %v", e)
		}
		request.flags |= syscall.IFF_UP
	}
}
