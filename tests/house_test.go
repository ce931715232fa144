package tests

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"gainwright/tests/limited"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"
)

// arrows are, for the parts of the program that have them, which packages each may
// import of its own part ("." is the folder of the part). A package that is not named
// may import none. Where another
// part is cut into packages its arrows go here.
var arrows = map[string]map[string]string{
	"gainwright/cmd/gainwright/internal": {
		"picture":     "",
		"serve":       "",
		"cli":         "picture",
		"clitest":     "cli",
		"recordcmd":   "cli picture",
		"recordercmd": "cli metercmd", // the limiter's place is told as meter --pair tells it
		"metercmd":    "cli picture",
		"repaircmd":   "cli picture metercmd", // before and after are the readings of meter
		"plancmd":     "cli picture",
		"course":      "serve",
		"lessoncmd":   "cli course picture serve",
		"opencmd":     "cli serve",
		"site":        "serve",
		"sitecmd":     "cli serve site",
	},
	"gainwright/scenes": {
		"ink":          "",
		"ink/shape":    "ink",
		"sign":         "ink",
		"qr":           "",
		"ui":           "ink",
		"raster":       "ink ink/shape",
		"svg":          "ink",
		"bench":        "ui", // the marks and stretches of its takes are drawn as they are
		"kit":          "bench ink ui",
		"work":         "bench ui",
		"twin":         "bench kit work ink ui",
		"mend":         "bench kit work ink ui",
		"plan":         "bench kit work ink ui",
		"gain":         "diagram gain/result gain/window gain/waves gain/drawer gain/blind gain/past gain/cards gain/room gain/talker bench kit work ink ui qr",
		"diagram":      "ink ui",
		"curves":       "ink ui",
		"gain/result":  "bench kit ink ui",
		"gain/window":  "gain/result bench kit work ink ui",
		"gain/waves":   "bench kit ink ui",
		"gain/drawer":  "bench kit ink ui",
		"gain/blind":   "bench kit ink ui",
		"gain/past":    "kit work ink ui",
		"gain/cards":   "kit ink ui",
		"gain/room":    "bench kit ink ui",
		"gain/talker":  "bench kit work ink ui",
		"stage":        "gain bench kit work ink ui",
		"first":        "gain gain/result gain/waves diagram stage bench kit work ink ui",
		"lesson":       "lesson/still gain gain/room stage bench kit work ink ui",
		"lesson/still": "diagram ink ui",
		"practice":     "gain gain/room stage bench kit work ink ui",
		"recorder":     "curves bench kit work ink ui",
		"mine":         "bench kit work ink ui",
		"program":      "bench kit work ink ui raster svg",
		"":             "gain twin mend plan lesson practice recorder mine first program kit",
		"scenetest":    "program bench kit ink ui raster",
		"window":       "ui ink raster sign window/mesh bench",
		"window/mesh":  "ink ink/shape raster",
		"window/demo":  "ink ui",
	},
	"gainwright/sounds": {
		"":               "codec",
		"equipment":      ". scenario/plain",
		"own":            ". codec voice", // a script is given by a voice of one's own
		"series":         ". codec equipment",
		"codec":          "", // bytes and samples: no paths, no clocks
		"scenario":       ". equipment scenario/plain voice",
		"scenario/plain": ".",
		"speaker":        ". codec",
		"microphone":     ".",
		"voice":          "voice/english",
		"voice/english":  "", // text to phones: no samples
	},
}

// TestLayoutArrows: inside a part of the program, too, imports point one way, and each
// is meant.
func TestLayoutArrows(t *testing.T) {
	for part, rows := range arrows {
		seen := map[string]bool{}
		for _, env := range [][]string{nil, {"GOOS=js", "GOARCH=wasm"}} {
			for _, p := range list(t, env, strings.Replace(part, "gainwright", ".", 1)+"/...") {
				name := strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, part), "/")
				seen[name] = true
				may, ok := rows[name]
				if !ok {
					t.Errorf("%s has no arrows: which packages of %s may it import?", p.ImportPath, part)
				}
				for _, imp := range p.Imports {
					of := strings.TrimPrefix(strings.TrimPrefix(imp, part), "/")
					if of == "" {
						of = "."
					}
					if under(imp, part) && !slices.Contains(strings.Fields(may), of) {
						t.Errorf("%s imports %s", p.ImportPath, imp)
					}
				}
			}
		}
		for name := range rows {
			if !seen[name] {
				t.Errorf("%s/%s has arrows and is no package", part, name)
			}
		}
	}
}

// The bounds of a package that can be lived in: lines outside sim; lines of a knot,
// which is a set of files that all use one another; branches of a function after
// McCabe, and the share of functions with more than many of them.
const (
	mostLines    = 4000
	mostKnot     = 1500
	mostBranches = 30
	many         = 15
	mostMany     = 0.03
)

// listed is what go list tells of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
}

func listAll(t *testing.T, args ...string) (ps []listed) {
	t.Helper()
	cmd := limited.Command(t, 5*time.Minute, "go", append([]string{"list", "-json=ImportPath,Dir,Export,GoFiles"}, args...)...)
	cmd.Dir = ".."
	cmd.Env = append(cmd.Environ(), "CGO_ENABLED=0")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, stderr.String())
	}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return ps
		} else if err != nil {
			t.Fatal(err)
		}
		ps = append(ps, p)
	}
}

