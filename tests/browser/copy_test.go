//go:build full

package browser

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// strict evaluates an expression as the page itself would: its policy holds.
func strict[T any](p *page, js string, within time.Duration) (v T) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, within)
	defer cancel()
	res, err := chromedp.Call(ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: js, AwaitPromise: ptr(true), ReturnByValue: ptr(true), UserGesture: ptr(true), AllowUnsafeEvalBlockedByCSP: ptr(false)})
	if err != nil {
		p.noErrors()
		p.t.Fatalf("%.100s: %v", js, err)
	}
	if res.ExceptionDetails != nil {
		p.noErrors()
		p.t.Fatal(&chromedp.ExceptionError{ExceptionDetails: res.ExceptionDetails})
	}
	if err := json.Unmarshal([]byte(res.Result.Value), &v); err != nil {
		p.t.Fatal(err)
	}
	return v
}

func ptr[T any](v T) *T { return &v }

// inFront makes the page one that has the user's attention: else the browser gives it
// neither focus nor clipboard.
func (p *page) inFront() {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
		p.t.Fatal(err)
	}
}

// Copying a link, as a user does it: the clipboard has a link that carries the set-up.
// A browser that refuses is told of, too.
func TestCopyLink(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.calm()
	p.inFront()
	p.open(url)
	permit := func(how browser.PermissionSetting) {
		t.Helper()
		for _, name := range []string{"clipboard-write", "clipboard-read"} {
			if _, err := chromedp.Call(p.ctx, browser.SetPermission, browser.SetPermissionParams{Permission: &browser.PermissionDescriptor{Name: name}, Setting: how, Origin: strings.TrimSuffix(url, "/")}); err != nil {
				t.Fatal(err)
			}
		}
	}
	copied := func() {
		t.Helper()
		if !p.has("setup.link") {
			p.use("more")
		}
		p.until("setup.link", 20*time.Second)
		p.wait("the control", `document.querySelector('#gainwright-controls [data-id="setup.link"]')`, 20*time.Second)
		strict[bool](p, `document.querySelector('#gainwright-controls [data-id="setup.link"]').click() === undefined`, patience)
	}
	permit(browser.PermissionSettingGranted)
	copied()
	p.wait("the word about it", `/on the clipboard/.test(document.querySelector("#gainwright-live").textContent)`, 20*time.Second)
	if link := strict[string](p, "navigator.clipboard.readText()", patience); !strings.HasPrefix(link, url+"#setup=") {
		t.Errorf("on the clipboard is %.60q", link)
	}
	permit(browser.PermissionSettingDenied)
	copied()
	p.wait("the refusal", `/does not let this page/.test(document.querySelector("#gainwright-live").textContent)`, 20*time.Second)
	p.noErrors()
}
