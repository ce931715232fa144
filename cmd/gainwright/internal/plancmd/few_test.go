//go:build !full

package plancmd

const learntDevices = 1
