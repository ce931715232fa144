package sounds

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/gofrs/flock"
)

// Names of what is there only while a program runs.
const (
	stagePrefix = ".unfinished-"
	stageLock   = ".lock"     // held as long as its program lives
	keptPrefix  = ".replaced" // a file of the user's, to be put back
)

// A stage is a hidden directory in which files are made ready. The operating system
// lets go of its lock however the program ends, so that a later one can tell what
// nobody will finish.
type stage struct {
	dir  string
	lock *flock.Flock // nil where there are no locks
}

var stages = struct {
	sync.Mutex
	open map[*stage]bool
}{open: map[*stage]bool{}}

// newStage makes one in dir, and clears away those that killed programs left there.
func newStage(dir string) (*stage, error) {
	clearStages(dir)
	for {
		tmp, err := os.MkdirTemp(dir, stagePrefix)
		if err != nil {
			return nil, err
		}
		s := &stage{dir: tmp}
		name := filepath.Join(tmp, stageLock)
		l := flock.New(name)
		got, err := l.TryLock()
		if err == nil && got {
			// Someone who cleared may have been quicker.
			if _, err := os.Stat(name); err != nil {
				l.Close()
				continue
			}
			s.lock = l
		} else if err == nil {
			l.Close()
			continue
		} else {
			os.Remove(name) // no locks here: it is never taken for a dead program's
		}
		stages.Lock()
		stages.open[s] = true
		stages.Unlock()
		return s, nil
	}
}

// remove deletes it with all it holds.
func (s *stage) remove() {
	stages.Lock()
	defer stages.Unlock()
	s.drop()
}

func (s *stage) drop() {
	delete(stages.open, s)
	if s.lock == nil {
		os.RemoveAll(s.dir)
		return
	}
	// The lock goes last: what is locked nobody else clears, and an open file
	// cannot be deleted everywhere.
	if list, err := os.ReadDir(s.dir); err == nil {
		for _, e := range list {
			if e.Name() != stageLock {
				os.RemoveAll(filepath.Join(s.dir, e.Name()))
			}
		}
	}
	if runtime.GOOS == "windows" {
		s.lock.Close()
		os.RemoveAll(s.dir)
		return
	}
	os.RemoveAll(s.dir)
	s.lock.Close()
}

// clearStages removes the stages in dir whose programs are gone: those with a lock
// that nobody holds. One that holds files which were about to be replaced stays: they
// are someone's.
func clearStages(dir string) (cleared bool) {
	list, err := filepath.Glob(filepath.Join(escapeGlob(dir), stagePrefix+"*", stageLock))
	if err != nil {
		return false
	}
	for _, name := range list {
		tmp := filepath.Dir(name)
		if st, err := os.Lstat(tmp); err != nil || !st.IsDir() {
			continue
		}
		if kept, _ := filepath.Glob(filepath.Join(escapeGlob(tmp), keptPrefix+"*")); len(kept) > 0 {
			continue
		}
		l := flock.New(name)
		if got, err := l.TryLock(); err == nil && got {
			(&stage{dir: tmp, lock: l}).remove()
			cleared = true
		} else {
			l.Close()
		}
	}
	return cleared
}

// ClearUnfinished removes what a killed program left in dir, and dir itself if it
// holds nothing else.
func ClearUnfinished(dir string) {
	if clearStages(dir) {
		os.Remove(dir)
	}
}

// escapeGlob makes a path match itself.
func escapeGlob(path string) string {
	if runtime.GOOS == "windows" {
		return path // has no escape; brackets there just match less
	}
	var b []byte
	for i := range len(path) {
		switch c := path[i]; c {
		case '*', '?', '[', '\\':
			b = append(b, '\\', c)
		default:
			b = append(b, c)
		}
	}
	return string(b)
}

// AbandonOutputs removes what is unfinished and keeps anything from being finished
// any more: for a program that is about to end while its work still runs. It waits
// for files that are appearing just now.
func AbandonOutputs() {
	stages.Lock() // for good
	for s := range stages.open {
		s.drop()
	}
}

// TempFile makes a file that is gone when it is closed or the program ends, however
// it ends, as far as the system can; what it cannot is cleared by a later call. kind
// is part of the name and holds no random part.
func TempFile(kind string) (*Temp, error) {
	if runtime.GOOS == "windows" {
		// What a living program has open cannot be removed there.
		if list, err := filepath.Glob(filepath.Join(os.TempDir(), "gainwright-*."+kind)); err == nil {
			for _, p := range list {
				os.Remove(p)
			}
		}
	}
	f, err := os.CreateTemp("", "gainwright-*."+kind)
	if err != nil {
		return nil, err
	}
	t := &Temp{File: f}
	if runtime.GOOS != "windows" {
		t.gone = os.Remove(f.Name()) == nil
	}
	return t, nil
}

// A Temp is a file without a name, or soon to be.
type Temp struct {
	*os.File
	gone bool
}

// Close ends it.
func (t *Temp) Close() error {
	err := t.File.Close()
	if !t.gone {
		t.gone = true
		err = errors.Join(err, os.Remove(t.Name()))
	}
	return err
}
