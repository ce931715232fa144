package sounds

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile makes the file at path appear whole or not at all: fill writes to a
// temporary file in a hidden directory beside it, which is flushed to the disk and then renamed. An
// existing file is replaced only with force, otherwise the error is an
// *ExistsError. On any failure nothing is left behind and what was there stays.
// A symbolic link is followed: the file it points to is replaced.
func WriteFile(path string, force bool, fill func(io.WriteSeeker) error) (err error) {
	target, mode, err := checkTarget(path, force)
	if err != nil {
		return err
	}
	st, err := newStage(filepath.Dir(target))
	if err != nil {
		return &OutputError{Path: path, Msg: "cannot be written: " + plainDir(target, err), Err: err}
	}
	defer st.remove()
	tmp := filepath.Join(st.dir, "file")
	f, err := os.OpenFile(tmp, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return &OutputError{Path: path, Msg: "cannot be written: " + plain(err), Err: err}
	}
	done := false
	defer func() {
		if !done {
			f.Close()
		}
	}()
	if err := fill(f); err != nil {
		return outputError(path, err)
	}
	if mode != 0 {
		// Best effort: a filesystem without modes is no reason to fail.
		_ = f.Chmod(mode)
	}
	if err := finish(f); err != nil {
		return outputError(path, err)
	}
	done = true
	stages.Lock()
	err = place(tmp, target, force)
	stages.Unlock()
	if err != nil {
		if errors.Is(err, fs.ErrExist) {
			return &ExistsError{Path: path}
		}
		return outputError(path, err)
	}
	syncDir(filepath.Dir(target))
	return nil
}

// checkTarget resolves links and refuses what must not be replaced. mode is
// that of an existing file, else 0.
func checkTarget(path string, force bool) (target string, mode fs.FileMode, err error) {
	if path == "" {
		return "", 0, &OutputError{Msg: "no file name to write to"}
	}
	target = path
	if t, err := filepath.EvalSymlinks(path); err == nil {
		target = t
	}
	st, err := os.Stat(target)
	switch {
	case err == nil && st.IsDir():
		return "", 0, &OutputError{Path: path, Msg: "is a directory, not a file to write to"}
	case err == nil && !st.Mode().IsRegular():
		return "", 0, &OutputError{Path: path, Msg: "is not a regular file, and is not replaced"}
	case err == nil && !force:
		return "", 0, &ExistsError{Path: path}
	case err == nil:
		mode = st.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return "", 0, &OutputError{Path: path, Msg: "cannot be written: " + plain(err), Err: err}
	}
	return target, mode, nil
}

func finish(f *os.File) error {
	if err := f.Sync(); err != nil {
		// Some filesystems cannot sync; the close below still reports a full disk.
		if !errors.Is(err, errors.ErrUnsupported) && !errors.Is(err, fs.ErrInvalid) {
			f.Close()
			return err
		}
	}
	return f.Close()
}

// place gives tmp its final name. Without force it never replaces a file that
// appeared in the meantime, where the filesystem has hard links.
func place(tmp, target string, force bool) error {
	if !force {
		err := os.Link(tmp, target)
		if err == nil {
			return os.Remove(tmp)
		}
		if errors.Is(err, fs.ErrExist) {
			return err
		}
		if _, err := os.Lstat(target); err == nil {
			return fs.ErrExist
		}
	}
	return os.Rename(tmp, target)
}

// syncDir makes a rename durable; not every system can, and then the file is
// still whole, only perhaps not there after a crash.
func syncDir(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		d.Close()
	}
}

func outputError(path string, err error) error {
	var oe *OutputError
	var ee *ExistsError
	var ie *InputError
	if errors.As(err, &oe) || errors.As(err, &ee) || errors.As(err, &ie) {
		return err
	}
	return &OutputError{Path: path, Msg: "cannot be written: " + plain(err), Err: err}
}

// plainDir says which directory is missing rather than which file.
func plainDir(target string, err error) string {
	dir := filepath.Dir(target)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Sprintf("there is no directory %s", dir)
	}
	return plain(err)
}

// Outputs writes a set of files into one directory so that all appear or none
// does. Files are written to a hidden directory inside it (on the same
// filesystem, so that they can be renamed) and moved by Commit. A directory
// that did not exist is created, and removed again by Abort. It is not safe for
// use by several goroutines at once.
type Outputs struct {
	dir     string
	made    []string // directories created for this set, outermost first
	tmp     string
	stage   *stage
	force   bool
	files   []*os.File
	names   []string
	settled bool
}

// NewOutputs prepares to write into dir.
func NewOutputs(dir string, force bool) (*Outputs, error) {
	if dir == "" {
		dir = "."
	}
	o := &Outputs{dir: dir, force: force}
	if err := o.mkdirs(dir); err != nil {
		o.removeMade()
		return nil, err
	}
	st, err := newStage(dir)
	if err != nil {
		o.removeMade()
		return nil, &OutputError{Path: dir, Msg: "cannot be written to: " + plain(err), Err: err}
	}
	o.stage, o.tmp = st, st.dir
	return o, nil
}

