package capture

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"io"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"
)

// Metadata is what a file says about itself in words. None of it is checked:
// recorders' clocks are set by hand, and texts are whatever somebody wrote. They
// come as they stand in the file, so whoever prints them makes them harmless.
type Metadata struct {
	// Recorded is when the recording began by the recorder's clock. Its zone is
	// not known: the clock's reading is given as UTC. Zero where the file says
	// nothing of it.
	Recorded time.Time
	DayOnly  bool   // Recorded holds a day, and no time of day
	Source   string // where Recorded was read, e.g. "bext"; empty where it is zero
	Texts    []Text // in the file's order
}

// Text is one thing a file says about itself.
type Text struct {
	Name  string // what it is, in plain words, e.g. "comment"
	Key   string // what the file calls it, e.g. "ICMT"
	Value string // UTF-8, never empty
}

const (
	maxTexts     = 64
	maxTextBytes = 4096 // of one text; more is cut off
	maxTextChunk = 64 << 10
)

// place is where a chunk's body lies.
type place struct {
	id         string
	body, size int64
}

// vorbisComment is the id of a place that holds FLAC's metadata.
const vorbisComment = "Vorbis comment"

// textChunk says that a chunk holds metadata.
func textChunk(id string) bool { return id == "LIST" || id == "bext" || id == vorbisComment }

// readMetadata reads the chunks that hold metadata. What can't be read is left
// out: the samples don't depend on it.
func readMetadata(r io.ReaderAt, chunks []place, rate int) Metadata {
	var m Metadata
	for _, c := range chunks {
		b := make([]byte, min(max(0, c.size), maxTextChunk))
		n, err := r.ReadAt(b, c.body)
		if err != nil && err != io.EOF {
			continue
		}
		switch c.id {
		case "bext":
			m.readBext(b[:n], rate)
		case vorbisComment:
			m.readComments(b[:n])
		default:
			m.readInfo(b[:n])
		}
	}
	return m
}

// say keeps a text, cleaned of what fills fields up.
func (m *Metadata) say(name, key string, raw []byte) {
	value := textOf(raw)
	if value == "" || len(m.Texts) >= maxTexts {
		return
	}
	m.Texts = append(m.Texts, Text{name, key, value})
}

// textOf is a field's text: up to the first NUL, without blanks around it. Bytes
// that are no UTF-8 are taken as Latin-1, as older recorders write.
func textOf(raw []byte) string {
	s, _, _ := strings.Cut(string(raw), "\x00")
	cut := len(s) > maxTextBytes
	s = s[:min(len(s), maxTextBytes)]
	if cut {
		for i := 0; i < utf8.UTFMax && !utf8.ValidString(s); i++ { // cut within a rune
			s = s[:len(s)-1]
		}
	}
	if !utf8.ValidString(s) {
		runes := make([]rune, len(s))
		for i := range len(s) {
			runes[i] = rune(s[i])
		}
		s = string(runes)
	}
	return strings.TrimSpace(s)
}

// began notes when the recording began, unless a source read before said so.
// The Broadcast Wave chunk comes before all others: recorders write it themselves.
func (m *Metadata) began(t time.Time, dayOnly bool, source string) {
	if !m.Recorded.IsZero() && source != sourceBext {
		return
	}
	m.Recorded, m.DayOnly, m.Source = t, dayOnly, source
}

const sourceBext = "bext"

// bextFixed is the length of the Broadcast Wave chunk up to its coding history.
const bextFixed = 602

// readBext reads the Broadcast Wave chunk. Source: EBU Tech 3285 (BWF), section
// "Broadcast Audio Extension Chunk", from memory: description 256 bytes, originator
// 32, its reference 32, date 10, time 8, samples since midnight 8, version 2, …
func (m *Metadata) readBext(b []byte, rate int) {
	if len(b) < 346 { // up to the samples since midnight
		return
	}
	m.say("description", "bext", b[:256])
	m.say("originator", "bext", b[256:288])
	m.say("originator's reference", "bext", b[288:320])
	if t, dayOnly := written(textOf(b[320:330]) + " " + textOf(b[330:338])); !t.IsZero() {
		m.began(t, dayOnly, sourceBext)
	} else {
		m.say("date", "bext", b[320:330])
		m.say("time", "bext", b[330:338])
	}
	if since := binary.LittleEndian.Uint64(b[338:]); since > 0 && rate > 0 {
		m.say("first sample", "bext", fmt.Appendf(nil, "%.3f s after midnight", float64(since)/float64(rate)))
	}
	if len(b) > bextFixed {
		m.say("coding history", "bext", b[bextFixed:])
	}
}

