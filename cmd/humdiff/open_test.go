package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
)

// open says where its page is and ends when it is interrupted; what can't be
// watched is refused before anything is served.
func TestOpen(t *testing.T) {
	interrupted, stop := context.WithCancel(t.Context())
	stop()
	for _, c := range []struct {
		ctx  context.Context
		args []string
		code int
		says string
	}{
		{interrupted, []string{"open", "--no-browser"}, done, "The page is at http://127.0.0.1:"},
		{t.Context(), []string{"open", "--no-browser", filepath.Join(t.TempDir(), "none")}, failed, "cannot be watched"},
		{t.Context(), []string{"open", "one", "two"}, wrong, "open was given 2 folders"},
	} {
		var stdout, stderr bytes.Buffer
		if code := run(c.ctx, c.args, &stdout, &stderr); code != c.code {
			t.Errorf("%v: exit code %d, want %d", c.args, code, c.code)
		}
		if !strings.Contains(stderr.String(), c.says) || stdout.Len() > 0 {
			t.Errorf("%v: %q, %q", c.args, &stdout, &stderr)
		}
	}
}
