package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"time"
)

// file is a file of an archive.
type file struct {
	name    string // with slashes
	data    []byte
	program bool
}

// top is the folder that an archive unpacks to.
const top = "gainwright/"

func archiveName(target string) string {
	name := "gainwright-" + strings.ReplaceAll(target, "/", "-")
	if strings.HasPrefix(target, "windows/") {
		return name + ".zip"
	}
	return name + ".tar.gz"
}

func namesOf(targets []string) (names []string) {
	for _, t := range targets {
		names = append(names, archiveName(t))
	}
	return names
}

// sumsName lists the sums of the archives, as the program sha256sum checks them.
const sumsName = "SHA256SUMS"

func programName(target string) string {
	if strings.HasPrefix(target, "windows/") {
		return "gainwright.exe"
	}
	return "gainwright"
}

// contents are the files of an archive: the program first, then by their names; the
// README with what it leads to.
func contents(src, target, program string, c commit, modules []module, completions []file) ([]file, error) {
	data, err := os.ReadFile(program)
	if err != nil {
		return nil, err
	}
	modules = merged(modules)
	licences, err := licences(modules)
	if err != nil {
		return nil, err
	}
	bom, err := bill(target, c, data, modules)
	if err != nil {
		return nil, err
	}
	rest := append(append([]file{{"gainwright.cdx.json", bom, false}}, completions...), licences...)
	for _, n := range []string{"README.md", "LICENSE", "DEVELOPERS.md", "tests/TRUST.md", "tests/pictures/scene.png"} {
		data, err := os.ReadFile(filepath.Join(src, filepath.FromSlash(n)))
		if err != nil {
			return nil, err
		}
		rest = append(rest, file{n, data, false})
	}
	sort.Slice(rest, func(i, j int) bool { return rest[i].name < rest[j].name })
	return append([]file{{programName(target), data, true}}, rest...), nil
}

// pack writes an archive and adds its sum to the list.
func pack(w io.Writer, name string, files []file, when time.Time, sums *strings.Builder) (size int, err error) {
	write := packTar
	if strings.HasSuffix(name, ".zip") {
		write = packZip
	}
	var b bytes.Buffer
	if err := write(&b, files, when); err != nil {
		return 0, fmt.Errorf("%s: %w", name, err)
	}
	fmt.Fprintf(sums, "%x  %s\n", sha256.Sum256(b.Bytes()), name)
	return w.Write(b.Bytes())
}

func mode(f file) int64 {
	if f.program {
		return 0o755
	}
	return 0o644
}

// packTar writes a tar.gz that tells nothing of who made it when.
func packTar(w io.Writer, files []file, when time.Time) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	for _, f := range files {
		h := &tar.Header{Name: top + f.name, Mode: mode(f), Size: int64(len(f.data)), ModTime: when, Typeflag: tar.TypeReg}
		if err := t.WriteHeader(h); err != nil {
			return err
		}
		if _, err := t.Write(f.data); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

func packZip(w io.Writer, files []file, when time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range files {
		h := &zip.FileHeader{Name: top + f.name, Method: zip.Deflate, Modified: when}
		h.SetMode(os.FileMode(mode(f)))
		e, err := z.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := e.Write(f.data); err != nil {
			return err
		}
	}
	return z.Close()
}
