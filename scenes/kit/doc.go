// Package kit is what the scenes share: what a scene is, what it knows of the program, and the panels, columns, fields, decks and texts that they are made of.
package kit
