package cli

import (
	_ "embed"
	"html/template"
)

//go:embed report_style.css
var reportStyle string

// ParsePage makes a page that shares its style with the others.
func ParsePage(name, text string) *template.Template {
	t := template.Must(template.New(name).Parse(text))
	template.Must(t.New("style").Parse(reportStyle))
	return t
}
