package lessons

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// checkSchema holds v against a JSON schema of the plain kind that this folder
// uses, and lists what does not fit. A keyword it does not know is an error: a
// check nobody makes would pass.
func checkSchema(root, schema map[string]any, v any, at string) (faults []string) {
	fault := func(format string, args ...any) {
		faults = append(faults, at+": "+fmt.Sprintf(format, args...))
	}
	for key, rule := range schema {
		switch key {
		case "$comment", "definitions", "patternProperties":
		case "$ref":
			to := root["definitions"].(map[string]any)[strings.TrimPrefix(rule.(string), "#/definitions/")]
			faults = append(faults, checkSchema(root, to.(map[string]any), v, at)...)
		case "type":
			got := "unknown"
			switch v.(type) {
			case map[string]any:
				got = "object"
			case []any:
				got = "array"
			case string:
				got = "string"
			case float64:
				got = "number"
			case bool:
				got = "boolean"
			}
			if got != rule {
				fault("is a %s, not a %s", got, rule)
			}
		case "required":
			o, _ := v.(map[string]any)
			for _, k := range rule.([]any) {
				if _, ok := o[k.(string)]; !ok {
					fault("%s is missing", k)
				}
			}
		case "properties":
			o, _ := v.(map[string]any)
			for k, s := range rule.(map[string]any) {
				if x, ok := o[k]; ok {
					faults = append(faults, checkSchema(root, s.(map[string]any), x, at+"."+k)...)
				}
			}
		case "additionalProperties":
			o, _ := v.(map[string]any)
			known, _ := schema["properties"].(map[string]any)
			patterns, _ := schema["patternProperties"].(map[string]any)
			for k, x := range o {
				_, ok := known[k]
				for p, s := range patterns {
					if regexp.MustCompile(p).MatchString(k) {
						ok = true
						faults = append(faults, checkSchema(root, s.(map[string]any), x, at+"."+k)...)
					}
				}
				if !ok {
					fault("%s has no place here", k)
				}
			}
		case "pattern":
			s, _ := v.(string)
			if !regexp.MustCompile(rule.(string)).MatchString(s) {
				fault("%q does not match %s", s, rule)
			}
		case "minLength":
			s, _ := v.(string)
			if float64(len(s)) < rule.(float64) {
				fault("%q is too short", s)
			}
		case "enum":
			if !slices.Contains(rule.([]any), v) {
				fault("%v is none of %v", v, rule)
			}
		case "items":
			list, _ := v.([]any)
			for i, x := range list {
				faults = append(faults, checkSchema(root, rule.(map[string]any), x, fmt.Sprintf("%s[%d]", at, i))...)
			}
		case "minimum":
			if x, ok := v.(float64); ok && x < rule.(float64) {
				fault("%v is below %v", x, rule)
			}
		case "maximum":
			if x, ok := v.(float64); ok && x > rule.(float64) {
				fault("%v is above %v", x, rule)
			}
		default:
			fault("the schema's keyword %s is not known", key)
		}
	}
	return faults
}

func decode(b []byte) map[string]any {
	var v map[string]any
	if err := json.Unmarshal(b, &v); err != nil {
		panic(err)
	}
	return v
}
