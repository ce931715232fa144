package cli

import (
	"flag"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the README's table of settings anew")

const (
	tableBegins = "<!-- settings: go test ./cmd/gainwright/internal/cli -run TestReadmeSettings -update -->\n"
	tableEnds   = "<!-- /settings -->\n"
)

// TestReadmeSettings: the README's table is what the program has.
func TestReadmeSettings(t *testing.T) {
	const path = "../../../../README.md"
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(b), tableBegins)
	is, after, ok2 := strings.Cut(rest, tableEnds)
	if !ok || !ok2 {
		t.Fatal("the README has no place for the settings")
	}
	var w strings.Builder
	w.WriteString("| setting | what | can be | unless told |\n|---|---|---|---|\n")
	for _, r := range settingRows() {
		w.WriteString("| `" + r[0] + "` | " + strings.Join(r[1:], " | ") + " |\n")
	}
	w.WriteString("\n")
	if *update {
		if err := os.WriteFile(path, []byte(before+tableBegins+w.String()+tableEnds+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if is != w.String() {
		t.Error("the README's settings are not the program's; write them anew with -update")
	}
}
