package publish

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"

	"humdiff/fft/fault"
)

// Largest sizes of what is read whole, in bytes: far beyond what is ever written,
// and far below what would fill a machine's memory.
const (
	LargestResult = 128 << 20 // of a session of 2000 runs, 20 kB each, three times; a check of 10 000 files is smaller
	LargestText   = 16 << 20  // a list of 100 000 runs is smaller
)

// ReadFile reads a whole file of up to limit bytes. Only regular files are read:
// devices and pipes may have no end. Errors are *fault.Error with the hint given,
// which says what to name instead; what isn't there is fs.ErrNotExist.
func ReadFile(path string, limit int64, hint string) (_ []byte, err error) {
	defer func() {
		var said *fault.Error
		if errors.As(err, &said) {
			said.Hint = hint
		}
	}()
	f, size, err := openRegular(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if size > limit {
		return nil, tooLarge(path, limit)
	}
	var data bytes.Buffer
	data.Grow(int(size) + bytes.MinRead)
	if _, err := io.Copy(&data, io.LimitReader(f, limit+1)); err != nil {
		return nil, unreadable(path, err)
	}
	if int64(data.Len()) > limit { // it grew
		return nil, tooLarge(path, limit)
	}
	return data.Bytes(), nil
}

// Causes of errors that callers have a better hint for.
var (
	ErrFolder = errors.New("a folder")
	ErrLarge  = errors.New("too large")
)

// openRegular opens a regular file and says how large it is, bytes.
func openRegular(path string) (inFile, int64, error) {
	st, err := os.Stat(path) // before it is opened: opening a pipe waits for its other end
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return inFile{}, 0, &fault.Error{File: path, What: "there is no such file", Err: err}
	case err != nil:
		return inFile{}, 0, unreadable(path, err)
	case st.IsDir():
		return inFile{}, 0, &fault.Error{File: path, What: "is a folder, not a file", Err: ErrFolder}
	case !st.Mode().IsRegular():
		return inFile{}, 0, &fault.Error{File: path, What: "is a device or a pipe: only files are read"}
	}
	if err := step("open", path); err != nil {
		return inFile{}, 0, unreadable(path, err)
	}
	f, err := os.Open(path)
	if err != nil {
		return inFile{}, 0, unreadable(path, err)
	}
	return inFile{f}, st.Size(), nil
}

func tooLarge(path string, limit int64) error {
	return &fault.Error{File: path, What: fmt.Sprintf("is too large: more than %s", SizeSaid(limit)), Err: ErrLarge}
}

func unreadable(path string, err error) error {
	return &fault.Error{File: path, What: "cannot be read: " + Reason(err), Err: err}
}

// SizeSaid is a number of bytes as people say it: "1.3 GB".
func SizeSaid(bytes int64) string {
	v, unit := float64(bytes), "bytes"
	for _, larger := range []string{"kB", "MB", "GB", "TB"} {
		if v < 1000 {
			break
		}
		v, unit = v/1000, larger
	}
	return strconv.FormatFloat(v, 'g', 3, 64) + " " + unit
}
