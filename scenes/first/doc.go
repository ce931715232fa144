// Package first is the scene "First guest": what a first visit shows of the bench,
// growing step by step. What is said and shown stands in steps.yaml, what is performed
// in take.yaml, a scenario like any other.
package first
