// Package drawer is the panel of a station, or of the strips: a few words and the settings.
package drawer
