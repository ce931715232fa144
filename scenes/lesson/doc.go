// Package lesson is the scene "Lessons".
package lesson