// dateForm is a date, and behind it perhaps a time of day, however they are divided.
var dateForm = regexp.MustCompile(`^([0-9]{4})[-_:. ]([0-9]{2})[-_:. ]([0-9]{2})(?:[T ]+([0-9]{2})[-_:. ]([0-9]{2})(?:[-_:. ]([0-9]{2}))?|$| )`)

// written reads the dates people and programs write, in the years that recordings may come
// from; zero: it is none. A time that can't be read leaves the day. A zone is dropped:
// the clock's reading stays.
func written(s string) (t time.Time, dayOnly bool) {
	if t, err := time.Parse(time.ANSIC, s); err == nil {
		s = t.Format(time.DateTime)
	}
	f := dateForm.FindStringSubmatch(s)
	if f == nil {
		return time.Time{}, false
	}
	day := f[1] + "-" + f[2] + "-" + f[3]
	t, err := time.Parse(time.DateTime, day+" "+f[4]+":"+f[5]+":"+cmp.Or(f[6], "00"))
	if dayOnly = err != nil; dayOnly {
		t, err = time.Parse(time.DateOnly, day)
	}
	if err != nil || t.Year() < 1900 || t.Year() > 2200 {
		return time.Time{}, false
	}
	return t, dayOnly
}

// infoNames are the fields of LIST INFO. Source: Multimedia Programming Interface
// and Data Specifications 1.0 (1991), from memory; IDIT and ITRK are common
// practice, no source.
var infoNames = map[string]string{
	"IART": "artist",
	"ICMT": "comment",
	"ICOP": "copyright",
	"ICRD": "created",
	"IDIT": "digitised",
	"IENG": "engineer",
	"INAM": "title",
	"ISBJ": "subject",
	"ISFT": "software",
	"ISRC": "source",
	"ITCH": "technician",
	"ITRK": "track",
}

// readInfo reads a LIST chunk of type INFO; lists of other types hold no texts.
// Its entries are chunks in themselves, and any may lie about its size.
func (m *Metadata) readInfo(b []byte) {
	if len(b) < 4 || string(b[:4]) != "INFO" {
		return
	}
	for b = b[4:]; len(b) >= chunkHeader && len(m.Texts) < maxTexts; {
		key := string(b[:4])
		size := int64(binary.LittleEndian.Uint32(b[4:]))
		b = b[chunkHeader:]
		value := b[:min(int64(len(b)), size)]
		m.sayInfo(key, value)
		b = b[min(int64(len(b)), size+size&1):]
		if len(b) > 0 && size&1 == 1 && !printable(b[:min(4, len(b))]) {
			return // a forgotten pad byte: what follows can't be told apart
		}
	}
}

func (m *Metadata) sayInfo(key string, value []byte) {
	if !printable([]byte(key)) {
		return
	}
	m.say(cmp.Or(infoNames[key], key), key, value)
	if key == "ICRD" || key == "IDIT" {
		m.sayDate(key, value)
	}
}

func (m *Metadata) sayDate(key string, value []byte) {
	if t, dayOnly := written(textOf(value)); !t.IsZero() {
		m.began(t, dayOnly, key)
	}
}

// readComments reads a Vorbis comment: the encoder's name, how many comments
// follow, and these as NAME=text, each after its length. Source: Xiph.Org, "Ogg
// Vorbis I format specification: comment field", from memory. Any may lie about its length.
func (m *Metadata) readComments(b []byte) {
	take := func() []byte {
		if len(b) < 4 {
			b = nil
			return nil
		}
		n := int64(binary.LittleEndian.Uint32(b))
		b = b[4:]
		text := b[:min(int64(len(b)), n)]
		b = b[len(text):]
		return text
	}
	m.say("software", "vendor", take())
	if len(b) < 4 {
		return
	}
	for b = b[4:]; len(b) > 0 && len(m.Texts) < maxTexts; {
		m.sayComment(take())
	}
}

func (m *Metadata) sayComment(comment []byte) {
	key, value, found := strings.Cut(string(comment), "=")
	if !found || key == "" || len(key) > maxTextKey || !printable([]byte(key)) {
		return
	}
	m.say(strings.ToLower(strings.ReplaceAll(key, "_", " ")), key, []byte(value))
	if strings.EqualFold(key, "DATE") {
		m.sayDate(key, []byte(value))
	}
}

const maxTextKey = 64 // bytes of a text's name
