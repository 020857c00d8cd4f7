package live

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"humdiff/report/publish"
	"humdiff/report/session"
)

const (
	// together is how long changes are gathered before a page is told of them.
	together = 150 * time.Millisecond
	// mostForm is how long a form may be that carries no file, bytes.
	mostForm = 64 << 10
)

// Server shows a bench to one browser on this machine, and to nothing else.
type Server struct {
	bench *Bench
	door  *door
	pages *pages
	net   net.Listener
	http  http.Server
}

// Serve listens on a free port of the loopback address.
func Serve(b *Bench) (*Server, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("no port is free on this machine: %w", err)
	}
	d, err := newDoor(l.Addr().String(), b.space.Path("open.html"))
	if err != nil {
		l.Close()
		return nil, fmt.Errorf("the page that leads to the bench cannot be written: %s", publish.Reason(err))
	}
	s := &Server{bench: b, door: d, pages: newPages(), net: l}
	s.http = http.Server{Handler: s.handler(), ReadHeaderTimeout: 10 * time.Second, MaxHeaderBytes: 32 << 10}
	return s, nil
}

// File is what to open in a browser. Only the user can read it, and it works once.
func (s *Server) File() string { return s.door.file }

// Address works once, too. It may be shown to the user, but must not stand in a
// command line: others can read those.
func (s *Server) Address() string { return s.door.once() }

// Run serves until ctx is done or the page ends it.
func (s *Server) Run(ctx context.Context) error {
	failed := make(chan error, 1)
	go func() { failed <- s.http.Serve(s.net) }()
	var err error
	select {
	case err = <-failed:
	case <-ctx.Done():
	case <-s.pages.ended.Done():
	}
	s.bench.end() // pages that wait for a change don't hold it up
	late, stop := context.WithTimeout(context.Background(), 2*time.Second)
	defer stop()
	if s.http.Shutdown(late) != nil {
		s.http.Close()
	}
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return err
}

// Why is why a page ended the program, once Run has returned; nil if it was ended
// otherwise.
func (s *Server) Why() error { return context.Cause(s.pages.ended) }

// handler is the bench's pages, behind the guard.
func (s *Server) handler() http.Handler {
	mux, b := http.NewServeMux(), s.bench
	mux.HandleFunc("GET /{$}", s.show)
	mux.HandleFunc("GET /enter", s.door.enter)
	mux.HandleFunc("GET /live.css", asset("text/css; charset=utf-8", styleSheet()))
	mux.HandleFunc("GET /live.js", asset("text/javascript; charset=utf-8", script()))
	mux.HandleFunc("GET /icon.svg", asset("image/svg+xml", icon))
	mux.HandleFunc("GET /changes", s.changes)
	mux.HandleFunc("GET /run", s.run)
	mux.HandleFunc("GET /report/{file}", s.report)
	mux.HandleFunc("POST /captures", s.captures)
	form := func(name string, do func(r *http.Request) error) {
		mux.HandleFunc("POST /"+name, s.form(do))
	}
	form("run", func(r *http.Request) error { return b.set(number(r, "id"), fields(r)) })
	form("move", func(r *http.Request) error { return b.move(number(r, "id"), fields(r)) })
	form("rename", func(r *http.Request) error {
		return b.rename(r.PostFormValue("key"), r.PostFormValue("was"), r.PostFormValue("now"))
	})
	form("confirm", func(r *http.Request) error { return b.confirm(number(r, "id")) })
	form("channel", func(r *http.Request) error { return b.channel(number(r, "n")) })
	form("leave", func(r *http.Request) error { return b.leave(number(r, "id")) })
	form("replaced", func(*http.Request) error { return b.replaced() })
	form("drop", func(r *http.Request) error { return b.drop(number(r, "id")) })
	form("undo", func(r *http.Request) error { return b.undo(r.PostFormValue("again") != "") })
	for _, table := range []string{session.TopTable, session.BenchTable, session.RolesTable, session.ClaimTable} {
		form("state/"+table, func(r *http.Request) error { return b.state(table, number(r, "id"), fields(r)) })
	}
	form("unclaim", func(r *http.Request) error { return b.unclaim(number(r, "id")) })
	form("cancel", func(*http.Request) error { b.cancel(); return nil })
	form("again", func(*http.Request) error { return b.again() })
	form("keep", func(*http.Request) error { return b.change(func() error { return nil }) })
	form("earlier", func(r *http.Request) error { return b.goOn(r.PostFormValue("name")) })
	form("save", func(r *http.Request) error { return b.save(r.Context(), r.PostFormValue("name")) })
	mux.HandleFunc("POST /end", s.end)
	return s.door.guard(mux)
}

