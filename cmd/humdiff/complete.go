package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// complete tells the shells' completion what may follow each flag: the words of
// a choice, folders, or nothing where a number or a voltage is wanted.
func complete(root *cobra.Command) {
	for _, c := range root.Commands() {
		complete(c)
	}
	root.LocalFlags().VisitAll(func(f *pflag.Flag) {
		// The error is that of a flag registered twice; flags that several commands
		// share by design are not registered anew.
		switch value := f.Value.(type) {
		case *choice:
			_ = root.RegisterFlagCompletionFunc(f.Name, cobra.FixedCompletions(value.of, cobra.ShellCompDirectiveNoFileComp))
		default:
			switch {
			case takesFolder(f):
				_ = root.MarkFlagDirname(f.Name)
			case !takesFile(f):
				_ = root.RegisterFlagCompletionFunc(f.Name, cobra.NoFileCompletions)
			}
		}
	})
}

// takesFolder and takesFile go by the word that stands for the value in the
// help.
func takesFolder(f *pflag.Flag) bool { return valueName(f) == "DIR" }

func takesFile(f *pflag.Flag) bool {
	switch valueName(f) {
	case "FILE", "CAPTURE", "CAPTURE=VOLTAGE", "RESULT":
		return true
	}
	return false
}

func valueName(f *pflag.Flag) string {
	name, _ := pflag.UnquoteUsage(f)
	return name
}
