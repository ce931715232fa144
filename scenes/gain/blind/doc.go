// Package blind compares two sounds by ear alone.
package blind
