package lessoncmd

import (
	"errors"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

func newLessonKeyCmd() *cobra.Command {
	var class, name, out string
	var seed uint64
	cmd := &cobra.Command{
		Use:   "key",
		Short: "Make a secret for a class, or one student's key from it",
		Long: `Make a secret for a class, at random, in --out; or with --class, --name and --seed, from
that secret, the key of one student, with which "gainwright lesson run --key" signs. (In the
scene nobody needs a file: "gainwright lesson links --key" puts each key into its link.)

A student's key is derived by HKDF (RFC 5869) with SHA-256 from the class's, the name and
the seed. What it is good for: nobody else of the class can sign under this name and seed,
as everybody can who shares one secret, nor hand in another's result as their own by
putting in another name. What not: the key lies in the student's page, link and browser. A
student can sign with it whatever they like, and give it away; who gets hold of the link
has it, too. The class's secret makes every key: keep it where no student comes. It does
not show who sat at the keyboard.`,
		Example: `  gainwright lesson key --out class.key
  gainwright lesson links mine.yaml --roster names.csv --key class.key --public-url https://training.example.org/gain/ --out cards.html
  gainwright lesson key --class class.key --name "Ada Brandt" --seed 17 --out ada.key
  gainwright lesson run mine.yaml --name "Ada Brandt" --seed 17 --key ada.key
  gainwright lesson grade results/ --roster names.csv --key class.key`,
		Args: cli.Args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			k := keys.New()
			switch whose := cmd.Flags().Changed("seed"); {
			case out == "":
				return cli.Usagef("lesson key: where to? Name a file with --out")
			case class == "" && (name != "" || whose):
				return cli.Usagef("lesson key: a student's key is made from the class's: name it with --class")
			case class != "" && (model.ReadName(name) == "" || !whose):
				return cli.Usagef("lesson key: whose key? Say --name and --seed, as they stand on the roster")
			case seed > scenario.MaxSeed:
				return cli.Usagef("lesson key: the seed is 0 to %d", uint64(scenario.MaxSeed))
			case class != "":
				all, err := readKey("--class", class)
				if err != nil {
					return err
				}
				if k, err = all.For(model.ReadName(name), seed); err != nil {
					return cli.Usagef("--class %s: %v", class, err)
				}
			}
			return writeKey(out, k)
		},
	}
	f := cmd.Flags()
	f.StringVar(&class, "class", "", "derive from the class's secret in `FILE`")
	f.StringVar(&name, "name", "", "the student's `NAME`, as on the roster")
	f.Uint64Var(&seed, "seed", 0, "the student's seed")
	f.StringVar(&out, "out", "", "write to `FILE`, which must not be there yet")
	return cmd
}

// writeKey writes a file that others cannot read, and replaces none: what a lost key has
// signed can no longer be verified.
func writeKey(path string, k *keys.Key) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return cli.Usagef("%s is there already, and a key is not replaced: move it away first", path)
	}
	if err != nil {
		return &sounds.OutputError{Path: path, Msg: "cannot be written: " + cause(err), Err: err}
	}
	_, err = f.WriteString(k.String() + "\n")
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
		return &sounds.OutputError{Path: path, Msg: "cannot be written: " + cause(err), Err: err}
	}
	return nil
}

// cause is what the system says, without the path.
func cause(err error) string {
	if e := new(fs.PathError); errors.As(err, &e) {
		return e.Err.Error()
	}
	return err.Error()
}
