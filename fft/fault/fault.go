// Package fault has the program's error: the file it is about, what is wrong, and
// what to do about it. Everything that reads files, flags or addresses returns
// it; it prints nothing.
package fault

import (
	"errors"
	"fmt"
	"io/fs"
)

// Error says what is wrong with a file, a flag or an address, and what to do.
type Error struct {
	File string // as the user wrote it; empty where no file is concerned
	What string // what is wrong, without the file's name
	Hint string // what to do; may be empty
	Err  error  // the cause, if any
}

// Error reads "FILE: what is wrong". The hint is for a line of its own.
func (e *Error) Error() string {
	if e.File == "" {
		return e.What
	}
	return e.File + ": " + e.What
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// New is an Error whose file is filled in where it is known, by In.
func New(hint, format string, args ...any) *Error {
	return &Error{What: fmt.Sprintf(format, args...), Hint: hint}
}

// Hint is the advice that err, or an error it wraps, carries; empty if none.
func Hint(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Hint
	}
	return ""
}

// In names the file an error is about, unless it names one already; nil stays nil.
func In(file string, err error) error {
	if err == nil {
		return nil
	}
	var e *Error
	if errors.As(err, &e) {
		named := *e
		if named.File == "" {
			named.File = file
		}
		return &named
	}
	return &Error{File: file, What: Bare(err).Error(), Err: err}
}

// Bare takes the operation and path off a file error: the path is said already.
func Bare(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
