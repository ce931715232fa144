// Package waves shows the same moment at four places of the chain, and what clipping adds to it.
package waves
