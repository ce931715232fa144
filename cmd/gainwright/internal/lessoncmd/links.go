package lessoncmd

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"html/template"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/boombuler/barcode/qr"
	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
)

// linkAt puts a link behind the address of a site.
func linkAt(public string, l model.Link) (string, error) {
	at, err := cli.PublicURL(public)
	if err != nil {
		return "", err
	}
	return at + l.String(), nil
}

// quietModules is the free ground that ISO/IEC 18004 wants around a symbol.
const quietModules = 4

// codeOf draws a link as a QR symbol, an SVG element.
func codeOf(link string) (template.HTML, error) {
	code, err := qr.Encode(link, qr.M, qr.Auto) // 15 % may be unreadable
	if err != nil {
		return "", fmt.Errorf("the link %s is too long for a picture that a phone reads", link)
	}
	n := code.Bounds().Dx()
	side := n + 2*quietModules
	var path strings.Builder
	for y := range n {
		for x := 0; x < n; x++ {
			run := 0
			for x+run < n {
				if r, _, _, _ := code.At(x+run, y).RGBA(); r != 0 {
					break
				}
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quietModules, y+quietModules, run, run)
				x += run
			}
		}
	}
	return template.HTML(fmt.Sprintf(`<svg role="img" aria-label="The link as a picture for a phone’s camera" viewBox="0 0 %d %d" xmlns="http://www.w3.org/2000/svg" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path d="%s"/></svg>`, side, side, side, side, path.String())), nil
}

func newLessonLinksCmd() *cobra.Command {
	var roster, public, out, key string
	var asJSON, force bool
	cmd := &cobra.Command{
		Use:   "links LESSON",
		Short: "Give everybody on a roster a link with a seed and a name of their own",
		Long: `Give everybody on a roster a link with a seed and a name of their own, to a site that
"gainwright site" has made. The list is comma-separated: name, seed, link. An --out that
ends in .html is a page of cards to cut out, each with the link as a picture for a phone.

A roster is a CSV file with the columns name and, if you like, seed. Who has none gets
one made of the name: the roster can grow, and "gainwright lesson grade --roster" knows
the same seeds. Without --public-url the list has the command that plays the lesson in a
terminal instead.

With --key, a secret of the class, each link also carries a key of its own, with which the
scene signs that name's result (gainwright lesson key --help tells what that is good for).
Then a link is as secret as a key: hand each to its student alone.`,
		Example: `  gainwright lesson links gain-and-headroom --roster names.csv --public-url https://training.example.org/gain/
  gainwright lesson links mine.yaml --roster names.csv --public-url https://training.example.org/gain/ --out cards.html
  gainwright lesson links mine.yaml --roster names.csv --public-url https://training.example.org/gain/ --key class.key --out cards.html
  gainwright lesson grade results/ --roster names.csv --key class.key --report class.html`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			l, err := loadLesson(a[0])
			if err != nil {
				return err
			}
			if roster == "" {
				return cli.Usagef("lesson links: whom for? Name a roster with --roster")
			}
			if key != "" && public == "" {
				return cli.Usagef("lesson links: a key travels in a link, and there is none without --public-url; gainwright lesson key --name writes one for the terminal")
			}
			class, err := readKey("--key", key)
			if err != nil {
				return err
			}
			cards, err := cardsOf(l, a[0], roster, public, class)
			if err != nil {
				return err
			}
			page, err := cardsAs(l, cards, filepath.Ext(out), asJSON)
			if err != nil {
				return err
			}
			return writeOut(cmd.OutOrStdout(), out, force, page)
		},
	}
	f := cmd.Flags()
	f.StringVar(&roster, "roster", "", "the names, and seeds, in `FILE`")
	f.StringVar(&public, "public-url", "", "the `URL` of the site")
	f.StringVar(&key, "key", "", "give each link a key of its own, derived from the class's secret in `FILE`")
	f.StringVar(&out, "out", "", "write to `FILE`: .csv, or .html for cards")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	return cmd
}

// card is what one person gets.
type card struct {
	Name string        `json:"name"`
	Seed uint64        `json:"seed"`
	Link string        `json:"link"` // or the command
	Code template.HTML `json:"-"`
}

func cardsOf(l *model.Lesson, named, roster, public string, class *keys.Key) ([]card, error) {
	r, err := readRoster(roster)
	if err != nil {
		return nil, err
	}
	var out []card
	for _, e := range r.Entries {
		c := card{Name: e.Name, Seed: e.Seed, Link: fmt.Sprintf("gainwright lesson run %s --seed %d --name %s", quoteArg(named), e.Seed, quoteArg(e.Name))}
		if public != "" {
			link, err := e.Link(l.ID, class)
			if err != nil {
				return nil, cli.Usagef("--key: %v", err)
			}
			if c.Link, err = linkAt(public, link); err != nil {
				return nil, err
			}
			if c.Code, err = codeOf(c.Link); err != nil {
				return nil, err
			}
		}
		out = append(out, c)
	}
	return out, nil
}

// quoteArg writes an argument so that a shell takes it for one.
func quoteArg(s string) string {
	if s != "" && !strings.ContainsFunc(s, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./", r))
	}) {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

func cardsAs(l *model.Lesson, cards []card, ext string, asJSON bool) ([]byte, error) {
	var b bytes.Buffer
	switch {
	case asJSON:
		err := cli.WriteJSON(&b, struct {
			Lesson string `json:"lesson"`
			Links  []card `json:"links"`
		}{l.ID, cards})
		return b.Bytes(), err
	case strings.EqualFold(ext, ".html"):
		err := cardPage.Execute(&b, struct {
			Title string
			Cards []card
		}{l.Title, cards})
		return b.Bytes(), err
	}
	w := csv.NewWriter(&b)
	w.Write([]string{"name", "seed", "link"})
	for _, c := range cards {
		w.Write([]string{plainCell(c.Name), strconv.FormatUint(c.Seed, 10), plainCell(c.Link)})
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

var cardPage = template.Must(template.New("cards").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{{.Title}}: links</title>
<style>
:root { color-scheme: light; }
body { font: 15px/1.4 "Liberation Sans", Arial, sans-serif; color: #111; background: #fff; margin: 1em; }
ul { list-style: none; padding: 0; display: grid; grid-template-columns: repeat(auto-fill, minmax(19em, 1fr)); gap: 0; }
li { border: 1px dashed #888; padding: .8em; display: flex; gap: .8em; align-items: center; break-inside: avoid; }
svg { width: 8em; height: 8em; flex: none; }
h2 { font-size: 1.1em; margin: 0 0 .2em; }
p { margin: .2em 0; overflow-wrap: anywhere; font-size: .85em; }
</style>
</head>
<body>
<main>
<h1>{{.Title}}</h1>
<ul>
{{$t := .Title}}{{range .Cards}}<li>{{.Code}}<div><h2>{{.Name}}</h2><p>{{$t}}, seed {{.Seed}}</p><p>{{.Link}}</p></div></li>
{{end}}</ul>
</main>
</body>
</html>
`))