// measured is a package as it is written.
type measured struct {
	path  string
	files []*ast.File
	lines []int
	names []string
}

func (m *measured) sum() (n int) {
	for _, l := range m.lines {
		n += l
	}
	return n
}

// branches counts as gocyclo does: one, and one for each if, for, case and channel
// case but the default ones, and for each && and ||.
func branches(n ast.Node) int {
	c := 1
	ast.Inspect(n, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.IfStmt, *ast.ForStmt, *ast.RangeStmt:
			c++
		case *ast.CaseClause:
			if n.List != nil {
				c++
			}
		case *ast.CommClause:
			if n.Comm != nil {
				c++
			}
		case *ast.BinaryExpr:
			if n.Op == token.LAND || n.Op == token.LOR {
				c++
			}
		}
		return true
	})
	return c
}

// knots finds the sets of files that all use one another, largest first, as lines.
func knots(m *measured, info *types.Info, of *types.Package, fset *token.FileSet) (out []int) {
	at := map[string]int{}
	for i, n := range m.names {
		at[n] = i
	}
	uses := make([]map[int]bool, len(m.names))
	for i := range uses {
		uses[i] = map[int]bool{}
	}
	for id, o := range info.Uses {
		switch x := o.(type) {
		case *types.Var:
			if o = x.Origin(); !x.IsField() && o.Parent() != of.Scope() {
				continue
			}
		case *types.Func:
			o = x.Origin()
		default:
			if o.Parent() != of.Scope() {
				continue
			}
		}
		if o.Pkg() != of {
			continue
		}
		a, ok1 := at[fset.Position(id.Pos()).Filename]
		b, ok2 := at[fset.Position(o.Pos()).Filename]
		if ok1 && ok2 && a != b {
			uses[a][b] = true
		}
	}
	// reach is what a file uses, also by others; files that reach each other knot.
	reach := make([]map[int]bool, len(uses))
	for i := range uses {
		reach[i] = map[int]bool{}
		for todo := []int{i}; len(todo) > 0; {
			k := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			for j := range uses[k] {
				if !reach[i][j] {
					reach[i][j] = true
					todo = append(todo, j)
				}
			}
		}
	}
	done := map[int]bool{}
	for i := range uses {
		if done[i] || !reach[i][i] {
			continue
		}
		n := 0
		for j := range uses {
			if reach[i][j] && reach[j][i] {
				done[j] = true
				n += m.lines[j]
			}
		}
		out = append(out, n)
	}
	sort.Sort(sort.Reverse(sort.IntSlice(out)))
	return out
}

// TestLayoutBounds holds packages, knots and functions to their bounds.
func TestLayoutBounds(t *testing.T) {
	exports := map[string]string{}
	var ours []listed
	for _, p := range listAll(t, "-export", "-deps", "./...") {
		exports[p.ImportPath] = p.Export
		if under(p.ImportPath, "gainwright") && len(p.GoFiles) > 0 {
			ours = append(ours, p)
		}
	}
	hold := func(what string, now, most int) {
		t.Helper()
		if now > most {
			t.Errorf("%s: %d, at most %d", what, now, most)
		}
	}
	funcs, above := 0, 0
	for _, p := range ours {
		fset := token.NewFileSet()
		m := &measured{path: strings.TrimPrefix(p.ImportPath, "gainwright/")}
		for _, f := range p.GoFiles {
			name := filepath.Join(p.Dir, f)
			a, err := parser.ParseFile(fset, name, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			m.files = append(m.files, a)
			m.names = append(m.names, name)
			m.lines = append(m.lines, fset.File(a.FileStart).LineCount())
			for _, d := range a.Decls {
				d, ok := d.(*ast.FuncDecl)
				if !ok {
					continue
				}
				funcs++
				n := branches(d)
				if n > many {
					above++
				}
				hold("branches of "+m.path+" "+funcName(d), n, mostBranches)
			}
		}
		if !under(p.ImportPath, "gainwright/sim") {
			hold("lines of "+m.path, m.sum(), mostLines)
		}
		info := &types.Info{Uses: map[*ast.Ident]types.Object{}}
		conf := types.Config{Importer: importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) {
			if exports[path] == "" {
				return nil, fmt.Errorf("no export data for %s", path)
			}
			return os.Open(exports[path])
		})}
		tp, err := conf.Check(p.ImportPath, fset, m.files, info)
		if err != nil {
			t.Fatalf("%s: %v", p.ImportPath, err)
		}
		largest := 0
		if k := knots(m, info, tp, fset); len(k) > 0 {
			largest = k[0]
		}
		hold("lines of a knot in "+m.path, largest, mostKnot)
	}
	share := float64(above) / float64(funcs)
	t.Logf("%d packages, %d functions, %d of them (%.2f %%) with more than %d branches", len(ours), funcs, above, 100*share, many)
	if share > mostMany {
		t.Errorf("%.2f %% of functions have more than %d branches, at most %.2f %%", 100*share, many, 100*mostMany)
	}
}

func funcName(d *ast.FuncDecl) string {
	if d.Recv == nil {
		return d.Name.Name
	}
	return strings.TrimPrefix(types.ExprString(d.Recv.List[0].Type), "*") + "." + d.Name.Name
}
