package opencmd

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
)

const publicFlag = "public-url"

// publicURL is the address that links name: the one given, which is kept from then on
// ("" takes it away), else the one kept.
func publicURL(given string, changed bool) (string, error) {
	given, err := cli.PublicURL(given)
	if err != nil {
		return "", err
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return given, nil // this time only
	}
	file := filepath.Join(dir, "gainwright", publicFlag)
	switch {
	case !changed:
		text, err := os.ReadFile(file)
		if err != nil {
			return "", nil
		}
		kept, err := cli.PublicURL(strings.TrimSpace(string(text)))
		if err != nil {
			return "", fmt.Errorf("%s has no address in it: give it anew with --%s, or \"\" to do without", file, publicFlag)
		}
		return kept, nil
	case given == "":
		if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("the address kept is still there: %w", err)
		}
		return "", nil
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return "", fmt.Errorf("the address cannot be kept: %w", err)
	}
	return given, cli.WriteFile(file, true, []byte(given+"\n"))
}
