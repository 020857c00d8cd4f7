package main

import (
	"errors"
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"humdiff/report/doc"
	"humdiff/report/text"
)

// typos is how many letters may be wrong in a word that is still recognised.
const typos = 2

// newRoot builds the command tree.
func newRoot(s screen) *cobra.Command {
	root := &cobra.Command{
		Use:   "humdiff",
		Short: "Mains hum in audio captures: what a live lead near a cable adds",
		Long: `humdiff measures mains hum in captures of an audio bench (WAV or FLAC files), and
what changes between two of them: a quiet one, and one with a live mains lead near
the cable. Each number has its interval, each line not found its upper limit.`,
		Example: `  humdiff demo
  humdiff check "quiet.wav" "near.wav"
  humdiff compare "quiet.wav" "near.wav" --out "hum-report"`,
		Version:           version(),
		Args:              noSuchCommand,
		PersistentPreRunE: noEmptyFlags,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: false},

		SuggestionsMinimumDistance: typos,
	}
	root.SetOut(s.stdout)
	root.SetErr(s.stderr)
	root.SetVersionTemplate("humdiff {{.Version}}\n")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpCommand(helpCommand())
	root.AddCommand(
		demoCommand(s),
		checkCommand(s),
		measureCommand(s),
		compareCommand(s),
		batchCommand(s),
		trendCommand(s),
		couplingCommand(s),
		planCommand(s),
		verifyCommand(s),
		bundleCommand(s),
		figureCommand(s),
		openCommand(s),
		manualCommand(),
	)
	root.AddCommand(topicCommands(s)...)
	complete(root)
	foldHelp(root, s.width)
	return root
}

// foldHelp folds the commands' help to a terminal; 0 columns leave it as it is.
func foldHelp(root *cobra.Command, width int) {
	if width == 0 {
		return
	}
	cobra.AddTemplateFunc("folded", func(f *pflag.FlagSet) string { return f.FlagUsagesWrapped(width) })
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".LocalFlags.FlagUsages", "folded .LocalFlags"))
	for _, c := range append(root.Commands(), root) {
		c.Long = text.Fold(unwrapped(c.Long), width)
	}
}

// helpCommand is cobra's, but an unknown word is an error.
func helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Help about a command",
		RunE: func(c *cobra.Command, args []string) error {
			about, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return noSuchCommand(c.Root(), args)
			}
			about.InitDefaultHelpFlag()
			about.InitDefaultVersionFlag()
			return about.Help()
		},
	}
}

// singleDashes refuses words of several letters behind one dash: they would be
// read as so many flags of one letter, and -hum.wav as a call for help.
func singleDashes(root *cobra.Command, args []string) error {
	flags := allFlags(root)
	for i, arg := range args {
		if arg == "--" {
			return nil
		}
		isValue := i > 0 && takesValue(flags, args[i-1])
		if isValue || len(arg) < 3 || arg[0] != '-' || arg[1] == '-' {
			continue
		}
		if isFile(arg) {
			return fileAsFlag(arg)
		}
		hint := `"humdiff --help" lists what there is`
		if near := flagsLike(flags, strings.TrimLeft(arg, "-")); len(near) > 0 {
			hint = fmt.Sprintf("did you mean --%s?", near[0])
		}
		return misusedf(hint, "there is no flag %s", arg)
	}
	return nil
}

// isFile says that a word is a file's name rather than a flag.
func isFile(word string) bool {
	word = strings.ToLower(word)
	return strings.Contains(word, ".wav") || strings.Contains(word, ".flac")
}

func fileAsFlag(word string) error {
	return misusedf(fmt.Sprintf("write %q", "./"+word), "%s begins with a dash, and so is taken for a flag", word)
}

// allFlags is the flags of all commands.
func allFlags(root *cobra.Command) *pflag.FlagSet {
	all := pflag.NewFlagSet("", pflag.ContinueOnError)
	for _, c := range append(root.Commands(), root) {
		c.InitDefaultHelpFlag()
		c.InitDefaultVersionFlag()
		all.AddFlagSet(c.Flags())
	}
	return all
}

// takesValue says that a word is a flag whose value is the next word.
func takesValue(flags *pflag.FlagSet, word string) bool {
	name, long := strings.CutPrefix(word, "--")
	f := flags.Lookup(name)
	return long && f != nil && f.NoOptDefVal == ""
}

// noEmptyFlags refuses flags that were given an empty word, often a shell's
// empty variable: they would pass for not given.
func noEmptyFlags(c *cobra.Command, _ []string) (err error) {
	c.Flags().Visit(func(f *pflag.Flag) {
		if err == nil && f.Value.Type() == "string" && f.Value.String() == "" {
			err = misusedf(meaning(f), "--%s is empty", f.Name)
		}
	})
	return err
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
	if isFile(args[0]) && len(args) == 2 {
		hint = fmt.Sprintf(`say what to do with them: humdiff compare %q %q --out "hum-report"`, args[0], args[1])
	} else if isFile(args[0]) {
		hint = fmt.Sprintf(`say what to do with it: humdiff measure %q, or humdiff compare "QUIET" "NEAR"`, args[0])
	} else if near := root.SuggestionsFor(args[0]); len(near) > 0 {
		hint = fmt.Sprintf("did you mean %q?", "humdiff "+near[0])
	} else if topic := nearestTopic(args[0]); topic != "" {
		hint = fmt.Sprintf("did you mean %q?", "humdiff help "+topic)
	}
	return misusedf(hint, "there is no command %q", args[0])
}

// takes refuses another number of words of a kind.
func takes(least, most int, noun, usage string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) >= least && (most < 0 || len(args) <= most) {
			return nil
		}
		return misusedf("write "+usage, "%s was given %s", c.Name(), doc.Count(len(args), noun))
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
		name := "--" + unknown.GetSpecifiedName()
		if short := unknown.GetSpecifiedShortnames(); short != "" {
			name = "-" + short
		}
		if isFile(name) {
			return fileAsFlag(name)
		}
		if near := flagsLike(c.Flags(), unknown.GetSpecifiedName()); len(near) > 0 {
			hint = fmt.Sprintf("did you mean --%s?", near[0])
		}
		return misusedf(hint, "there is no flag %s", name)
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

// flagsLike is the flags that are close to a mistyped name.
func flagsLike(flags *pflag.FlagSet, name string) []string {
	var names []string
	flags.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return like(names, name)
}

// like are the names that are close to a mistyped one. It has cobra compare them as
// it compares commands.
func like(names []string, mistyped string) []string {
	root := &cobra.Command{SuggestionsMinimumDistance: typos}
	for _, name := range names {
		root.AddCommand(&cobra.Command{Use: name, Run: func(*cobra.Command, []string) {}})
	}
	return root.SuggestionsFor(mistyped)
}
