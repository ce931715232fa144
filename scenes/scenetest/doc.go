// Package scenetest drives programs in tests, and looks at what they draw.
package scenetest
