package publish

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Stream writes one file, whole or not at all, that is too large to be held: it
// appears under its name when write has returned without an error. An existing
// file is replaced only with force. Errors of the file system are
// *fault.Error; others are write's own.
func Stream(ctx context.Context, path string, force bool, write func(io.Writer) error) error {
	if err := checkStream(path, force); err != nil {
		return err
	}
	space, err := NewSpace(filepath.Dir(path))
	if err != nil {
		return failed(path, err, "cannot be written", "Give another name, in a folder you may write to.")
	}
	defer space.Close()
	hidden, err := create(space.Path(newDir))
	to := &sink{ctx: ctx, file: hidden, path: path}
	if err != nil {
		return to.failed(err)
	}
	defer hidden.Close() // where it wasn't
	if err := write(to); err != nil {
		return err
	}
	if err := errors.Join(hidden.Sync(), hidden.Close()); err != nil {
		return to.failed(err)
	}
	if err := rename(hidden.Name(), path); err != nil {
		return failed(path, err, "cannot be put in place", "Close what has it open, or give another name.")
	}
	return nil
}

// checkStream says before the work what Stream would refuse.
func checkStream(path string, force bool) error {
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return failed(path, err, "cannot be written", "Give another name.")
	case st.IsDir():
		return failed(path, nil, "is a folder", "Give the name of a file.")
	case !st.Mode().IsRegular():
		return failed(path, nil, "is a device or a pipe", "Give the name of a file.")
	case !force:
		return failed(path, nil, "is there already", "Give another name, or --force to replace it.")
	}
	return nil
}

// sink writes until its context is done, and says of failures what they are.
type sink struct {
	ctx  context.Context
	file io.Writer
	path string
}

func (s *sink) Write(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := s.file.Write(p)
	if err != nil {
		return n, s.failed(err)
	}
	return n, nil
}

func (s *sink) failed(err error) error {
	return unwritten(s.path, filepath.Base(s.path), err)
}
