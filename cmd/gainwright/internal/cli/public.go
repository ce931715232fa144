package cli

import (
	"net/url"
	"strings"
)

// PublicURL brings an address at which a site is into the form to which a link is
// appended; "" stays.
func PublicURL(s string) (string, error) {
	if s == "" {
		return "", nil
	}
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" {
		return "", Usagef("--public-url %s: want an address such as https://training.example.org/gain/", s)
	}
	if u.Fragment != "" || u.RawQuery != "" || u.User != nil {
		return "", Usagef("--public-url %s: want the site's address alone, without user, ? or #", s)
	}
	if last := u.Path[strings.LastIndex(u.Path, "/")+1:]; !strings.Contains(last, ".") && last != "" || u.Path == "" {
		u.Path += "/"
	}
	return u.String(), nil
}
