// Package statements lets a validator from outside the project judge xAPI statements.
package statements

import (
	"bytes"
	"os"
	"path/filepath"
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

// Validator fetches an independent validator of xAPI statements (npm: xapi-validation
// 2.1.4) and gives what asks it: said is what it says, and err is nil if it accepts all.
func Validator(t testing.TB) (judge func(lines [][]byte) (said string, err error)) {
	t.Helper()
	dir := t.TempDir()
	npm := limited.Command(t, 5*time.Minute, "npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix", dir, "xapi-validation@2.1.4")
	if out, err := npm.CombinedOutput(); err != nil {
		t.Fatalf("npm: %v\n%s", err, out)
	}
	script := filepath.Join(dir, "validate.js")
	if err := os.WriteFile(script, []byte(validate), 0o600); err != nil {
		t.Fatal(err)
	}
	return func(lines [][]byte) (string, error) {
		cmd := limited.Command(t, 5*time.Minute, "node", script)
		cmd.Dir = dir
		cmd.Stdin = bytes.NewReader(bytes.Join(lines, []byte("\n")))
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
}
