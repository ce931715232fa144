// Package mend is the scene "Mend it later".
package mend
