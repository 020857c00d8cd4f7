package main

import (
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"humdiff/report/words"
)

// typos is how many letters may be wrong in a word that is still recognised.
const typos = 2

// newRoot builds the command tree.
func newRoot(s screen) *cobra.Command {
	root := &cobra.Command{
		Use:   "humdiff",
		Short: "Mains hum in audio captures: what a live lead near a cable adds",
		Long: `humdiff measures mains hum in captures of an audio bench (WAV files), and what
changes between two of them: a quiet one, and one taken with a live mains lead
near the cable. Each number comes with its interval, each line that was not
found with the limit below which it lies.`,
		Example: `  humdiff demo
  humdiff measure "quiet.wav"
  humdiff compare "quiet.wav" "near.wav" --full-scale 2.0V --gain 40dB
  humdiff compare "take.wav#t=0,60" "take.wav#t=90,150" --out "hum-report"`,
		Version:           version(),
		Args:              noSuchCommand,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},

		SuggestionsMinimumDistance: typos,
	}
	root.SetOut(s.stdout)
	root.SetErr(s.stderr)
	root.SetVersionTemplate("humdiff {{.Version}}\n")
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(demoCommand(s), measureCommand(s), compareCommand(s))
	return root
}

// version is the module's version, or that of the checkout it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(unknown)"
	}
	return info.Main.Version
}

// noSuchCommand refuses words that are no command.
func noSuchCommand(root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	hint := `"humdiff --help" lists the commands`
	if strings.HasSuffix(strings.ToLower(args[0]), ".wav") {
		hint = `say what to do with it: humdiff measure "FILE", or humdiff compare "QUIET" "NEAR"`
	} else if near := root.SuggestionsFor(args[0]); len(near) > 0 {
		hint = fmt.Sprintf("did you mean %q?", "humdiff "+near[0])
	}
	return misusedf(hint, "there is no command %q", args[0])
}

// takes refuses another number of captures.
func takes(least, most int, usage string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) >= least && (most < 0 || len(args) <= most) {
			return nil
		}
		return misusedf("write "+usage, "%s was given %s", c.Name(), words.Count(len(args), "capture"))
	}
}

// flagError says what is wrong with a flag, and which may have been meant.
func flagError(c *cobra.Command, err error) error {
	hint := fmt.Sprintf("%q lists its flags", c.CommandPath()+" --help")
	var unknown *pflag.NotExistError
	var value *pflag.InvalidValueError
	var missing *pflag.ValueRequiredError
	switch {
	case errors.As(err, &unknown):
		dashes := "--"
		if unknown.GetSpecifiedShortnames() != "" {
			dashes = "-"
		}
		if near := flagsLike(c, unknown.GetSpecifiedName()); len(near) > 0 {
			hint = fmt.Sprintf("did you mean --%s?", near[0])
		}
		return misusedf(hint, "there is no flag %s%s", dashes, unknown.GetSpecifiedName())
	case errors.As(err, &value):
		flag := value.GetFlag()
		return misusedf(meaning(flag), "--%s %s: %s", flag.Name, value.GetValue(), value.Unwrap())
	case errors.As(err, &missing):
		flag := missing.GetFlag()
		return misusedf(meaning(flag), "--%s wants a value", flag.Name)
	}
	return misusedf(hint, "%s", err)
}

// meaning is what a flag's help says.
func meaning(f *pflag.Flag) string {
	_, usage := pflag.UnquoteUsage(f)
	return fmt.Sprintf("--%s: %s", f.Name, usage)
}

// flagsLike is a command's flags that are close to a mistyped name. It has
// cobra compare them as it compares commands.
func flagsLike(c *cobra.Command, name string) []string {
	names := &cobra.Command{SuggestionsMinimumDistance: typos}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		names.AddCommand(&cobra.Command{Use: f.Name, Run: func(*cobra.Command, []string) {}})
	})
	return names.SuggestionsFor(name)
}
