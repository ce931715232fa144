// Package work carries heavy work on beside the screen: tasks that run in slices where all share one thread, and what they are made of.
package work
