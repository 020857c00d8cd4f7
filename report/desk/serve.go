package desk

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"humdiff/report/page"
)

const (
	// longestWait is how long a page is kept waiting for a change.
	longestWait = 25 * time.Second
	// mostForm is how long a form may be that carries no file, bytes.
	mostForm = 64 << 10
	// leaving is how long after its page went away the desk waits for it to come
	// back: a reload does.
	leaving = 5 * time.Second
	// silence is how long no page may ask for changes, which an open one always
	// does, until its tab is taken for crashed.
	silence = 30 * time.Minute
)

// Server shows a desk to the browser on this machine, and to nothing else.
type Server struct {
	desk  *Desk
	token string
	host  string // as the browser has to name it
	net   net.Listener
	http  http.Server
	ended chan struct{}
	once  sync.Once
	why   string // written before ended is closed

	mu      sync.Mutex
	pages   int // open pages, as far as they have said
	waiting int // pages that ask for changes now
	bye     *time.Timer
	leaving time.Duration
	silence time.Duration
	silent  *time.Timer
}

// Serve listens on a free port of the loopback address.
func Serve(d *Desk) (*Server, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("no port is free on this machine: %w", err)
	}
	secret := make([]byte, 18)
	rand.Read(secret) // never fails
	s := &Server{desk: d, token: base64.RawURLEncoding.EncodeToString(secret), host: l.Addr().String(), net: l, ended: make(chan struct{}), leaving: leaving, silence: silence}
	s.http = http.Server{Handler: s.Handler(), ReadHeaderTimeout: 10 * time.Second, MaxHeaderBytes: 32 << 10}
	return s, nil
}

// Address is what to open in the browser.
func (s *Server) Address() string { return "http://" + s.host + "/" + s.token + "/" }

// Run serves until ctx is done or the page ends it.
func (s *Server) Run(ctx context.Context) error {
	failed := make(chan error, 1)
	go func() { failed <- s.http.Serve(s.net) }()
	var err error
	select {
	case err = <-failed:
	case <-ctx.Done():
	case <-s.ended:
	}
	s.desk.end() // pages that wait for a change don't hold it up
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

// Why says in a sentence why the page ended the program, once Run has returned;
// empty if it was ended otherwise.
func (s *Server) Why() string {
	select {
	case <-s.ended:
		return s.why
	default:
		return ""
	}
}

// Handler is the desk's pages, behind the guard.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.show)
	mux.HandleFunc("GET /desk.css", asset("text/css; charset=utf-8", styleSheet()))
	mux.HandleFunc("GET /desk.js", asset("text/javascript; charset=utf-8", script()))
	mux.HandleFunc("GET /icon.svg", asset("image/svg+xml", icon))
	mux.HandleFunc("GET /wait", s.wait)
	mux.HandleFunc("GET /report.html", s.report)
	mux.HandleFunc("POST /captures", s.captures)
	mux.HandleFunc("POST /use", s.form(func(r *http.Request) error {
		return s.desk.Use(number(r, "id"), r.PostFormValue("role"), r.PostFormValue("channel"), r.PostFormValue("start"), r.PostFormValue("end"))
	}))
	mux.HandleFunc("POST /remove", s.form(func(r *http.Request) error { s.desk.Remove(number(r, "id")); return nil }))
	mux.HandleFunc("POST /bench", s.form(func(r *http.Request) error {
		return s.desk.Set(Settings{FullScale: r.PostFormValue("full-scale"), Gain: r.PostFormValue("gain"), Mains: r.PostFormValue("mains")})
	}))
	mux.HandleFunc("POST /cancel", s.form(func(*http.Request) error { s.desk.Cancel(); return nil }))
	mux.HandleFunc("POST /again", s.form(func(*http.Request) error { s.desk.Again(); return nil }))
	mux.HandleFunc("POST /save", s.form(func(r *http.Request) error {
		_, err := s.desk.Save(r.Context(), r.PostFormValue("name"))
		return err
	}))
	mux.HandleFunc("POST /keep", s.form(func(*http.Request) error { return s.desk.Keep() }))
	mux.HandleFunc("POST /session", s.form(func(r *http.Request) error {
		_, err := s.desk.SaveSession(r.Context(), r.PostFormValue("name"))
		return err
	}))
	mux.HandleFunc("POST /came", s.form(func(*http.Request) error { s.came(); return nil }))
	mux.HandleFunc("POST /left", s.form(func(*http.Request) error { s.left(); return nil }))
	mux.HandleFunc("POST /end", s.end)
	return s.guard(http.StripPrefix("/"+s.token, mux))
}

