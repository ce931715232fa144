//go:build window && !js

package window

import (
	"bytes"
	"os/exec"
	"runtime"
	"strings"
)

// A dialogue is a command that shows the desktop's own file dialogue and prints
// the path that was chosen, or fails when none was.
type dialogue []string

// dialogues returns the commands to try, for file name endings like ".wav", for one file
// or for many, which are printed a line each.
func dialogues(goos string, endings []string, many bool) []dialogue {
	globs := make([]string, len(endings))
	bare := make([]string, len(endings))
	for i, e := range endings {
		globs[i], bare[i] = "*"+e, `"`+strings.TrimPrefix(e, ".")+`"`
	}
	switch goos {
	case "darwin":
		script := "choose file"
		if len(bare) > 0 {
			script += " of type {" + strings.Join(bare, ", ") + "}"
		}
		if !many {
			return []dialogue{{"osascript", "-e", "POSIX path of (" + script + ")"}}
		}
		return []dialogue{{"osascript", "-e", "set out to \"\"", "-e", "repeat with f in (" + script + " with multiple selections allowed)",
			"-e", "set out to out & POSIX path of f & linefeed", "-e", "end repeat", "-e", "out"}}
	case "windows":
		filter := "*.*"
		if len(globs) > 0 {
			filter = strings.Join(globs, ";")
		}
		several := ""
		if many {
			several = "; $d.Multiselect = $true"
		}
		return []dialogue{{"powershell", "-NoProfile", "-STA", "-Command",
			"Add-Type -AssemblyName System.Windows.Forms; $d = New-Object System.Windows.Forms.OpenFileDialog; $d.Filter = 'Recordings|" + filter +
				"'" + several + "; if ($d.ShowDialog() -eq 'OK') { [Console]::OutputEncoding = [Text.Encoding]::UTF8; $d.FileNames } else { exit 1 }"}}
	}
	zenity := dialogue{"zenity", "--file-selection"}
	kdialog := dialogue{"kdialog", "--getopenfilename", "."}
	if many {
		zenity = append(zenity, "--multiple", "--separator=\n")
		kdialog = dialogue{"kdialog", "--multiple", "--separate-output", "--getopenfilename", "."}
	}
	if len(globs) > 0 {
		zenity = append(zenity, "--file-filter=Recordings | "+strings.Join(globs, " "))
		kdialog = append(kdialog, "Recordings ("+strings.Join(globs, " ")+")")
	}
	return []dialogue{zenity, kdialog}
}

// endings picks the file name endings of an accept list; MIME types are left out.
func endings(accept string) (list []string) {
	for e := range strings.SplitSeq(accept, ",") {
		if e = strings.TrimSpace(e); strings.HasPrefix(e, ".") && !strings.ContainsAny(e, "'\"|;*) ") {
			list = append(list, e)
		}
	}
	return list
}

// askForFile shows the desktop's file dialogue and waits for it. ok is false if
// nothing was chosen; found is false if the desktop has no such tool.
func askForFile(accept string, many bool) (paths []string, ok, found bool) {
	for _, d := range dialogues(runtime.GOOS, endings(accept), many) {
		name, err := exec.LookPath(d[0])
		if err != nil {
			continue
		}
		out, err := exec.Command(name, d[1:]...).Output()
		for line := range strings.SplitSeq(string(bytes.TrimRight(out, "\r\n")), "\n") {
			if line = strings.TrimRight(line, "\r"); line != "" {
				paths = append(paths, line)
			}
		}
		return paths, err == nil && len(paths) > 0, true
	}
	return nil, false, false
}
