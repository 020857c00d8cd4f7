package report

import (
	"humdiff/fft/fault"
	"humdiff/report/publish"
	"humdiff/report/wire"
)

// ReadAny reads a result of any kind from a file, a regular one of bounded size;
// hint says what to name instead where it holds none. Errors are *fault.Error.
func ReadAny(path, hint string) (wire.Result, error) {
	text, err := publish.ReadFile(path, publish.LargestResult, hint)
	if err != nil {
		return nil, err
	}
	r, err := wire.Read(text)
	if err != nil {
		return nil, &fault.Error{File: path, What: err.Error(), Hint: hint, Err: err}
	}
	return r, nil
}

// Read reads a result of one kind, that of a command.
func Read[R wire.Result](path, command, hint string) (r R, err error) {
	text, err := publish.ReadFile(path, publish.LargestResult, hint)
	if err != nil {
		return r, err
	}
	any, err := wire.Read(text)
	if r, ok := any.(R); ok {
		return r, nil
	}
	return r, &fault.Error{File: path, What: "is no result of " + command, Hint: hint, Err: err}
}
