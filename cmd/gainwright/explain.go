package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/glossary"
)

// newExplainCmd tells what a word means.
func newExplainCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "explain [TERM]",
		Short: "Say what a word or a unit means",
		Long: `Say what a word or a unit means, where it is met here, and who defines it.

Without a TERM all terms are listed. Case, blanks and hyphens do not matter, and other
names for the same thing do as well: "true peak" is dBTP.`,
		Example: `  gainwright explain
  gainwright explain dBFS
  gainwright explain noise after delivery
  gainwright explain EIN --json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			out := cmd.OutOrStdout()
			if len(args) == 0 {
				all := glossary.Terms()
				if asJSON {
					return cli.WriteJSON(out, map[string]any{"terms": all})
				}
				_, err := fmt.Fprint(out, termList(all))
				return err
			}
			word := strings.Join(args, " ")
			t, ok := glossary.Find(word)
			if !ok {
				if near := glossary.Near(word); len(near) > 0 {
					return cli.Usagef("explain: there is no term %q: did you mean %s?", word, strings.Join(near, ", "))
				}
				return cli.Usagef("explain: there is no term %q; gainwright explain lists them all", word)
			}
			if asJSON {
				return cli.WriteJSON(out, t)
			}
			_, err := fmt.Fprint(out, termText(t))
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

const termWidth = 80

func termText(t glossary.Term) string {
	var b strings.Builder
	b.WriteString(t.Name)
	if len(t.Also) > 0 {
		b.WriteString(" (also " + strings.Join(t.Also, ", ") + ")")
	}
	b.WriteString("\n")
	for i, p := range t.Paragraphs() {
		if i < 2 {
			b.WriteString("\n")
		}
		b.WriteString(cli.Wrap(p, termWidth) + "\n")
	}
	return b.String()
}

// termList has each term with its first sentence.
func termList(all []glossary.Term) string {
	wide := 0
	for _, t := range all {
		wide = max(wide, cli.Runes(t.Name))
	}
	var b strings.Builder
	for _, t := range all {
		first, _, _ := strings.Cut(t.Say, ". ")
		first = strings.TrimSuffix(first, ".")
		lines := strings.Split(cli.Wrap(first+".", max(termWidth-wide-2, 30)), "\n")
		fmt.Fprintf(&b, "%s%s  %s\n", t.Name, strings.Repeat(" ", wide-cli.Runes(t.Name)), strings.Join(lines, "\n"+strings.Repeat(" ", wide+2)))
	}
	return b.String()
}
