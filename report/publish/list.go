package publish

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"humdiff/fft/fault"
)

// ListName is the file in a report's folder that lists what humdiff wrote there.
// Only what it lists, and what is still as it was written, is ever replaced or
// removed.
const ListName = "files.json"

const listSchema = "humdiff/files/1"

// Listed is a file that humdiff wrote.
type Listed struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// fileList is what ListName holds.
type fileList struct {
	Schema string   `json:"schema"`
	Files  []Listed `json:"files"`
}

// unchanged tells whether the file in a folder is there as it was written.
func (l Listed) unchanged(dir string) (bool, error) {
	path := filepath.Join(dir, l.Name)
	st, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) || err == nil && (!st.Mode().IsRegular() || st.Size() != l.Bytes) {
		return false, nil
	}
	if err != nil {
		return false, unreadable(path, err)
	}
	f, _, err := openRegular(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return false, unreadable(path, err)
	}
	return hex.EncodeToString(sum.Sum(nil)) == l.SHA256, nil
}

func listed(name string, data []byte) Listed {
	sum := sha256.Sum256(data)
	return Listed{name, int64(len(data)), hex.EncodeToString(sum[:])}
}

// listFile is the list as it is written, in the order of names.
func listFile(all []Listed) (File, error) {
	slices.SortFunc(all, func(a, b Listed) int { return strings.Compare(a.Name, b.Name) })
	data, err := canonical(fileList{listSchema, all})
	return File{Name: ListName, Data: data}, err
}

func namesOf(all []Listed) (names []string) {
	for _, l := range all {
		names = append(names, l.Name)
	}
	return names
}

// canonical is the one way in which this room writes JSON of its own.
func canonical(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(v)
	return b.Bytes(), err
}

// strict reads JSON that canonical wrote: with a key more, less, twice, or in other
// letters it would not be written the same again.
func strict[T any](data []byte) (v T, ok bool) {
	if json.Unmarshal(data, &v) != nil {
		return v, false
	}
	again, err := canonical(v)
	return v, err == nil && bytes.Equal(again, data)
}

// readList reads a folder's list; known says that there is one.
func readList(dir string) (all []Listed, known bool, err error) {
	path := filepath.Join(dir, ListName)
	data, err := ReadFile(path, LargestText, "")
	if errors.Is(err, fs.ErrNotExist) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	l, ok := strict[fileList](data)
	if !ok || l.Schema != listSchema || checkNames(dir, namesOf(l.Files)) != nil {
		return nil, false, &fault.Error{File: path, What: "is not the list that humdiff wrote of this folder's files",
			Hint: "move it away, or give another folder: without it humdiff replaces nothing here"}
	}
	return l.Files, true, nil
}

// IsListed says whether a folder's list names a file that is still as humdiff wrote
// it.
func IsListed(dir, name string) (bool, error) {
	all, _, err := readList(dir)
	if err != nil {
		return false, err
	}
	i := slices.IndexFunc(all, func(l Listed) bool { return l.Name == name })
	if i < 0 {
		return false, nil
	}
	return all[i].unchanged(dir)
}

// ListHolds says whether a folder's list is as humdiff writes it, and true of every
// file that it names.
func ListHolds(dir string) (bool, error) {
	all, known, err := readList(dir)
	if err != nil || !known {
		return false, err
	}
	for _, l := range all {
		if ok, err := l.unchanged(dir); !ok || err != nil {
			return false, err
		}
	}
	return true, nil
}
