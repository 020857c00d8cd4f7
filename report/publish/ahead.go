package publish

import (
	"context"
	"runtime"
	"slices"
)

// Ahead gives the same files, those that are made late made several at a time, in
// their order and no further ahead of the writing than there are processors. They
// have to be written in that order, each once; after ctx is done none is made any
// more. wrote, if there is one, is told of each as it is handed out.
func Ahead(ctx context.Context, files []File, wrote func(done, total int, name string)) []File {
	out := slices.Clone(files)
	type made struct {
		data []byte
		err  error
	}
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var late []func()
	for i := range out {
		f := &out[i]
		if f.Make == nil {
			continue
		}
		contents, ready, n, name := f.Make, make(chan made, 1), len(late)+1, f.Name
		late = append(late, func() {
			data, err := contents()
			ready <- made{data, err}
		})
		f.Make = func() ([]byte, error) {
			select {
			case m := <-ready:
				<-slots
				if wrote != nil {
					wrote(n, len(late), name)
				}
				return m.data, m.err
			case <-ctx.Done():
				return nil, ctx.Err()
			}
		}
	}
	go func() {
		for _, start := range late {
			select {
			case slots <- struct{}{}:
				go start()
			case <-ctx.Done():
				return
			}
		}
	}()
	return out
}
