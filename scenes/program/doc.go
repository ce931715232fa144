// Package program is the frame round the scenes: tabs, header, listening level, presenting, handing out.
package program
