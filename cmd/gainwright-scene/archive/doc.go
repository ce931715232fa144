// Package archive keeps what is too large for a browser's small memory, such as a voice of
// one's own, in the browser's database (IndexedDB) for this address: nothing of it leaves
// the machine. Built for the browser; elsewhere it is only words.
package archive