// mkdirs creates path with its parents and remembers what it created.
func (o *Outputs) mkdirs(path string) error {
	st, err := os.Stat(path)
	if err == nil {
		if !st.IsDir() {
			return &OutputError{Path: path, Msg: "is a file: a directory is needed"}
		}
		return nil
	}
	if parent := filepath.Dir(path); parent != path {
		if err := o.mkdirs(parent); err != nil {
			return err
		}
	}
	if err := os.Mkdir(path, 0o777); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return nil
		}
		return &OutputError{Path: path, Msg: "cannot be created: " + plain(err), Err: err}
	}
	o.made = append(o.made, path)
	return nil
}

func (o *Outputs) removeMade() {
	for i := len(o.made) - 1; i >= 0; i-- {
		os.Remove(o.made[i]) // fails, rightly, if someone put something there
	}
	o.made = nil
}

// Create begins the file of that name, which may contain slashes but must stay
// inside the directory. Without force a name that is taken is an *ExistsError at
// once, before any work is done. The file is closed by Commit or Abort.
func (o *Outputs) Create(name string) (io.WriteSeeker, error) {
	if o.settled {
		panic("sounds: Outputs.Create after Commit or Abort")
	}
	if !filepath.IsLocal(name) || filepath.Clean(name) == "." {
		return nil, &OutputError{Path: name, Msg: "is not a file name inside the output directory"}
	}
	name = filepath.Clean(name)
	for _, n := range o.names {
		if n == name {
			return nil, &OutputError{Path: o.Path(name), Msg: "would be written twice"}
		}
	}
	if _, _, err := checkTarget(o.Path(name), o.force); err != nil {
		return nil, err
	}
	p := filepath.Join(o.tmp, name)
	if err := os.MkdirAll(filepath.Dir(p), 0o777); err != nil {
		return nil, &OutputError{Path: o.Path(name), Msg: "cannot be written: " + plain(err), Err: err}
	}
	f, err := os.OpenFile(p, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, &OutputError{Path: o.Path(name), Msg: "cannot be written: " + plain(err), Err: err}
	}
	o.files = append(o.files, f)
	o.names = append(o.names, name)
	return f, nil
}

// Path is where the file of that name will be.
func (o *Outputs) Path(name string) string { return filepath.Join(o.dir, name) }

// Names are the names created so far, in order.
func (o *Outputs) Names() []string { return append([]string(nil), o.names...) }

// Commit makes all files appear. If one cannot, those already moved are taken
// back, files they replaced are restored, and the error says which it was.
func (o *Outputs) Commit() (err error) {
	if o.settled {
		panic("sounds: Outputs.Commit after Commit or Abort")
	}
	for i, f := range o.files {
		if e := finish(f); e != nil && err == nil {
			err = outputError(o.Path(o.names[i]), e)
		}
	}
	o.files = nil
	if err != nil {
		o.Abort()
		return err
	}
	// From here to the end nobody may abandon it: either all is there or nothing.
	stages.Lock()
	defer stages.Unlock()
	var moved []move
	defer func() {
		if err != nil {
			for i := len(moved) - 1; i >= 0; i-- {
				os.Remove(moved[i].target)
				if moved[i].backup != "" {
					os.Rename(moved[i].backup, moved[i].target)
				}
			}
			o.abort()
		}
	}()
	for i, name := range o.names {
		m, err := o.move(name, filepath.Join(o.tmp, fmt.Sprintf("%s-%d", keptPrefix, i)))
		if err != nil {
			return err
		}
		moved = append(moved, m)
	}
	o.settled = true
	o.stage.drop()
	syncDir(o.dir)
	return nil
}

// move is a file that has appeared, and where the one that it replaced is kept.
type move struct{ target, backup string }

// move makes one file appear; what it replaces is kept at backup. After an error all
// is as before.
func (o *Outputs) move(name, backup string) (m move, err error) {
	if sub := filepath.Dir(name); sub != "." {
		if err := o.mkdirs(filepath.Join(o.dir, sub)); err != nil {
			return m, err
		}
	}
	target, mode, err := checkTarget(o.Path(name), o.force)
	if err != nil {
		return m, err
	}
	m.target = target
	tmp := filepath.Join(o.tmp, name)
	if mode != 0 {
		m.backup = backup
		if err := os.Rename(target, m.backup); err != nil {
			return m, outputError(o.Path(name), err)
		}
		_ = os.Chmod(tmp, mode)
	}
	if err := place(tmp, target, o.force); err != nil {
		if m.backup != "" {
			os.Rename(m.backup, target)
		}
		if errors.Is(err, fs.ErrExist) {
			return m, &ExistsError{Path: o.Path(name)}
		}
		return m, outputError(o.Path(name), err)
	}
	return m, nil
}

// Abort removes everything written so far. After Commit it does nothing, so it
// can be deferred.
func (o *Outputs) Abort() {
	if o.settled {
		return
	}
	stages.Lock()
	defer stages.Unlock()
	o.abort()
}

func (o *Outputs) abort() {
	o.settled = true
	for _, f := range o.files {
		f.Close()
	}
	o.files = nil
	o.stage.drop()
	o.removeMade()
}
