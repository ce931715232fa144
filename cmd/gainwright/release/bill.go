package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// The fields of a bill of materials that are used here: CycloneDX 1.6 in JSON
// (ECMA-424), https://cyclonedx.org/docs/1.6/json/. A tool that writes it would bring
// more modules than it lists, and does not know that a second program is inside.
type (
	bom struct {
		Format       string       `json:"bomFormat"`
		Spec         string       `json:"specVersion"`
		Version      int          `json:"version"`
		Metadata     metadata     `json:"metadata"`
		Components   []component  `json:"components"`
		Dependencies []dependency `json:"dependencies"`
	}
	metadata struct {
		Timestamp string    `json:"timestamp"`
		Component component `json:"component"`
	}
	component struct {
		Type       string     `json:"type"`
		Ref        string     `json:"bom-ref"`
		Name       string     `json:"name"`
		Version    string     `json:"version"`
		Hashes     []hash     `json:"hashes,omitempty"`
		Licences   []licence  `json:"licenses,omitempty"`
		PURL       string     `json:"purl,omitempty"`
		Properties []property `json:"properties,omitempty"`
	}
	hash struct {
		Alg     string `json:"alg"`
		Content string `json:"content"`
	}
	licence struct {
		Licence struct {
			ID   string `json:"id,omitempty"`
			Name string `json:"name,omitempty"`
		} `json:"license"`
	}
	property struct {
		Name  string `json:"name"`
		Value string `json:"value"`
	}
	dependency struct {
		Ref string   `json:"ref"`
		On  []string `json:"dependsOn"`
	}
)

// bill is the bill of materials of a program: what is linked into it, or into the
// scene inside it.
func bill(target string, c commit, program []byte, modules []module) ([]byte, error) {
	own := component{
		Type: "application", Ref: "gainwright", Name: "gainwright", Version: c.String(),
		Hashes:     []hash{{"SHA-256", fmt.Sprintf("%x", sha256.Sum256(program))}},
		Licences:   known("MIT"),
		Properties: []property{{"gainwright:system", target}, {"gainwright:commit", c.short}},
	}
	b := bom{Format: "CycloneDX", Spec: "1.6", Version: 1, Metadata: metadata{c.when.Format(time.RFC3339), own}}
	on := dependency{Ref: own.Ref}
	for _, m := range modules {
		version := strings.TrimPrefix(m.Version, "go")
		part := component{Type: "library", Name: m.Path, Version: m.Version, PURL: "pkg:golang/" + m.Path + "@" + version}
		part.Ref = part.PURL
		texts, err := licences([]module{m})
		if err != nil {
			return nil, err
		}
		part.Licences = recognised(m.Path, texts)
		if m.Sum != "" {
			part.Properties = []property{{"gainwright:go.sum", m.Sum}}
		}
		b.Components = append(b.Components, part)
		on.On = append(on.On, part.Ref)
	}
	b.Dependencies = []dependency{on}
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(b)
	return text.Bytes(), err
}

func known(ids ...string) []licence {
	list := make([]licence, len(ids))
	for i, id := range ids {
		list[i].Licence.ID = id
	}
	return list
}

// Sentences that only one licence has, with its SPDX identifier; the first that fits
// counts.
var sentences = [][2]string{
	{"Apache License Version 2.0", "Apache-2.0"},
	{"SIL OPEN FONT LICENSE Version 1.1", "OFL-1.1"},
	{"Creative Commons Attribution 4.0 International", "CC-BY-4.0"},
	{"This is free and unencumbered software released into the public domain", "Unlicense"},
	{"Permission is hereby granted, free of charge, to any person obtaining a copy", "MIT"},
	{"* Neither the name of", "BSD-3-Clause"},
	{"Redistribution and use in source and binary forms", "BSD-2-Clause"},
}

// chosen is which licence is taken where a module leaves the choice.
var chosen = map[string]string{
	"github.com/golang/freetype": "FTL", // or the GPL, version 2 or later
}

// recognised are the licences that a module's texts are known to be; a text that is
// not known is named by its file.
func recognised(path string, texts []file) []licence {
	if id := chosen[path]; id != "" {
		return known(id)
	}
	var list []licence
	seen := map[string]bool{}
	for _, t := range texts {
		id := licenceOf(t.data)
		switch {
		case id == "" && !aside(t.name):
			var l licence
			l.Licence.Name = t.name
			list = append(list, l)
		case id != "" && !seen[id]:
			seen[id] = true
			list = append(list, known(id)...)
		}
	}
	return list
}

// aside tells of a text that grants more, or explains, and is no licence of its own.
func aside(name string) bool {
	base := strings.ToLower(name[strings.LastIndex(name, "/")+1:])
	return strings.HasPrefix(base, "patents") || strings.HasPrefix(base, "notice")
}

func licenceOf(text []byte) string {
	flat := strings.ToLower(strings.Join(strings.Fields(string(text)), " "))
	for _, s := range sentences {
		if strings.Contains(flat, strings.ToLower(s[0])) {
			return s[1]
		}
	}
	return ""
}
