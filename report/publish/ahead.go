package publish

import (
	"context"
	"runtime"
	"slices"
	"sync"
)

// Ahead gives the same files, those that are made late made several at a time, in
// their order and no further ahead of the writing than there are processors. They
// have to be written in that order, each once; after ctx is done none is made any
// more. wrote, if there is one, is told of each as it is handed out.
func Ahead(ctx context.Context, files []File, wrote func(done, total int, name string)) []File {
	out := slices.Clone(files)
	var late []func() ([]byte, error)
	for i := range out {
		f, n := &out[i], len(late)
		if f.Make == nil {
			continue
		}
		late = append(late, sync.OnceValues(f.Make))
		name := f.Name
		f.Make = func() ([]byte, error) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			for _, made := range late[n:min(n+runtime.GOMAXPROCS(0), len(late))] {
				go made()
			}
			data, err := late[n]()
			late[n] = nil // what is handed out is not held
			if wrote != nil {
				wrote(n+1, len(late), name)
			}
			return data, err
		}
	}
	return out
}
