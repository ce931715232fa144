package cli

import "testing"

func TestPublicURL(t *testing.T) {
	for given, want := range map[string]string{
		"": "", "https://a.example": "https://a.example/", "http://a.example/gain": "http://a.example/gain/",
		"https://a.example/gain/": "https://a.example/gain/", "https://a.example/gain/index.html": "https://a.example/gain/index.html",
		"https://a.example:8443/%22/": "https://a.example:8443/%22/",
	} {
		if got, err := PublicURL(given); got != want || err != nil {
			t.Errorf("%q becomes %q, %v; want %q", given, got, err, want)
		}
	}
	for _, bad := range []string{"a.example", "ftp://a.example/", "javascript:alert(1)", "https:///x", "https://a.example/#x", "https://a.example/?x", "https://me@a.example/", "://"} {
		if got, err := PublicURL(bad); err == nil {
			t.Errorf("%q is taken, as %q", bad, got)
		}
	}
}
