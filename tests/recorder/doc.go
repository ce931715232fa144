// Package recorder holds what is learnt of recorders against emulated ones, of which all is
// known. The emulation (devices.py) is numpy, sox and ffmpeg, and shares nothing with the
// program. Its tests carry the build tag full; they need python3-numpy, sox, ffmpeg and the
// recordings that the part long of tests/all.sh unpacks.
package recorder
