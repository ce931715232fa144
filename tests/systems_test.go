package tests

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// source is a package as one system's compiler gets it.
type source struct {
	ImportPath, Dir string
	GoFiles         []string
	ImportMap       map[string]string
	Error           *struct{ Err string }
}

// closure lists a program with all that it stands on, what is imported first.
func closure(t *testing.T, system, program string) []source {
	t.Helper()
	goos, arch, _ := strings.Cut(system, "/")
	cmd := limited.Command(t, 5*time.Minute, "go", "list", "-e", "-deps", "-json=ImportPath,Dir,GoFiles,ImportMap,Error", program)
	cmd.Dir = ".."
	cmd.Env = append(cmd.Environ(), "GOOS="+goos, "GOARCH="+arch, "CGO_ENABLED=0")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list for %s: %v", system, err)
	}
	var all []source
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var s source
		if err := d.Decode(&s); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
}

type known map[string]*types.Package

func (k known) Import(path string) (*types.Package, error) {
	if p := k[path]; p != nil {
		return p, nil
	}
	return nil, fmt.Errorf("%s is not among what is compiled", path)
}

// mapped finds packages under the names that one package imports them by.
type mapped struct {
	all   known
	names map[string]string
}

func (m mapped) Import(path string) (*types.Package, error) {
	if n, ok := m.names[path]; ok {
		path = n
	}
	return m.all.Import(path)
}

// faults types packages as the compiler for a processor does: all of ours, and of the
// others what they show. overlay has other texts of files, by name.
func faults(all []source, arch string, overlay map[string]string) (wrong []error, ours int) {
	done := known{"unsafe": types.Unsafe}
	for _, s := range all {
		if s.Error != nil {
			wrong = append(wrong, errors.New(s.Error.Err))
		}
		if s.ImportPath == "unsafe" {
			continue
		}
		own := under(s.ImportPath, "gainwright")
		if own {
			ours++
		}
		fset := token.NewFileSet()
		var files []*ast.File
		for _, n := range s.GoFiles {
			var text any
			if o, ok := overlay[s.ImportPath+"/"+n]; ok {
				text = o
			}
			f, err := parser.ParseFile(fset, filepath.Join(s.Dir, n), text, parser.SkipObjectResolution)
			if err != nil {
				wrong = append(wrong, err)
				continue
			}
			files = append(files, f)
		}
		c := types.Config{
			Importer: mapped{done, s.ImportMap}, Sizes: types.SizesFor("gc", arch), IgnoreFuncBodies: !own,
			Error: func(err error) { wrong = append(wrong, err) },
		}
		done[s.ImportPath], _ = c.Check(s.ImportPath, fset, files, nil)
	}
	return wrong, ours
}

// TestOtherSystems: the program is right for the systems that its users have, file by file
// and type by type, as the compiler for each would find; and a package that uses what one of
// them lacks is found. (Compiled, packed and looked at it is in the part long, since the
// libraries of a system take minutes to compile.)
func TestOtherSystems(t *testing.T) {
	for system, lacks := range map[string]string{"windows/amd64": "Kill", "darwin/arm64": "GetVersion"} {
		_, arch, _ := strings.Cut(system, "/")
		spoiled := source{ImportPath: "gainwright/spoiled", GoFiles: []string{"main.go"}}
		all := append(closure(t, system, "./cmd/gainwright"), spoiled)
		wrong, ours := faults(all, arch, map[string]string{
			"gainwright/spoiled/main.go": "package main\n\nimport \"syscall\"\n\nfunc main() { _ = syscall." + lacks + " }\n",
		})
		found := false
		for _, err := range wrong {
			if strings.Contains(err.Error(), "undefined: syscall."+lacks) {
				found = true
				continue
			}
			t.Errorf("%s: %v", system, err)
		}
		if !found {
			t.Errorf("%s has no syscall.%s, and that is not found", system, lacks)
		}
		if ours < 60 || len(all) < 300 {
			t.Errorf("%s: only %d packages, %d of them ours, were looked at", system, len(all), ours)
		}
	}
}