func asset(kind, content string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", kind)
		fmt.Fprint(w, content)
	}
}

// show is the page as things stand.
func (s *Server) show(w http.ResponseWriter, _ *http.Request) {
	html, err := s.bench.page()
	send(w, html, err)
}

func send(w http.ResponseWriter, html []byte, err error) {
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(html)
}

// run is the form of one run.
func (s *Server) run(w http.ResponseWriter, r *http.Request) {
	id, _ := strconv.Atoi(r.URL.Query().Get("id")) // 0 is no run
	html, err := s.bench.runForm(id)
	if err != nil {
		http.Error(w, sentence(err), http.StatusNotFound)
		return
	}
	send(w, html, nil)
}

// report is a page of the report as it would be saved, which brings its own content
// policy: its script and style are in it, named by their hashes.
func (s *Server) report(w http.ResponseWriter, r *http.Request) {
	files, err := s.bench.files(r.Context(), true)
	at := slices.IndexFunc(files, func(f publish.File) bool {
		return f.Name == r.PathValue("file") && strings.HasSuffix(f.Name, ".html")
	})
	if err != nil || at < 0 {
		http.Error(w, "There is no such page yet.", http.StatusNotFound)
		return
	}
	html, err := files[at].Contents()
	w.Header().Set("Content-Security-Policy", "base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	send(w, html, err)
}

// changes sends a page what has changed since the version that it knows, as long as the
// page is there; each time a moment later, so that much that changes is sent once.
func (s *Server) changes(w http.ResponseWriter, r *http.Request) {
	defer s.pages.opened()()
	known, err := strconv.Atoi(cmp.Or(r.Header.Get("Last-Event-ID"), r.URL.Query().Get("version")))
	if err != nil {
		known = -1
	}
	var sent []region
	w.Header().Set("Content-Type", "text/event-stream")
	fmt.Fprint(w, "retry: 500\n\n")
	for http.NewResponseController(w).Flush() == nil && s.bench.await(r.Context(), known) {
		time.Sleep(together)
		all, version, err := s.bench.render()
		if err != nil {
			return
		}
		html := ""
		for i, part := range all {
			if sent == nil || part != sent[i] {
				html += string(part.HTML)
			}
		}
		sent = all
		text, _ := json.Marshal(html) // of a string it can't fail
		fmt.Fprintf(w, "id: %d\ndata: %s\n\n", version, text)
		known = version
	}
}

// captures takes a file that was dropped.
func (s *Server) captures(w http.ResponseWriter, r *http.Request) {
	var changed time.Time
	if ms, err := strconv.ParseInt(r.Header.Get("X-Changed"), 10, 64); err == nil && ms > 0 {
		changed = time.UnixMilli(ms)
	}
	s.answer(w, s.bench.upload(r.Context(), r.URL.Query().Get("name"), changed, r.Body))
}

// form does something with a form's fields.
func (s *Server) form(do func(r *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		if err := r.ParseForm(); err != nil {
			http.Error(w, "The form could not be read.", http.StatusBadRequest)
			return
		}
		s.answer(w, do(r))
	}
}

// fields are what a form says, its hidden id aside.
func fields(r *http.Request) map[string]string {
	said := map[string]string{}
	for name, values := range r.PostForm {
		if name != "id" {
			said[name] = values[0]
		}
	}
	return said
}

// answer puts what went wrong on the page, or takes what was said before off it, and
// says at which fields.
func (s *Server) answer(w http.ResponseWriter, err error) {
	s.bench.say(func(now *said) {
		now.Wrong = ""
		if err != nil {
			now.Wrong = sentence(err)
		}
	})
	var at fieldError
	switch {
	case errors.As(err, &at):
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusUnprocessableEntity)
		json.NewEncoder(w).Encode(at)
	case err != nil:
		http.Error(w, sentence(err), http.StatusUnprocessableEntity)
	}
}

func number(r *http.Request, key string) int {
	n, _ := strconv.Atoi(r.PostFormValue(key)) // 0 is no run
	return n
}

// end ends the program, after saying so.
func (s *Server) end(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprintln(w, "humdiff has ended. This page can be closed.")
	s.pages.end(errAsked)
}
