// Package keys has the secrets that results are signed with: one that a class shares, and
// one for each student, derived from it.
//
// A student's key is HKDF-SHA256 (RFC 5869) of the class's, without salt, with the name's
// letters and digits and the seed as its info. It shows that a result comes from somebody
// who had the key of just this name and seed: nobody else of the class can sign in this
// name, nor hand in somebody's result as their own by putting another name into it, as all
// can who share one key. It shows no more. The key lies in the student's link and page, in
// the browser's memory and its history: who has it can sign whatever they like with it, and
// give it away, link and all. Whoever has the class's key has everybody's. And a class's key
// that can be guessed can be tried out by whoever has a student's, which is why For wants a
// long one.
package keys

import (
	"bytes"
	"crypto/hkdf"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"

	"gainwright/lessons/model"
)

// Methods of signatures.
const (
	Hash    = "sha256"           // no key at all
	Class   = "hmac-sha256"      // with the key that a class shares
	Student = "hkdf-hmac-sha256" // with the key derived for the result's name and seed
)

const (
	size      = 32 // bytes of a key that is made here: as many as SHA-256 gives (RFC 2104, 3)
	leastFor  = 22 // characters of a key from which others are derived: 128 bits in base64
	least     = 8  // characters of any key of a class
	studentIs = "student:"
	info      = "gainwright result\x00%s\x00%d"
)

// A Key signs results. The nil key signs with a plain hash.
type Key struct {
	secret []byte
	method string
}

// New makes a key for a class, at random.
func New() *Key {
	b := make([]byte, size)
	rand.Read(b) // never fails
	return &Key{[]byte(base64.RawURLEncoding.EncodeToString(b)), Class}
}

// Read reads what String writes, or any secret of 8 characters or more, which is then a
// class's key.
func Read(text []byte) (*Key, error) {
	text = bytes.TrimSpace(text)
	if code, ok := bytes.CutPrefix(text, []byte(studentIs)); ok {
		return ReadStudent(string(code))
	}
	if len(text) < least {
		return nil, fmt.Errorf("want %d characters or more", least)
	}
	return &Key{bytes.Clone(text), Class}, nil
}

// ReadStudent reads what Code writes.
func ReadStudent(code string) (*Key, error) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(code)
	if err != nil || len(b) != size {
		return nil, errors.New("is no student's key: a part of it is missing, or it was altered")
	}
	return &Key{b, Student}, nil
}

// String writes the key as a file has it; "" for none.
func (k *Key) String() string {
	switch {
	case k == nil:
		return ""
	case k.method == Student:
		return studentIs + k.Code()
	}
	return string(k.secret)
}

// Code writes a student's key as a link has it: 43 characters of base64url.
func (k *Key) Code() string { return base64.RawURLEncoding.EncodeToString(k.secret) }

// For derives the key of one student from a class's. Names that people take for one have
// one key.
func (k *Key) For(name string, seed uint64) (*Key, error) {
	switch {
	case k == nil || k.method != Class:
		return nil, errors.New("is a student's key: want the class's")
	case len(k.secret) < leastFor:
		return nil, fmt.Errorf("a student could try out so short a key for the class: want %d characters or more, at random", leastFor)
	}
	b, err := hkdf.Key(sha256.New, k.secret, nil, fmt.Sprintf(info, model.PlainWords(name), seed), size)
	if err != nil {
		return nil, err
	}
	return &Key{b, Student}, nil
}

// Method is that of the signatures that k makes.
func (k *Key) Method() string {
	if k == nil {
		return Hash
	}
	return k.method
}

// Sum is the signature over b, in hex.
func (k *Key) Sum(b []byte) string {
	if k == nil {
		sum := sha256.Sum256(b)
		return hex.EncodeToString(sum[:])
	}
	h := hmac.New(sha256.New, k.secret)
	h.Write(b)
	return hex.EncodeToString(h.Sum(nil))
}

// Same compares signatures in a time that does not tell where they differ.
func Same(a, b string) bool { return hmac.Equal([]byte(a), []byte(b)) }
