package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"sort"
	"strings"
)

// module is one that is linked in, with the folders of its packages that are.
type module struct {
	Path, Version, Sum, Dir string
	folders                 []string
}

// linked asks Go which modules a program is made of, its own first left out; Go
// itself is one of them.
func linked(ctx context.Context, src, target, pkg string) ([]module, error) {
	text, err := run(ctx, src, systemOf(target), "go", "list", "-deps", "-json=Dir,Module", pkg)
	if err != nil {
		return nil, err
	}
	root, err := run(ctx, src, nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	modules := []module{{Path: "std", Version: runtime.Version(), Dir: strings.TrimSpace(string(root))}}
	for d := json.NewDecoder(bytes.NewReader(text)); ; {
		var p struct {
			Dir    string
			Module *struct {
				module
				Main    bool
				Replace *module
			}
		}
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return merged(modules), nil
		} else if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		switch m := p.Module; {
		case m == nil || m.Main:
		case m.Replace != nil:
			return nil, fmt.Errorf("%s is replaced, which a release cannot tell", m.Path)
		default:
			m.folders = []string{p.Dir}
			modules = append(modules, m.module)
		}
	}
}

// merged has each module once, by their paths.
func merged(all []module) []module {
	byPath := map[string]*module{}
	var paths []string
	for _, m := range all {
		if had := byPath[m.Path]; had != nil {
			had.folders = append(had.folders, m.folders...)
			continue
		}
		m.folders = append([]string(nil), m.folders...)
		byPath[m.Path] = &m
		paths = append(paths, m.Path)
	}
	sort.Strings(paths)
	list := make([]module, len(paths))
	for i, p := range paths {
		list[i] = *byPath[p]
	}
	return list
}

var licenceName = regexp.MustCompile(`(?i)^(un)?licen[cs]es?([-._].*)?$|^(copying|notice|patents)([-._].*)?$`)

// licences are the texts that come with the modules: at their top, and in the folders
// of what is linked in and those around it. A module without any is an error.
func licences(modules []module) ([]file, error) {
	var files []file
	for _, m := range modules {
		before := len(files)
		for _, dir := range m.around() {
			names, err := texts(dir)
			if err != nil {
				return nil, err
			}
			for _, n := range names {
				data, err := os.ReadFile(filepath.Join(dir, n))
				if err != nil {
					return nil, err
				}
				rel, err := filepath.Rel(m.Dir, filepath.Join(dir, n))
				if err != nil {
					return nil, err
				}
				files = append(files, file{"licences/" + m.Path + "/" + filepath.ToSlash(rel), data, false})
			}
		}
		if len(files) == before {
			return nil, fmt.Errorf("%s %s has no licence in %s", m.Path, m.Version, m.Dir)
		}
	}
	return files, nil
}

// around are the module's own folder and all those from it to a package linked in.
func (m module) around() []string {
	seen := map[string]bool{m.Dir: true}
	dirs := []string{m.Dir}
	for _, d := range m.folders {
		for ; !seen[d] && len(d) > len(m.Dir); d = filepath.Dir(d) {
			seen[d] = true
			dirs = append(dirs, d)
		}
	}
	sort.Strings(dirs)
	return dirs
}

// texts lists the licence files of a folder, and those in a folder of that name.
func texts(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		switch n := e.Name(); {
		case !licenceName.MatchString(n) || strings.HasSuffix(n, ".go"):
		case e.IsDir():
			within, err := os.ReadDir(filepath.Join(dir, n))
			if err != nil {
				return nil, err
			}
			for _, w := range within {
				if w.Type().IsRegular() {
					names = append(names, filepath.Join(n, w.Name()))
				}
			}
		case e.Type().IsRegular():
			names = append(names, n)
		}
	}
	return names, nil
}
