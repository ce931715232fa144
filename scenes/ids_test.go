package scenes

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// idPackages have constants of IDs, in the order of the list in doc.go.
var idPackages = []string{"kit", "program", "gain", "gain/drawer", "gain/blind", "gain/past", "gain/cards", "gain/talker", "twin", "plan", "mend", "lesson", "practice", "recorder", "mine", "first"}

// listHead begins the part of doc.go that is made from the constants.
const listHead = "// # IDs\n"

// idConst is a constant of an ID.
type idConst struct{ pkg, name, value, about string }

// shown is the ID as the list has it: behind a strip's name, and with what follows a
// beginning left open.
func (c idConst) shown() string {
	id := c.value
	if strings.HasPrefix(strings.ToLower(c.name), "idstrip") && len(c.name) > 7 && c.name[7] >= 'A' && c.name[7] <= 'Z' {
		id = "A." + id
	}
	switch {
	case strings.HasPrefix(id, "."):
		id = "…" + id
	case strings.HasSuffix(id, "."):
		id += "…"
	}
	return id
}

// parseDir parses the files of a package of the scenes, without its tests.
func parseDir(t testing.TB, fset *token.FileSet, dir string) (files []*ast.File) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no files in %s (%v)", dir, err)
	}
	for _, n := range names {
		if strings.HasSuffix(n, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(fset, n, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	return files
}

// constants finds all string constants of the packages, by package and name, and those
// that are IDs in their order.
func constants(t testing.TB) (ids []idConst) {
	t.Helper()
	fset := token.NewFileSet()
	exprs := map[string]ast.Expr{}
	name := regexp.MustCompile(`^(id|ID)[A-Z]`)
	for _, pkg := range idPackages {
		for _, f := range parseDir(t, fset, pkg) {
			for _, d := range f.Decls {
				g, ok := d.(*ast.GenDecl)
				if !ok || g.Tok != token.CONST {
					continue
				}
				for _, s := range g.Specs {
					v := s.(*ast.ValueSpec)
					if len(v.Values) != 1 {
						continue
					}
					exprs[pkg+"."+v.Names[0].Name] = v.Values[0]
					if name.MatchString(v.Names[0].Name) {
						ids = append(ids, idConst{pkg: pkg, name: v.Names[0].Name, about: strings.TrimSpace(v.Comment.Text())})
					}
				}
			}
		}
	}
	listed := map[string]bool{}
	for _, p := range idPackages {
		listed[p] = true
	}
	for _, pattern := range []string{"*/*.go", "*/*/*.go"} {
		files, _ := filepath.Glob(pattern)
		for _, n := range files {
			if dir := filepath.ToSlash(filepath.Dir(n)); !listed[dir] && !strings.HasSuffix(n, "_test.go") {
				src, err := os.ReadFile(n)
				if err != nil {
					t.Fatal(err)
				}
				if regexp.MustCompile(`(?m)^(const )?\t?(id|ID)[A-Z]\w* += "`).Match(src) {
					t.Errorf("%s has constants of IDs and is not among the packages of the list", dir)
				}
			}
		}
	}
	var value func(pkg string, e ast.Expr) string
	value = func(pkg string, e ast.Expr) string {
		switch e := e.(type) {
		case *ast.BasicLit:
			s, err := strconv.Unquote(e.Value)
			if err != nil {
				t.Fatal(err)
			}
			return s
		case *ast.BinaryExpr:
			return value(pkg, e.X) + value(pkg, e.Y)
		case *ast.SelectorExpr:
			p := e.X.(*ast.Ident).Name
			return value(p, exprs[p+"."+e.Sel.Name])
		case *ast.Ident:
			return value(pkg, exprs[pkg+"."+e.Name])
		}
		t.Fatalf("%s: cannot tell what %T is", pkg, e)
		return ""
	}
	for i, c := range ids {
		ids[i].value = value(c.pkg, exprs[c.pkg+"."+c.name])
	}
	return ids
}

// list is the part of doc.go that is made from the constants.
func list(ids []idConst) string {
	const width, column = 88, 24
	var b strings.Builder
	b.WriteString(listHead + "//\n")
	b.WriteString("// Made from the constants of the packages by go test -run DocumentedIDs -update. What\n")
	b.WriteString("// stands for … is said behind it; a node can be read and takes no intent.\n")
	pkg := ""
	for _, c := range ids {
		if c.pkg != pkg {
			pkg = c.pkg
			fmt.Fprintf(&b, "//\n// Of package %s:\n//\n", pkg)
		}
		line := "//\t" + c.shown()
		pad := max(column-len([]rune(c.shown())), 2)
		line += strings.Repeat(" ", pad)
		at := len([]rune(line))
		for _, w := range strings.Fields(c.about) {
			if at+len([]rune(w)) > width && !strings.HasSuffix(line, "  ") {
				b.WriteString(strings.TrimRight(line, " ") + "\n")
				line = "//\t" + strings.Repeat(" ", column)
				at = len(line)
			}
			line += w + " "
			at += len([]rune(w)) + 1
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

// TestDocumentedIDs: the list in the package comment has each constant of an ID, with what
// is said of it there.
func TestDocumentedIDs(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	ids := constants(t)
	for _, c := range ids {
		if c.about == "" {
			t.Errorf("%s.%s: nothing is said of %q", c.pkg, c.name, c.value)
		}
	}
	head, _, ok := strings.Cut(string(src), listHead)
	if !ok {
		t.Fatalf("doc.go has no line %q", listHead)
	}
	want := head + list(ids) + "package scenes\n"
	if *update {
		if err := os.WriteFile("doc.go", []byte(want), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if want == string(src) {
		return
	}
	had := map[string]bool{}
	for _, l := range strings.Split(string(src), "\n") {
		had[l] = true
	}
	for _, l := range strings.Split(want, "\n") {
		if !had[l] {
			t.Errorf("doc.go lacks %q", l)
		}
	}
	t.Error("doc.go is not what the constants say: go test ./scenes -run DocumentedIDs -update")
}

// TestControlsAreDocumented: each control and each node that a fresh program has is one of
// the constants, or what stands behind one, or a setting.
func TestControlsAreDocumented(t *testing.T) {
	ids := constants(t)
	known := func(id string) bool {
		rest := id
		if len(id) > 2 && id[1] == '.' && id[0] >= 'A' && id[0] <= 'D' {
			rest = id[2:]
			for _, s := range sim.Settings() {
				if rest == s.ID || strings.HasPrefix(rest, s.ID+".") {
					return true
				}
			}
		}
		for _, s := range sim.Settings() {
			if s.Station == sim.AtMicrophone && id == s.ID {
				return true
			}
		}
		for _, c := range ids {
			v := strings.TrimSuffix(strings.TrimPrefix(c.shown(), "A."), "…")
			switch {
			case v == rest, v == id:
				return true
			case strings.HasSuffix(v, ".") && len(v) < len(rest) && strings.HasPrefix(rest, v):
				return true
			}
		}
		return false
	}
	if known("A.nothing") || known("nothing") || known("tab.") {
		t.Fatal("everything is known")
	}
	b := newBench(t)
	for _, tab := range []string{"", kit.IDTabTwin, kit.IDTabPlan, kit.IDTabMend, kit.IDTabLessons, kit.IDTabPractice, kit.IDTabRecorder, kit.IDTabFirst} {
		if tab != "" {
			b.Do(tab)
		}
		for _, c := range b.P.Controls() {
			if id := c.Common().ID; !known(id) {
				t.Errorf("%s: the control %s is not documented", tab, id)
			}
		}
		for _, n := range b.P.Semantics() {
			if n.ID != "" && !known(n.ID) {
				t.Errorf("%s: the node %s is not documented", tab, n.ID)
			}
		}
	}
	b = newBench(t)
	for _, c := range ids {
		if strings.HasSuffix(c.shown(), "…") || strings.HasPrefix(c.shown(), "…") || strings.Contains(c.about, "node") || strings.Contains(c.about, "between scenes") || strings.HasPrefix(c.value, "tab.") {
			continue
		}
		switch c.pkg {
		case "kit", "program", "gain", "gain/drawer", "gain/blind", "gain/past", "gain/cards":
			if err := b.P.Apply(ui.Intent{ID: c.shown(), Do: "default"}); err != nil && strings.Contains(err.Error(), "nothing called") {
				t.Errorf("%s is documented but unknown", c.shown())
			}
		}
	}
}

// TestIDsAreConstants: no ID is written out where it is used.
func TestIDsAreConstants(t *testing.T) {
	ids := map[string]bool{}
	for _, c := range constants(t) {
		if strings.Contains(c.value, ".") && len(c.value) > 1 {
			ids[c.value] = true
		}
	}
	fset := token.NewFileSet()
	found := 0
	for _, pkg := range append([]string{"stage", "gain/waves"}, idPackages...) {
		for _, f := range parseDir(t, fset, pkg) {
			literal := func(n ast.Node) (lit *ast.BasicLit, s string) {
				lit, ok := n.(*ast.BasicLit)
				if !ok || lit.Kind != token.STRING {
					return nil, ""
				}
				s, _ = strconv.Unquote(lit.Value)
				return lit, s
			}
			// No literal at all makes an ID, but for the point behind a strip's name.
			in := func(n ast.Node) {
				ast.Inspect(n, func(n ast.Node) bool {
					if lit, s := literal(n); lit != nil && s != "." && s != "" {
						t.Errorf("%s: %s is written out", fset.Position(lit.Pos()), lit.Value)
					}
					_, call := n.(*ast.CallExpr)
					return !call
				})
			}
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.GenDecl:
					return n.Tok != token.CONST
				case *ast.KeyValueExpr:
					if k, ok := n.Key.(*ast.Ident); ok && k.Name == "ID" {
						found++
						in(n.Value)
					}
				case *ast.BinaryExpr:
					if s, ok := n.X.(*ast.SelectorExpr); ok && s.Sel.Name == "ID" && (n.Op == token.EQL || n.Op == token.NEQ) {
						in(n.Y)
					}
				case *ast.SwitchStmt:
					if s, ok := n.Tag.(*ast.SelectorExpr); ok && s.Sel.Name == "ID" {
						for _, c := range n.Body.List {
							for _, e := range c.(*ast.CaseClause).List {
								in(e)
							}
						}
					}
				case *ast.CallExpr:
					s, ok := n.Fun.(*ast.SelectorExpr)
					if !ok || len(n.Args) < 2 {
						break
					}
					switch s.Sel.Name {
					case "NewButton", "NewCheck", "NewKnob", "NewSlider", "NewMeter", "NewTimeline", "NewField", "NewTextField":
						found++
						in(n.Args[0])
					case "NewChoice", "NewTab":
						found++
						in(n.Args[1])
					}
				case *ast.BasicLit:
					if lit, s := literal(n); lit != nil && ids[s] {
						t.Errorf("%s: %s has a constant", fset.Position(lit.Pos()), lit.Value)
					}
				}
				return true
			})
		}
	}
	if found < 100 {
		t.Errorf("only %d places make an ID: this looks at the wrong ones", found)
	}
}