// guard lets through what comes from the desk's own page: the host is named as
// the address has it (a rebound name isn't), the path begins with the token,
// and what changes anything comes from a page of the same origin.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		first, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
		switch {
		case r.Host != s.host,
			subtle.ConstantTimeCompare([]byte(first), []byte(s.token)) != 1,
			r.Method != http.MethodGet && r.Method != http.MethodPost,
			r.Method == http.MethodPost && !s.sameOrigin(r):
			http.Error(w, "This address is not for you.", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// sameOrigin says that a request was made by a page of this server. Browsers
// state the origin of what they post; a page without referrer states "null", and
// then says by Sec-Fetch-Site where it came from.
func (s *Server) sameOrigin(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	switch origin := r.Header.Get("Origin"); origin {
	case "http://" + s.host:
		return site == "" || site == "same-origin"
	case "null":
		return site == "same-origin"
	}
	return false
}

func asset(kind, content string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", kind)
		fmt.Fprint(w, content)
	}
}

// show is the page as things stand.
func (s *Server) show(w http.ResponseWriter, r *http.Request) {
	html, err := s.desk.page(r.URL.Query().Get("wrong"))
	s.html(w, html, err)
}

func (s *Server) html(w http.ResponseWriter, html []byte, err error) {
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(html)
}

// report is the report's page, which brings its own content policy.
func (s *Server) report(w http.ResponseWriter, _ *http.Request) {
	r, ok := s.desk.Report()
	if !ok {
		http.Error(w, "Nothing has been compared yet.", http.StatusNotFound)
		return
	}
	html, err := page.Compare(*r)
	// Its script and style are in it, and its own policy names them by their hashes.
	w.Header().Set("Content-Security-Policy", "base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	s.html(w, html, err)
}

// wait answers with the desk's version once it has changed.
func (s *Server) wait(w http.ResponseWriter, r *http.Request) {
	known, err := strconv.Atoi(r.URL.Query().Get("version"))
	if err != nil {
		known = -1
	}
	s.asks()
	defer s.asked()
	ctx, stop := context.WithTimeout(r.Context(), longestWait)
	defer stop()
	fmt.Fprint(w, s.desk.Wait(ctx, known))
}

// captures takes dropped files, one after the other as they arrive.
func (s *Server) captures(w http.ResponseWriter, r *http.Request) {
	s.answer(w, r, func() error {
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
			if err := s.desk.upload(p.FileName(), p); err != nil {
				return err
			}
		}
	}())
}

// form does something with a form's fields.
func (s *Server) form(do func(r *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		if err := r.ParseForm(); err != nil {
			http.Error(w, "The form could not be read.", http.StatusBadRequest)
			return
		}
		s.answer(w, r, do(r))
	}
}

// answer tells a script what went wrong, if anything; a browser without scripts
// is sent back to the page.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, err error) {
	if r.Header.Get("X-Desk") != "" {
		if err != nil {
			http.Error(w, said(err), http.StatusUnprocessableEntity)
		}
		return
	}
	to := "/" + s.token + "/"
	if err != nil {
		to += "?wrong=" + url.QueryEscape(said(err))
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func number(r *http.Request, key string) int {
	n, _ := strconv.Atoi(r.PostFormValue(key)) // 0 is no capture
	return n
}

// end ends the program, after saying so.
func (s *Server) end(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	fmt.Fprintln(w, "humdiff has ended. This page can be closed.")
	s.finish("Ended from the page.")
}

func (s *Server) finish(why string) {
	s.once.Do(func() {
		s.why = why
		close(s.ended)
	})
}

// came and left count the pages that are open. When the last has been closed and
// none comes back, the program ends with it.
func (s *Server) came() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.pages++
	if s.bye != nil {
		s.bye.Stop()
	}
}

// asks and asked count the pages that ask for changes. A tab that crashed can't
// say that it left, but it asks no more.
func (s *Server) asks() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.waiting++
	if s.silent != nil {
		s.silent.Stop()
	}
}

func (s *Server) asked() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.waiting--; s.waiting > 0 || s.pages == 0 {
		return
	}
	s.silent = time.AfterFunc(s.silence, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.waiting == 0 {
			s.finish("Ended: no page has asked for anything in a while, so its tab is gone.")
		}
	})
}

func (s *Server) left() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.pages = max(0, s.pages-1); s.pages == 0 {
		s.bye = time.AfterFunc(s.leaving, func() {
			s.mu.Lock()
			defer s.mu.Unlock()
			if s.pages == 0 {
				s.finish("Ended: the page was closed.")
			}
		})
	}
}
