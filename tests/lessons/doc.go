// Package lessons checks what lessons write for others against references
// outside the project: the statements of results against a schema written from the
// specification, and, with the tag full, against an independent validator. And it holds
// takes performed live on the bench against the same takes made offline, which is how
// they are graded.
package lessons
