// Package bench is the live bench without a picture: one performance, two to four strips, takes, and listening to them.
package bench
