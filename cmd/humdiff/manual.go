package main

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	cobradoc "github.com/spf13/cobra/doc"

	"humdiff/report/publish"
	"humdiff/report/wire"
)

// manualCommand writes the pages that packagers install. It is hidden: who uses
// humdiff has its help.
func manualCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "manual DIR",
		Short:   "Write manual pages, shell completions and the results' JSON Schemas into a folder",
		Example: `  humdiff manual "manual"`,
		Hidden:  true,
		Args:    takes(1, 1, "folder", `humdiff manual "DIR"`),
		RunE: func(c *cobra.Command, args []string) error {
			files, err := manual(c.Root())
			if err != nil {
				return err
			}
			return publish.Hand(c.Context(), args[0], files)
		},
	}
}

// manual is a page a command for man, one for the web, the completions and the schemas.
func manual(root *cobra.Command) ([]publish.File, error) {
	var files []publish.File
	for _, c := range documented(root) {
		var man, page bytes.Buffer
		// The date stays the same, so that the same program writes the same pages.
		header := &cobradoc.GenManHeader{Title: strings.ToUpper(dashed(c)), Section: "1", Source: "humdiff", Manual: "humdiff", Date: new(time.Time)}
		if err := cobradoc.GenMan(c, header, &man); err != nil {
			return nil, fmt.Errorf("manual: %w", err)
		}
		if err := cobradoc.GenMarkdownCustom(c, &page, func(name string) string { return name }); err != nil {
			return nil, fmt.Errorf("manual: %w", err)
		}
		files = append(files,
			publish.File{Name: dashed(c) + ".1", Data: man.Bytes()},
			publish.File{Name: dashed(c) + ".md", Data: page.Bytes()})
	}
	return append(append(files, completions(root)...), schemas()...), nil
}

// schemas are what a program may expect of each result in JSON.
func schemas() []publish.File {
	var files []publish.File
	for _, id := range wire.Schemas() {
		schema, _ := wire.Schema(id) // there is one for each
		files = append(files, publish.File{Name: strings.ReplaceAll(id, "/", "-") + ".schema.json", Data: schema})
	}
	return files
}

func dashed(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// documented is the commands that a user sees, in order.
func documented(root *cobra.Command) []*cobra.Command {
	all := []*cobra.Command{root}
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() && c.Name() != "completion" {
			all = append(all, documented(c)...)
		}
	}
	for _, c := range all {
		c.DisableAutoGenTag = true
		c.InitDefaultHelpFlag()
		c.InitDefaultVersionFlag()
	}
	slices.SortStableFunc(all[1:], func(a, b *cobra.Command) int { return strings.Compare(a.CommandPath(), b.CommandPath()) })
	return all
}

func completions(root *cobra.Command) []publish.File {
	var bash, zsh, fish, power bytes.Buffer
	// Writing to memory doesn't fail.
	_ = root.GenBashCompletionV2(&bash, true)
	_ = root.GenZshCompletion(&zsh)
	_ = root.GenFishCompletion(&fish, true)
	_ = root.GenPowerShellCompletionWithDesc(&power)
	return []publish.File{
		{Name: "humdiff.bash", Data: bash.Bytes()},
		{Name: "_humdiff", Data: zsh.Bytes()},
		{Name: "humdiff.fish", Data: fish.Bytes()},
		{Name: "humdiff.ps1", Data: power.Bytes()},
	}
}
