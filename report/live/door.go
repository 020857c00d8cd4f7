package live

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"html/template"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
)

// door lets one browser in. Anyone on the machine may read a browser's command line,
// so what that names is a file that only the user can read. It holds a ticket for
// one entry, for which the browser gets a cookie.
type door struct {
	host string // as the browser has to name it
	room string // "/…/": cookies know no ports, so another's server here must not be sent ours
	key  string // the cookie's value

	mu     sync.Mutex
	ticket string // empty: used
	file   string // the page that leads in; empty: gone
}

const cookie = "humdiff"

func secret() string {
	b := make([]byte, 18)
	rand.Read(b) // never fails
	return base64.RawURLEncoding.EncodeToString(b)
}

func newDoor(host, file string) (*door, error) {
	d := &door{host: host, room: "/" + secret() + "/", key: secret(), ticket: secret(), file: file}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return d, entry.Execute(f, lead{To: d.once()})
}

// once is the address that lets a browser in, one time.
func (d *door) once() string { return "http://" + d.host + d.room + "enter?ticket=" + d.ticket }

// lead is where entry leads. A page that names no icon has browsers ask elsewhere.
type lead struct{ To, Icon string }

// entry leads to an address. A page of this server has to lead on into it: a strict
// cookie isn't sent where another place has sent the browser.
var entry = template.Must(template.New("entry").Parse(`<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="referrer" content="no-referrer"><meta http-equiv="refresh" content="0;url={{.To}}">{{with .Icon}}<link rel="icon" type="image/svg+xml" href="{{.}}">{{end}}<title>humdiff at the bench</title></head>
<body><p><a href="{{.To}}">To the bench page</a></p></body></html>
`))

// enter gives the cookie for the ticket. A browser that fetches ahead of its user
// gets nothing; one that is in already is led in again.
func (d *door) enter(w http.ResponseWriter, r *http.Request) {
	if !d.known(r) && !d.use(r) {
		http.Error(w, "This address works once, and has been used. Go to the page that is open, or start humdiff again.", http.StatusForbidden)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: cookie, Value: d.key, Path: d.room, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	entry.Execute(w, lead{To: d.room, Icon: "icon.svg"})
}

// use takes the ticket, and the file that held it away.
func (d *door) use(r *http.Request) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.ticket == "" || r.Header.Get("Sec-Purpose") != "" || !same(r.URL.Query().Get("ticket"), d.ticket) {
		return false
	}
	os.Remove(d.file) // else it goes with its folder; it is worth nothing now
	d.ticket, d.file = "", ""
	return true
}

// known says that the browser has the cookie.
func (d *door) known(r *http.Request) bool {
	return slices.ContainsFunc(r.CookiesNamed(cookie), func(c *http.Cookie) bool { return same(c.Value, d.key) })
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// guard lets through what comes from the bench's own page: the host is named as the
// address has it (a rebound name isn't), the browser has the cookie, and what changes
// anything comes from a page of the same origin.
func (d *door) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		room := r.URL.Path[:min(len(d.room), len(r.URL.Path))]
		enters := r.Method == http.MethodGet && r.URL.Path == d.room+"enter"
		switch {
		case r.Host != d.host,
			!same(room, d.room),
			!enters && !d.known(r),
			r.Method != http.MethodGet && r.Method != http.MethodPost,
			r.Method == http.MethodPost && !d.sameOrigin(r):
			http.Error(w, "This address is not for you.", http.StatusForbidden)
			return
		}
		http.StripPrefix(strings.TrimSuffix(d.room, "/"), next).ServeHTTP(w, r)
	})
}

// sameOrigin says that a request was made by a page of this server. Browsers state
// the origin of what they post; a page without referrer states "null", and then says
// by Sec-Fetch-Site where it came from.
func (d *door) sameOrigin(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	switch origin := r.Header.Get("Origin"); origin {
	case "http://" + d.host:
		return site == "" || site == "same-origin"
	case "null":
		return site == "same-origin"
	}
	return false
}
