package tests

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestWaitsHaveDeadlines: whatever a test waits for, it gives up on by itself and says
// what did not come. Else one thing that hangs takes its whole package's time, and the
// others' verdicts with it.
func TestWaitsHaveDeadlines(t *testing.T) {
	fset := token.NewFileSet()
	files := 0
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && p != ".." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "artefacts" || d.Name() == "testdata") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(p, "_test.go") {
			return nil
		}
		files++
		f, err := parser.ParseFile(fset, p, nil, 0)
		if err != nil {
			return err
		}
		for _, w := range endless(f) {
			t.Errorf("%s: %s", fset.Position(w.pos), w.what)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 50 {
		t.Errorf("only %d files of tests were found", files)
	}

	// The check itself, on what it must find and what it must leave alone.
	for text, found := range map[string]bool{
		`exec.Command("go", "version").Run()`:                                                    true,
		`exec.CommandContext(ctx, "go").Run()`:                                                   false,
		`http.Get("x")`:                                                                          true,
		`http.DefaultClient.Do(r)`:                                                               true,
		`wg.Go(func() { <-places })`:                                                             false,
		`for i := 0; i < 9 && !ok(); i++ { time.Sleep(1) }`:                                      false,
		`for i := 0; !ok(); i++ { if i > 99 { t.Fatal("no") }; time.Sleep(1) }`:                  false,
		`for i := 0; !ok(); i++ { time.Sleep(1) }`:                                               true,
		`client.Get("x")`:                                                                        false,
		`for !ok() { time.Sleep(1) }`:                                                            true,
		`for x := now(); x != nil; time.Sleep(1) { frame() }`:                                    true,
		`for busy() { b.wait(1) }`:                                                               true,
		`for range 100 { if ok() { break }; time.Sleep(1) }`:                                     false,
		`for i := 0; i < 9; i++ { time.Sleep(1) }`:                                               false,
		`for end := time.Now().Add(9); time.Now().Before(end); { time.Sleep(1) }`:                false,
		`for u == "" { select { case <-ended: return; case <-time.After(1): u = "x" } }`:         true,
		`for late := time.After(9); ; { select { case <-late: return; case <-time.After(1): } }`: false,
		`for range 9 { select { case <-ended: return; case <-time.After(1): } }`:                 false,
		`<-done`:                                        true,
		`x := <-done`:                                   true,
		`<-time.After(9)`:                               false,
		`for range lines() {}`:                          false,
		`select { case <-done: }`:                       true,
		`select { case <-done: default: }`:              false,
		`select { case <-done: case <-ctx.Done(): }`:    false,
		`select { case <-done: case <-time.After(9): }`: false,
		`go func() { for { select { case <-stop: return; default: time.Sleep(1) } } }()`: false,
		`t.Cleanup(func() { stop(); <-ended })`:                                          true,
	} {
		f, err := parser.ParseFile(fset, "x.go", "package x\nfunc f() {\n"+text+"\n}", 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := endless(f); len(got) > 0 != found {
			t.Errorf("%s: found %v", text, got)
		}
	}
}

type wait struct {
	pos  token.Pos
	what string
}

// endless lists what in a file waits without an end. What runs beside the test, in a
// goroutine, is told to stop by the test and is not looked at.
func endless(f *ast.File) (found []wait) {
	timers := map[string]bool{} // names given to what fires by itself
	ast.Inspect(f, func(n ast.Node) bool {
		if a, ok := n.(*ast.AssignStmt); ok && len(a.Lhs) == 1 && len(a.Rhs) == 1 && firesByItself(a.Rhs[0], nil) {
			timers[fmt.Sprint(a.Lhs[0])] = true
		}
		return true
	})
	var look func(n ast.Node, looping bool)
	look = func(n ast.Node, looping bool) {
		ast.Inspect(n, func(m ast.Node) bool {
			switch m := m.(type) {
			case *ast.GoStmt:
				return false
			case *ast.SelectorExpr:
				if name(m) == "http.DefaultClient" {
					found = append(found, wait{m.Pos(), "requests without a deadline: take an http.Client with a Timeout"})
				}
			case *ast.ForStmt:
				if m == n {
					return true
				}
				if !bounded(m) && waits(m, timers) {
					found = append(found, wait{m.Pos(), "a loop that waits without a deadline"})
				}
				look(m, !bounded(m))
				return false
			case *ast.SelectStmt:
				if !ends(m, timers, looping) && !looping {
					found = append(found, wait{m.Pos(), "a select without a deadline"})
				}
				for _, c := range m.Body.List {
					for _, s := range c.(*ast.CommClause).Body {
						look(s, looping)
					}
				}
				return false
			case *ast.UnaryExpr:
				if m.Op == token.ARROW && !firesByItself(m.X, timers) {
					found = append(found, wait{m.Pos(), "a receive without a deadline"})
				}
			case *ast.CallExpr:
				if beside(m) {
					return false
				}
				switch name(m.Fun) {
				case "exec.Command":
					found = append(found, wait{m.Pos(), "a program without a deadline: take limited.Command or exec.CommandContext"})
				case "http.Get", "http.Head", "http.Post", "http.PostForm":
					found = append(found, wait{m.Pos(), "a request without a deadline: take an http.Client with a Timeout"})
				}
			}
			return true
		})
	}
	look(f, false)
	return found
}

// beside reports whether a node starts a goroutine.
func beside(n ast.Node) bool {
	if c, ok := n.(*ast.CallExpr); ok {
		return strings.HasSuffix(name(c.Fun), ".Go")
	}
	_, ok := n.(*ast.GoStmt)
	return ok
}

// name is "package.Function" or "value.Method" of what is called.
func name(e ast.Expr) string {
	if s, ok := e.(*ast.SelectorExpr); ok {
		if x, ok := s.X.(*ast.Ident); ok {
			return x.Name + "." + s.Sel.Name
		}
		return "." + s.Sel.Name
	}
	return ""
}

// firesByItself reports whether a channel is a timer's or a context's.
func firesByItself(e ast.Expr, timers map[string]bool) bool {
	switch e := e.(type) {
	case *ast.CallExpr:
		return name(e.Fun) == "time.After" || strings.HasSuffix(name(e.Fun), ".Done")
	case *ast.Ident:
		return timers[e.Name]
	}
	return false
}

// bounded reports whether a loop counts, or looks at the clock.
func bounded(l *ast.ForStmt) bool {
	var counts func(e ast.Expr) bool
	counts = func(e ast.Expr) bool {
		c, ok := e.(*ast.BinaryExpr)
		return ok && (slices.Contains([]token.Token{token.LSS, token.LEQ, token.GTR, token.GEQ}, c.Op) ||
			c.Op == token.LAND && (counts(c.X) || counts(c.Y)))
	}
	if counts(l.Cond) {
		return true
	}
	// for i := 0; …; i++ { if i > 100 { t.Fatal(…) } }
	if post, ok := l.Post.(*ast.IncDecStmt); ok && contains(l.Body, func(n ast.Node) bool {
		c, ok := n.(*ast.BinaryExpr)
		return ok && (c.Op == token.GTR || c.Op == token.GEQ) && fmt.Sprint(c.X) == fmt.Sprint(post.X)
	}) {
		return true
	}
	return contains(l, func(n ast.Node) bool {
		c, ok := n.(*ast.CallExpr)
		return ok && (name(c.Fun) == "time.Now" || name(c.Fun) == "time.Since" || strings.HasSuffix(name(c.Fun), ".Err"))
	})
}

// waits reports whether a loop sleeps, lets frames pass or selects, without a timer
// that was started before it.
func waits(l *ast.ForStmt, timers map[string]bool) bool {
	return contains(l, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			return name(n.Fun) == "time.Sleep" || strings.HasSuffix(name(n.Fun), ".wait")
		case *ast.SelectStmt:
			return !ends(n, timers, true)
		}
		return false
	})
}

// ends reports whether a select goes on by itself; in a loop that does not, only a
// timer started before it counts.
func ends(s *ast.SelectStmt, timers map[string]bool, looping bool) bool {
	for _, c := range s.Body.List {
		comm := c.(*ast.CommClause).Comm
		if comm == nil && !looping {
			return true
		}
		if comm != nil && contains(comm, func(n ast.Node) bool {
			u, ok := n.(*ast.UnaryExpr)
			if !ok || u.Op != token.ARROW || !firesByItself(u.X, timers) {
				return false
			}
			call, ok := u.X.(*ast.CallExpr)
			return !looping || !ok || name(call.Fun) != "time.After"
		}) {
			return true
		}
	}
	return false
}

func contains(n ast.Node, is func(ast.Node) bool) (yes bool) {
	ast.Inspect(n, func(m ast.Node) bool {
		if beside(m) {
			return false
		}
		yes = yes || m != nil && is(m)
		return !yes
	})
	return yes
}
