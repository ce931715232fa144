//go:build full

package lessons

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

const validate = `
const check = require('xapi-validation').default;
const lines = require('fs').readFileSync(0, 'utf8').trim().split('\n');
let bad = 0;
for (const line of lines) {
  const faults = check(JSON.parse(line));
  if (faults.length > 0) { bad++; console.log(line + '\n  ' + faults.map(f => JSON.stringify(f)).join('\n  ')); }
}
console.log(lines.length + ' statements, ' + bad + ' refused');
process.exit(bad > 0 ? 1 : 0);
`

// An independent validator of xAPI statements (npm: xapi-validation 2.1.4) accepts
// all of them, and refuses a broken one.
func TestIndependentValidator(t *testing.T) {
	dir := t.TempDir()
	npm := limited.Command(t, 5*time.Minute, "npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix", dir, "xapi-validation@2.1.4")
	if out, err := npm.CombinedOutput(); err != nil {
		t.Fatalf("npm: %v\n%s", err, out)
	}
	script := filepath.Join(dir, "validate.js")
	if err := os.WriteFile(script, []byte(validate), 0o600); err != nil {
		t.Fatal(err)
	}
	ask := func(lines [][]byte) (string, error) {
		cmd := limited.Command(t, 5*time.Minute, "node", script)
		cmd.Dir = dir
		cmd.Stdin = bytes.NewReader(bytes.Join(lines, []byte("\n")))
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	all := statements(t)
	out, err := ask(all)
	if err != nil {
		t.Errorf("%v\n%s", err, out)
	}
	t.Log(strings.TrimSpace(out))
	broken := bytes.Replace(all[1], []byte(`"duration":"PT`), []byte(`"duration":"five minutes PT`), 1)
	if out, err := ask([][]byte{broken}); err == nil {
		t.Errorf("a broken statement was accepted:\n%s", out)
	}
}
