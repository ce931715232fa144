package keys_test

import (
	"encoding/base64"
	"encoding/hex"
	"strings"
	"testing"

	"gainwright/lessons/keys"
)

const class = "the ferry leaves the north bank"

// A student's key is what OpenSSL 3.0.19 derives:
//
//	openssl kdf -keylen 32 -kdfopt digest:SHA256 -kdfopt key:'the ferry leaves the north bank' \
//	  -kdfopt hexinfo:6761696e77726967687420726573756c740061646120 \
//	  -kdfopt hexinfo:6272616e6474003137 HKDF
//
// the info being "gainwright result", 0, "ada brandt", 0, "17".
func TestForIsHKDF(t *testing.T) {
	all, err := keys.Read([]byte(class + "\n"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Ada Brandt", " ada  brandt."} {
		k, err := all.For(name, 17)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := base64.RawURLEncoding.DecodeString(k.Code())
		if got := hex.EncodeToString(b); got != "cb91c433d599f638fd2d7ec4e9b42b0813ccc21f79fcc9b515776b4d0d6c35cd" {
			t.Errorf("%q: %s", name, got)
		}
	}
}

// A signature is the HMAC of RFC 4231, test case 3: a key of 20 bytes 0xaa over 50 of 0xdd.
func TestSum(t *testing.T) {
	k, err := keys.Read([]byte(strings.Repeat("\xaa", 20)))
	if err != nil {
		t.Fatal(err)
	}
	if got := k.Sum([]byte(strings.Repeat("\xdd", 50))); got != "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe" {
		t.Error(got)
	}
	// "abc" in FIPS 180-4's examples: without a key it is the plain hash.
	if got := (*keys.Key)(nil).Sum([]byte("abc")); got != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Error(got)
	}
}

// Keys come out of files and links as they went in; altered or cut short they are refused.
func TestKeysAreWhole(t *testing.T) {
	all := keys.New()
	own, err := all.For("Ada", 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []*keys.Key{all, own} {
		back, err := keys.Read([]byte(k.String() + "\r\n"))
		if err != nil || back.String() != k.String() || back.Method() != k.Method() || back.Sum(nil) != k.Sum(nil) {
			t.Errorf("%s: %v, %v", k.Method(), back, err)
		}
	}
	if all.String() == keys.New().String() {
		t.Error("two keys made at random are one")
	}
	others := map[string]bool{}
	for _, who := range []struct {
		name string
		seed uint64
	}{{"Ada", 1}, {"Ada", 2}, {"Bo", 1}, {"Ada 1", 1}, {"Ada", 11}} {
		k, err := all.For(who.name, who.seed)
		if err != nil || others[k.Code()] {
			t.Errorf("%v: %v, or a key of somebody else's", who, err)
		}
		others[k.Code()] = true
	}
	for _, code := range []string{"", own.Code()[:42], own.Code() + "A", own.Code()[:42] + "_", strings.Replace(own.Code(), own.Code()[:1], "?", 1)} {
		if _, err := keys.ReadStudent(code); err == nil && code != own.Code() {
			t.Errorf("%q is read", code)
		}
	}
	short, _ := keys.Read([]byte("ferryboat"))
	if _, err := short.For("Ada", 1); err == nil || !strings.Contains(err.Error(), "22 characters") {
		t.Errorf("from a short key: %v", err)
	}
	if _, err := own.For("Ada", 1); err == nil {
		t.Error("from a student's key another is derived")
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("student:AAAA"))
	f.Add([]byte(class))
	f.Fuzz(func(t *testing.T, b []byte) {
		k, err := keys.Read(b)
		if err != nil {
			return
		}
		again, err := keys.Read([]byte(k.String()))
		if err != nil || again.Method() != k.Method() || again.Sum(b) != k.Sum(b) {
			t.Fatalf("%q: %v", b, err)
		}
	})
}
