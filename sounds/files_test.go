package sounds

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func put(s string) func(io.WriteSeeker) error {
	return func(w io.WriteSeeker) error { _, err := io.WriteString(w, s); return err }
}

func listing(t *testing.T, dir string) string {
	t.Helper()
	var names []string
	filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if p != dir {
			rel, _ := filepath.Rel(dir, p)
			names = append(names, filepath.ToSlash(rel))
		}
		return nil
	})
	return strings.Join(names, " ")
}

func content(t *testing.T, p string) string {
	t.Helper()
	b, err := os.ReadFile(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	p := filepath.Join(dir, "a.txt")
	if err := WriteFile(p, false, put("one")); err != nil {
		t.Fatal(err)
	}
	err := WriteFile(p, false, put("two"))
	var ee *ExistsError
	if !errors.As(err, &ee) || !errors.Is(err, fs.ErrExist) || ee.Path != p {
		t.Fatalf("%T %v", err, err)
	}
	if content(t, p) != "one" {
		t.Fatal("replaced without force")
	}
	os.Chmod(p, 0o640)
	if err := WriteFile(p, true, put("two")); err != nil {
		t.Fatal(err)
	}
	if content(t, p) != "two" {
		t.Fatal("not replaced")
	}
	if st, _ := os.Stat(p); st.Mode().Perm() != 0o640 {
		t.Errorf("mode became %v", st.Mode())
	}
	boom := errors.New("no space left on device")
	err = WriteFile(p, true, func(w io.WriteSeeker) error { io.WriteString(w, "three"); return boom })
	if !errors.Is(err, boom) || err.Error() != p+": cannot be written: no space left on device" {
		t.Errorf("%v", err)
	}
	if content(t, p) != "two" || listing(t, dir) != "a.txt" {
		t.Errorf("after a failure: %s", listing(t, dir))
	}
	// Someone else makes the file while this one is being written.
	q := filepath.Join(dir, "b.txt")
	err = WriteFile(q, false, func(w io.WriteSeeker) error { return os.WriteFile(q, []byte("theirs"), 0o666) })
	if !errors.As(err, &ee) || content(t, q) != "theirs" || listing(t, dir) != "a.txt b.txt" {
		t.Errorf("%v; %s", err, listing(t, dir))
	}
	// A panic leaves nothing either.
	func() {
		defer func() { recover() }()
		WriteFile(filepath.Join(dir, "c.txt"), false, func(io.WriteSeeker) error { panic("x") })
	}()
	if listing(t, dir) != "a.txt b.txt" {
		t.Errorf("after a panic: %s", listing(t, dir))
	}
}

func TestWriteFileBadPlaces(t *testing.T) {
	dir := t.TempDir()
	os.WriteFile(filepath.Join(dir, "file"), nil, 0o666)
	for path, want := range map[string]string{
		filepath.Join(dir, "no", "a.wav"):   "cannot be written: there is no directory " + filepath.Join(dir, "no"),
		dir:                                 "is a directory, not a file to write to",
		filepath.Join(dir, "file", "a.wav"): "not a directory",
		"":                                  "no file name",
	} {
		err := WriteFile(path, true, put("x"))
		var oe *OutputError
		if !errors.As(err, &oe) || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: %v", path, err)
		}
	}
	if listing(t, dir) != "file" {
		t.Error(listing(t, dir))
	}
}

// TestWriteFileFullDisk writes to a device that is always full.
func TestWriteFileFullDisk(t *testing.T) {
	f, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	defer f.Close()
	dir := t.TempDir()
	p := filepath.Join(dir, "a.wav")
	err = WriteFile(p, false, func(io.WriteSeeker) error {
		_, err := f.Write([]byte("x"))
		return err
	})
	if err == nil || err.Error() != p+": cannot be written: no space left on device" {
		t.Error(err)
	}
	if listing(t, dir) != "" {
		t.Error(listing(t, dir))
	}
}

func TestWriteFileThroughLink(t *testing.T) {
	dir := t.TempDir()
	real, link := filepath.Join(dir, "real"), filepath.Join(dir, "link")
	os.WriteFile(real, []byte("old"), 0o666)
	if err := os.Symlink(real, link); err != nil {
		t.Skip("no links here")
	}
	if err := WriteFile(link, true, put("new")); err != nil {
		t.Fatal(err)
	}
	if st, _ := os.Lstat(link); st.Mode()&fs.ModeSymlink == 0 || content(t, real) != "new" {
		t.Error("the link was replaced, not the file")
	}
}

