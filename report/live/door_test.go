package live

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"humdiff/fixtures/kit"
)

// enter asks for an address as a browser does that a file has sent there.
func enter(s *Server, address string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("GET", address, nil)
	r.Host = s.door.host
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.handler().ServeHTTP(w, r)
	return w
}

// What a browser's command line names, a file, tells nobody anything but the user,
// who alone can read it.
func TestTheWayInIsTheUsersAlone(t *testing.T) {
	_, s := open(t, Options{})
	file := kit.Must(os.Stat(s.File()))(t)
	folder := kit.Must(os.Stat(filepath.Dir(s.File())))(t)
	if runtime.GOOS != "windows" && (file.Mode().Perm() != 0o600 || folder.Mode().Perm() != 0o700) {
		t.Errorf("%v in %v", file.Mode(), folder.Mode())
	}
	for _, secret := range []string{s.door.ticket, s.door.key, s.door.room} {
		if strings.Contains(s.File(), secret) {
			t.Errorf("the path %s tells a secret", s.File())
		}
	}
	html := kit.Must(os.ReadFile(s.File()))(t)
	if !strings.Contains(string(html), `0;url=`+s.Address()+`"`) || strings.Contains(string(html), s.door.key) {
		t.Errorf("the file holds %s", html)
	}
}

// The ticket is worth one cookie, which scripts don't see and other sites' pages
// don't send. A browser that fetches ahead uses nothing up, one that is in may come
// again, all others come too late.
func TestTicketWorksOnce(t *testing.T) {
	_, s := open(t, Options{})
	file, address := s.File(), s.Address()
	if w := enter(s, address[:len(address)-1]); w.Code != http.StatusForbidden {
		t.Errorf("half a ticket: %d", w.Code)
	}
	if w := enter(s, address, "Sec-Purpose", "prefetch;prerender"); w.Code != http.StatusForbidden {
		t.Errorf("fetched ahead: %d", w.Code)
	}
	w := enter(s, address)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), `0;url=`+s.door.room+`"`) {
		t.Fatalf("the ticket: %d %s", w.Code, w.Body)
	}
	c := w.Result().Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != s.door.room || c.Domain != "" || c.MaxAge != 0 {
		t.Errorf("the cookie is %v", c)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("the file is still there")
	}
	if w := enter(s, address); w.Code != http.StatusForbidden || len(w.Result().Cookies()) > 0 {
		t.Errorf("the ticket again: %d", w.Code)
	}
	if w := enter(s, s.room()+"enter?ticket="); w.Code != http.StatusForbidden {
		t.Errorf("no ticket: %d", w.Code)
	}
	if w := enter(s, s.room(), "Cookie", c.Name+"="+c.Value); w.Code != http.StatusOK {
		t.Errorf("the page: %d", w.Code)
	}
	if w := enter(s, address, "Cookie", c.Name+"="+c.Value); w.Code != http.StatusOK {
		t.Errorf("the same browser again: %d", w.Code)
	}
}
