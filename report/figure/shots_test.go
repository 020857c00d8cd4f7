package figure

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
)

// Figures for a person to look at, on demand, in every size and theme:
// HUMDIFF_SHOTS=FOLDER go test -run TestShots ./report/figure
func TestShots(t *testing.T) {
	only := os.Getenv("HUMDIFF_ONLY")
	dir := os.Getenv("HUMDIFF_SHOTS")
	if dir == "" {
		t.Skip("HUMDIFF_SHOTS names no folder")
	}
	for name, f := range everyFigure() {
		if !strings.Contains(name, only) {
			continue
		}
		sizes := SizeNames
		if f.Name == "card" {
			sizes = append(sizes[:len(sizes):len(sizes)], NamedSize{"post", Post}, NamedSize{"square-post", SquarePost})
		}
		for _, size := range sizes {
			for theme, colours := range map[string]Theme{"light": Light, "dark": Dark} {
				o := Options{Size: size.Size, Theme: colours, Density: 2}
				if (size.Name == "column" || size.Name == "phone") != (theme == "light") {
					continue
				}
				png := kit.Must(f.PNG(o))(t)
				pdf := kit.Must(f.PDF(o))(t)
				path := filepath.Join(dir, fmt.Sprintf("%s-%s-%s", strings.ReplaceAll(name, "/", "-"), size.Name, theme))
				for ending, data := range map[string][]byte{".svg": f.SVG(o), ".png": png, ".pdf": pdf} {
					kit.OK(t, os.WriteFile(path+ending, data, 0o644))
				}
			}
		}
	}
}
