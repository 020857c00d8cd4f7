package live

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"time"

	"humdiff/report"
	"humdiff/report/doc"
	"humdiff/report/page"
	"humdiff/report/publish"
)

const (
	// longestWait is how long a page is kept waiting for a change.
	longestWait = 25 * time.Second
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
	mux.HandleFunc("GET /wait", s.wait)
	mux.HandleFunc("GET /report.html", s.report)
	mux.HandleFunc("POST /captures", s.captures)
	form := func(name string, stale bool, do func(r *http.Request) error) {
		mux.HandleFunc("POST /"+name, s.form(stale, do))
	}
	form("use", true, func(r *http.Request) error {
		return b.use(number(r, "id"), r.PostFormValue("role"), r.PostFormValue("channel"), r.PostFormValue("start"), r.PostFormValue("end"))
	})
	form("bench", true, func(r *http.Request) error {
		return b.set(Settings{FullScale: r.PostFormValue("full-scale"), Gain: r.PostFormValue("gain"), Mains: r.PostFormValue("mains")})
	})
	form("remove", false, func(r *http.Request) error { return b.remove(number(r, "id")) })
	form("yes", false, func(r *http.Request) error { return b.yes(r.PostFormValue("question")) })
	form("cancel", false, func(*http.Request) error { b.cancel(); return nil })
	form("again", false, func(*http.Request) error { return b.again() })
	form("save", false, func(r *http.Request) error { return b.save(r.Context(), r.PostFormValue("name")) })
	form("keep", false, func(*http.Request) error { return b.keep() })
	form("session", false, func(r *http.Request) error { return b.saveSession(r.Context(), r.PostFormValue("name")) })
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

// report is the report's page as it would be saved, which brings its own content
// policy: its script and style are in it, named by their hashes.
func (s *Server) report(w http.ResponseWriter, _ *http.Request) {
	r := s.bench.compared()
	if r == nil {
		http.Error(w, "Nothing has been compared yet.", http.StatusNotFound)
		return
	}
	html, err := page.HTML(doc.Compare(*r, doc.UnitFor(r.Settings)), report.Drawn(r))
	w.Header().Set("Content-Security-Policy", "base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	send(w, html, err)
}

// wait answers with the bench's version once it has changed.
func (s *Server) wait(w http.ResponseWriter, r *http.Request) {
	known, err := strconv.Atoi(r.URL.Query().Get("version"))
	if err != nil {
		known = -1
	}
	done := s.pages.asks()
	defer func() { done(r.Context().Err() != nil) }()
	ctx, stop := context.WithTimeout(r.Context(), longestWait)
	defer stop()
	fmt.Fprint(w, s.bench.await(ctx, known))
}

// captures takes dropped files, one after the other as they arrive.
func (s *Server) captures(w http.ResponseWriter, r *http.Request) {
	s.answer(w, r, true, func() error {
		parts, err := r.MultipartReader()
		if err != nil {
			return errors.New("no files arrived")
		}
		for n := 0; ; n++ {
			p, err := parts.NextPart()
			if err != nil {
				if n == 0 {
					return errors.New("no files arrived")
				}
				return nil // the end, or the browser went away: what arrived whole is kept
			}
			if p.FileName() == "" {
				continue
			}
			if err := s.bench.upload(p.FileName(), p); err != nil {
				return err
			}
		}
	}())
}

// form does something with a form's fields. Where the result rests on them it is
// stale once they weren't taken.
func (s *Server) form(stale bool, do func(r *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		if err := r.ParseForm(); err != nil {
			http.Error(w, "The form could not be read.", http.StatusBadRequest)
			return
		}
		s.answer(w, r, stale, do(r))
	}
}

// answer puts what went wrong on the page, or takes what was said before off it. A
// browser without scripts is sent back there.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, stale bool, err error) {
	s.bench.say(func(now *said) {
		switch {
		case err != nil:
			now.Wrong, now.Stale = sentence(err), stale || now.Stale
		case stale:
			now.Wrong, now.Stale = "", false
		case !now.Stale:
			now.Wrong = ""
		}
	})
	if r.Header.Get("X-Bench") == "" {
		http.Redirect(w, r, s.door.room, http.StatusSeeOther)
	} else if err != nil {
		http.Error(w, sentence(err), http.StatusUnprocessableEntity)
	}
}

func number(r *http.Request, key string) int {
	n, _ := strconv.Atoi(r.PostFormValue(key)) // 0 is no capture
	return n
}

// end ends the program, after saying so.
func (s *Server) end(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprintln(w, "humdiff has ended. This page can be closed.")
	s.pages.end(errAsked)
}
