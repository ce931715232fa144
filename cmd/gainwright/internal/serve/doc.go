// Package serve compiles the scene for the browser, keeps the result, and
// serves it with its page from the loopback interface.
//
// A build is kept under a key made of what goes into it (the sources' contents
// and the Go version), so that the second start compiles nothing and a changed
// source never meets an old scene.
//
// A released program needs no compiler: it has the scene inside. Scene gives whichever
// there is.
package serve
