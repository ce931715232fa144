// Package diagram draws the level from the talker's lips to the file.
package diagram