func TestOutputs(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "x", "out")
	o, err := NewOutputs(dir, false)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []string{"A.wav", "pictures/A.png"} {
		w, err := o.Create(n)
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(w, n)
	}
	if _, err := os.Stat(o.Path("A.wav")); err == nil {
		t.Error("a file appeared before Commit")
	}
	if _, err := o.Create("A.wav"); err == nil {
		t.Error("the same name twice")
	}
	for _, n := range []string{"../b", "/b", "", "."} {
		if _, err := o.Create(n); err == nil {
			t.Errorf("%q was accepted", n)
		}
	}
	if err := o.Commit(); err != nil {
		t.Fatal(err)
	}
	o.Abort() // does nothing now
	if got := listing(t, dir); got != "A.wav pictures pictures/A.png" {
		t.Error(got)
	}

	// A taken name is refused at once, and everything else is rolled back.
	o, err = NewOutputs(dir, false)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := o.Create("B.wav"); err != nil {
		t.Fatal(err)
	}
	_, err = o.Create("A.wav")
	var ee *ExistsError
	if !errors.As(err, &ee) || ee.Path != filepath.Join(dir, "A.wav") {
		t.Errorf("%v", err)
	}
	o.Abort()
	if got := listing(t, dir); got != "A.wav pictures pictures/A.png" {
		t.Error(got)
	}

	// Replacing with force; the last file fails to move, so the first comes back.
	o, _ = NewOutputs(dir, true)
	for _, n := range []string{"A.wav", "new.wav", "Z.wav"} {
		w, _ := o.Create(n)
		io.WriteString(w, "second")
	}
	os.Mkdir(o.Path("Z.wav"), 0o777)
	err = o.Commit()
	var oe *OutputError
	if !errors.As(err, &oe) || !strings.Contains(err.Error(), "Z.wav: is a directory") {
		t.Errorf("%v", err)
	}
	if got := listing(t, dir); got != "A.wav Z.wav pictures pictures/A.png" || content(t, filepath.Join(dir, "A.wav")) != "A.wav" {
		t.Error(got)
	}
	os.Remove(o.Path("Z.wav"))
	o, _ = NewOutputs(dir, true)
	w, _ := o.Create("A.wav")
	io.WriteString(w, "second")
	if err := o.Commit(); err != nil || content(t, filepath.Join(dir, "A.wav")) != "second" {
		t.Error(err)
	}

	// Directories made for a set that came to nothing go again.
	o, _ = NewOutputs(filepath.Join(root, "p", "q"), false)
	o.Create("a")
	o.Abort()
	if _, err := os.Stat(filepath.Join(root, "p")); err == nil {
		t.Error("Abort left a directory")
	}

	// A file where the directory should be.
	if _, err := NewOutputs(filepath.Join(dir, "A.wav"), false); err == nil || !strings.Contains(err.Error(), "is a file") {
		t.Error(err)
	}
}

func TestLevel(t *testing.T) {
	// A sine of rms 1 for 1 s within silence and a weaker sine.
	const rate = 44100
	x := make([]float64, 5*rate)
	for i := range x {
		a := 0.1
		if s := float64(i) / rate; s >= 2.3 && s < 3.3 {
			a = 1
		}
		x[i] = a * sine(441, rate, 100)[i%100] * 1.4142135623730951
	}
	m := NewLoudestSecond(rate)
	m.Add(x)
	if r := m.RMS(); r < 0.999999 || r > 1.000001 || m.Start() != 2.3 {
		t.Errorf("rms %v at %v", m.RMS(), m.Start())
	}
	k, err := PlaceLevel(x, rate, 94)
	// 94 dB re 20 µPa is 1.00238 Pa.
	if err != nil || k < 1.00236 || k > 1.00239 {
		t.Errorf("%v %v", k, err)
	}
	for _, n := range []int{1, 77, 4410, 100000} {
		b := NewLoudestSecond(rate)
		for p := 0; p < len(x); p += n {
			b.Add(x[p:min(len(x), p+n)])
		}
		if b.RMS() != m.RMS() {
			t.Errorf("blocks of %d: %v, not %v", n, b.RMS(), m.RMS())
		}
	}
	short := NewLoudestSecond(rate)
	short.Add([]float64{3, -3, 3})
	if short.RMS() != 3 {
		t.Error(short.RMS())
	}
	var in *InputError
	if _, err := PlaceLevel(make([]float64, rate), rate, 70); !errors.As(err, &in) || !strings.Contains(err.Error(), "silent") {
		t.Error(err)
	}
	if _, err := PlaceLevel(nil, rate, 70); !errors.As(err, &in) {
		t.Error(err)
	}
	if _, err := PlaceLevel(x, rate, 300); !errors.As(err, &in) {
		t.Error(err)
	}
}
