package capture

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"strings"
	"testing"

	"humdiff/fft/fault"
	"humdiff/fixtures/kit"
)

// The files here are built by hand, byte by byte, so that they share nothing with
// the writer in fixtures/wavfile.

func le16(v uint16) string { return string(binary.LittleEndian.AppendUint16(nil, v)) }
func le32(v uint32) string { return string(binary.LittleEndian.AppendUint32(nil, v)) }
func le64(v uint64) string { return string(binary.LittleEndian.AppendUint64(nil, v)) }

// chunk is a chunk with its pad byte.
func chunk(id, body string) string {
	return id + le32(uint32(len(body))) + body + strings.Repeat("\x00", len(body)%2)
}

func riff(chunks ...string) string {
	body := "WAVE" + strings.Join(chunks, "")
	return "RIFF" + le32(uint32(len(body))) + body
}

// fmtBody is the common part of every fmt chunk.
func fmtBody(tag, channels uint16, rate uint32, align, bits uint16) string {
	return le16(tag) + le16(channels) + le32(rate) + le32(rate*uint32(align)) + le16(align) + le16(bits)
}

func extension(valid, sub uint16, tail string) string {
	return le16(22) + le16(valid) + le32(3) + le16(sub) + tail
}

// pcm16 is 1 channel of 16 bits at 1 kHz, so that 2 bytes are a millisecond.
var pcm16 = chunk("fmt ", fmtBody(tagPCM, 1, 1000, 2, 16))

func TestScanReads(t *testing.T) {
	stereo24 := format{rate: 96000, channels: 2, container: 24, bits: 24, align: 6}
	for name, c := range map[string]struct {
		file   string
		format format
		offset int64
		size   int64
	}{
		"plain PCM": {
			riff(chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)), chunk("data", "twelve bytes")),
			stereo24, 44, 12},
		"fmt of 18 bytes": {
			riff(chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)+le16(0)), chunk("data", "twelve bytes")),
			stereo24, 46, 12},
		"odd chunks before, with pad bytes": {
			riff(chunk("LIST", "odd"), chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)), chunk("junk", "x"), chunk("data", "twelve bytes")),
			stereo24, 66, 12},
		"odd data with its pad byte": {
			riff(chunk("fmt ", fmtBody(tagPCM, 1, 8000, 1, 8)), chunk("data", "xyz"), chunk("LIST", "tail")),
			format{rate: 8000, channels: 1, container: 8, bits: 8, align: 1}, 44, 3},
		"chunks after the data": {
			riff(chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)), chunk("data", "twelve bytes"), chunk("LIST", "later")),
			stereo24, 44, 12},
		"fmt after the data": {
			riff(chunk("data", "twelve bytes"), chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24))),
			stereo24, 20, 12},
		"20 bits without extension, left-justified in 3 bytes": {
			riff(chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 20)), chunk("data", "twelve bytes")),
			format{rate: 96000, channels: 2, container: 24, bits: 20, align: 6}, 44, 12},
		"float": {
			riff(chunk("fmt ", fmtBody(tagFloat, 1, 48000, 4, 32)+le16(0)), chunk("fact", le32(3)), chunk("data", "twelve bytes")),
			format{rate: 48000, channels: 1, container: 32, bits: 32, float: true, align: 4}, 58, 12},
		"extensible, 24 of 32 bits": {
			riff(chunk("fmt ", fmtBody(tagExtensible, 1, 48000, 4, 32)+extension(24, tagPCM, subFormatTail)), chunk("data", "twelve bytes")),
			format{rate: 48000, channels: 1, container: 32, bits: 24, extensible: true, align: 4}, 68, 12},
		"extensible, valid bits left 0": {
			riff(chunk("fmt ", fmtBody(tagExtensible, 1, 48000, 4, 32)+extension(0, tagFloat, subFormatTail)), chunk("data", "twelve bytes")),
			format{rate: 48000, channels: 1, container: 32, bits: 32, float: true, extensible: true, align: 4}, 68, 12},
		"lowest rate": {
			riff(chunk("fmt ", fmtBody(tagPCM, 1, 400, 2, 16)), chunk("data", "12")),
			format{rate: 400, channels: 1, container: 16, bits: 16, align: 2}, 44, 2},
		"highest rate": {
			riff(chunk("fmt ", fmtBody(tagPCM, 1, 768000, 2, 16)), chunk("data", "12")),
			format{rate: 768000, channels: 1, container: 16, bits: 16, align: 2}, 44, 2},
		"a RIFF size of 0, as recorders leave it, with an honest data size": {
			strings.Replace(riff(pcm16, chunk("data", "12")), riff(pcm16, chunk("data", "12"))[:8], "RIFF\x00\x00\x00\x00", 1),
			format{rate: 1000, channels: 1, container: 16, bits: 16, align: 2}, 44, 2},
		"RF64": {
			"RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(100)+le64(12)+le64(2)+le32(0)) +
				chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)) + "data\xff\xff\xff\xfftwelve bytes" + chunk("LIST", "tail"),
			stereo24, 80, 12},
		"BW64 with a 32-bit data size": {
			"BW64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(100)+le64(0)+le64(2)+le32(0)) +
				chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 24)) + chunk("data", "twelve bytes"),
			stereo24, 80, 12},
	} {
		l, err := scan(strings.NewReader(c.file), int64(len(c.file)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if l.format != c.format || l.offset != c.offset || l.size != c.size || len(l.warnings) > 0 {
			t.Errorf("%s: %+v, want %+v at %d, %d bytes", name, l, c.format, c.offset, c.size)
		}
		if err := confirm(strings.NewReader(c.file), l); err != nil {
			t.Errorf("%s: the second reading disagrees: %v", name, err)
		}
	}
}

func TestScanMends(t *testing.T) {
	open := func(size uint32, body string) string { return "data" + le32(size) + body }
	second := strings.Repeat("ab", 1000)
	for name, c := range map[string]struct {
		file string
		size int64
		code string
		args string
	}{
		"streamed, all ones": {riff(pcm16, open(0xFFFFFFFF, second)), 2000, "open_size",
			"read_s=1"},
		"interrupted, 0": {riff(pcm16, open(0, second)), 2000, "open_size",
			"read_s=1"},
		"streamed, the largest signed number": {riff(pcm16, open(0x7FFFFFFF-36, second)), 2000, "open_size",
			"read_s=1"},
		"streamed, the largest number less a header": {riff(pcm16, open(0xFFFFFFFF-36, second)), 2000, "open_size",
			"read_s=1"},
		"3 GB cut short": {riff(pcm16, open(3_000_000_000, second)), 2000, "truncated",
			"promised_s=1.5e+06 read_s=1"},
		"streamed RF64 without ds64": {"RF64\xff\xff\xff\xffWAVE" + pcm16 + open(0xFFFFFFFF, second), 2000, "open_size",
			"read_s=1"},
		"streamed RF64, ds64 of all ones": {"RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(math.MaxUint64)+le64(math.MaxUint64)+le64(0)+le32(0)) + pcm16 + open(0xFFFFFFFF, second), 2000, "open_size",
			"read_s=1"},
		"open size with half a frame at the end": {riff(pcm16, open(0, second+"x")), 2000, "open_size",
			"read_s=1"},
		"truncated": {riff(pcm16, open(4000, second)), 2000, "truncated",
			"promised_s=2 read_s=1"},
		"truncated within a frame": {riff(pcm16, open(4000, second+"x")), 2000, "truncated",
			"promised_s=2 read_s=1"},
		"truncated RF64": {"RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(1<<40)+le64(20e9)+le64(10e9)+le32(0)) + pcm16 + open(0xFFFFFFFF, second), 2000, "truncated",
			"promised_s=1e+07 read_s=1"},
		"half a frame": {riff(pcm16, chunk("data", second+"x")), 2000, "partial_frame",
			"left_bytes=1"},
		"no pad byte before fmt": {riff("LIST"+le32(3)+"odd", pcm16, chunk("data", second)), 2000, "pad_missing",
			""},
		"no pad byte between data and fmt": {riff("data"+le32(2001)+second+"x", chunk("fmt ", fmtBody(tagPCM, 1, 1000, 1, 8))), 2001, "pad_missing",
			""},
		"two fmt that say the same": {riff(pcm16, pcm16, chunk("data", second)), 2000, "fmt_repeated",
			""},
		"two sets of samples": {riff(pcm16, chunk("data", second), chunk("LIST", "INFO"), chunk("data", "more")), 2000, "data_left_out",
			"data_chunks=2 read_s=1"},
		"bytes a second of another rate": {riff(strings.Replace(pcm16, le32(2000), le32(96000), 1), chunk("data", second)), 2000, "byte_rate",
			"rate_hz=1000 frame_bytes=2 bytes_per_s=2000 said_bytes_per_s=96000"},
		"bytes after the data": {riff(pcm16, chunk("data", second)+"0123456789\x00\x01"), 2000, "bytes_left_out",
			"left_bytes=12 outgrown=0 read_s=1"},
	} {
		l, err := scan(strings.NewReader(c.file), int64(len(c.file)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		kit.Same(t, l.size, c.size, "%s: bytes", name)
		if want := strings.TrimSpace(c.code + " " + c.args); len(l.warnings) != 1 || l.warnings[0].String() != want {
			t.Errorf("%s: warnings %v, want %s", name, l.warnings, want)
		}
	}
}

// A file that outgrew 4 GiB wraps its 32-bit size: 5 GiB here, the header says 1.
func TestScanSeesAnOutgrownFile(t *testing.T) {
	head := riff(pcm16, "data"+le32(1<<30))
	l := kit.Must(scan(sparse{head, 5<<30 + 44}, 5<<30+44))(t)
	want := "bytes_left_out left_bytes=4.294967296e+09 outgrown=1 read_s=536870.912"
	if len(l.warnings) != 1 || l.warnings[0].String() != want {
		t.Errorf("warnings %v, want %s", l.warnings, want)
	}
}

func TestScanReadsMoreThan4GiB(t *testing.T) {
	const size = 20_000_000_000
	head := "RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(size+72)+le64(size)+le64(size/2)+le32(0)) + pcm16 + "data\xff\xff\xff\xff"
	length := int64(len(head)) + size
	l, err := scan(sparse{head, length}, length)
	if err != nil || l.offset != int64(len(head)) || l.size != size || l.frames() != size/2 || len(l.warnings) > 0 {
		t.Errorf("%+v, %v", l, err)
	}
}

func TestScanRefuses(t *testing.T) {
	data := chunk("data", "twelve bytes")
	withFmt := func(body string) string { return riff(chunk("fmt ", body), data) }
	ext := func(align, bits uint16, extension string) string {
		return withFmt(fmtBody(tagExtensible, 1, 48000, align, bits) + extension)
	}
	for name, c := range map[string]struct{ file, what, hint string }{
		"empty":               {"", "the file is empty", againHint},
		"short":               {"RIFF\x00\x00", "the file ends after 6 bytes, within its header", againHint},
		"one byte":            {"R", "not a WAV or FLAC file", wavHint},
		"text":                {"hum hum hum hum", "not a WAV or FLAC file", wavHint},
		"AIFF":                {"FORM\x00\x00\x00\x22AIFFCOMM", "not a WAV or FLAC file but an AIFF file", wavHint},
		"MPEG-4":              {"\x00\x00\x00\x20ftypM4A ", "not a WAV or FLAC file but an MPEG-4 file", lossyHint},
		"big-endian":          {"RIFX\x00\x00\x00\x22WAVEfmt ", "a big-endian WAV file (RIFX), which is not read", wavHint},
		"other RIFF":          {"RIFF\x00\x00\x00\x22AVI LIST", `a RIFF file, but of type "AVI ", not WAVE`, wavHint},
		"header only":         {riff(), "it has no fmt chunk: nothing says how its samples are written", againHint},
		"no fmt":              {riff(data), "it has no fmt chunk: nothing says how its samples are written", againHint},
		"no data":             {riff(pcm16), "it has no data chunk: it holds no samples", againHint},
		"empty data":          {riff(pcm16, chunk("data", "")), "it holds no samples", againHint},
		"empty data, LIST":    {riff(pcm16, chunk("data", ""), chunk("LIST", "INFOabcd")), "it holds no samples", againHint},
		"less than a frame":   {riff(pcm16, chunk("data", "x")), "it holds no samples", againHint},
		"two fmt":             {riff(pcm16, chunk("fmt ", fmtBody(tagPCM, 1, 48000, 2, 16)), data), "it has two fmt chunks that contradict each other", againHint},
		"another fmt later":   {riff(pcm16, data, chunk("fmt ", fmtBody(tagPCM, 1, 48000, 2, 16))), "it has two fmt chunks that contradict each other", againHint},
		"LIST claims 2 GiB":   {riff(pcm16, "LIST"+le32(1<<31)+"INFO"), `its "LIST" chunk claims 2147483648 bytes where only 4 follow`, againHint},
		"fmt claims 4 GiB":    {riff("fmt " + le32(0xFFFFFFFF) + pcm16[8:]), `its "fmt " chunk claims 4294967295 bytes where only 16 follow`, againHint},
		"fmt cut off":         {riff("fmt " + le32(16) + "0123456789"), "its fmt chunk has 10 bytes, at least 16 are needed", againHint},
		"short fmt":           {riff(chunk("fmt ", "0123456789abcd"), data), "its fmt chunk has 14 bytes, at least 16 are needed", againHint},
		"ADPCM":               {withFmt(fmtBody(2, 2, 44100, 1024, 4)), "its samples are coded as ADPCM", lossyHint},
		"µ-law":               {withFmt(fmtBody(7, 1, 8000, 1, 8)), "its samples are coded as µ-law", lossyHint},
		"MP3":                 {withFmt(fmtBody(0x55, 2, 44100, 1, 0)), "its samples are coded as MP3", lossyHint},
		"unknown codec":       {withFmt(fmtBody(0x1234, 2, 44100, 1, 0)), "its samples are coded as format 0x1234", lossyHint},
		"extensible µ-law":    {ext(1, 8, extension(8, 7, subFormatTail)), "its samples are coded as µ-law", lossyHint},
		"unknown sub-format":  {ext(2, 16, extension(16, 1, "strange GUID !")), "its samples are in an unknown sub-format (0100737472616e676520475549442021)", wavHint},
		"no extension":        {ext(2, 16, ""), "its fmt chunk says extensible but has no extension", againHint},
		"extension of 0":      {ext(2, 16, le16(0)+strings.Repeat("\x00", 22)), "its fmt chunk says extensible but has no extension", againHint},
		"too many valid bits": {ext(2, 16, extension(24, 1, subFormatTail)), "its header claims 24 valid bits in samples of 16", wavHint},
		"container of 20":     {ext(3, 20, extension(20, 1, subFormatTail)), "its extensible header gives 20 bits a sample, which fill no whole bytes", wavHint},
		"rate 0":              {withFmt(fmtBody(1, 1, 0, 2, 16)), "its sample rate is 0 Hz; 400 Hz to 768 kHz are read", againHint},
		"rate 399":            {withFmt(fmtBody(1, 1, 399, 2, 16)), "its sample rate is 399 Hz; 400 Hz to 768 kHz are read", againHint},
		"rate 768001":         {withFmt(fmtBody(1, 1, 768001, 2, 16)), "its sample rate is 768001 Hz; 400 Hz to 768 kHz are read", againHint},
		"rate all ones":       {withFmt(fmtBody(1, 1, 0xFFFFFFFF, 2, 16)), "its sample rate is 4294967295 Hz; 400 Hz to 768 kHz are read", againHint},
		"0 channels":          {withFmt(fmtBody(1, 0, 48000, 0, 16)), "its header says 0 channels", againHint},
		"0 bits":              {withFmt(fmtBody(1, 1, 48000, 0, 0)), "its samples are 0-bit PCM, which is not read", bitsHint},
		"4 bits":              {withFmt(fmtBody(1, 1, 48000, 1, 4)), "its samples are 4-bit PCM, which is not read", bitsHint},
		"64 bits":             {withFmt(fmtBody(1, 1, 48000, 8, 64)), "its samples are 64-bit PCM, which is not read", bitsHint},
		"16-bit float":        {withFmt(fmtBody(3, 1, 48000, 2, 16)), "its samples are 16-bit float, which is not read", bitsHint},
		"block align":         {withFmt(fmtBody(1, 2, 48000, 8, 24)), "its header contradicts itself: 2 channels of 24-bit samples make frames of 6 bytes, but it says 8", againHint},
		"short ds64":          {"RF64\xff\xff\xff\xffWAVE" + chunk("ds64", "0123"), "its ds64 chunk is too short", againHint},
		"ds64 cut off":        {"RF64\xff\xff\xff\xffWAVEds64\x1c\x00\x00\x000123", "its ds64 chunk is too short", againHint},
		"endless chunks":      {riff(strings.Repeat("junk\x00\x00\x00\x00", 5000)), "more than 4096 chunks come before the samples", wavHint},
	} {
		_, err := scan(strings.NewReader(c.file), int64(len(c.file)))
		if err == nil || err.Error() != c.what || fault.Hint(err) != c.hint {
			t.Errorf("%s: %v (hint %q); want %s (hint %q)", name, err, fault.Hint(err), c.what, c.hint)
		}
	}
}

func TestScanPassesReadErrorsOn(t *testing.T) {
	for at := range int64(60) {
		file := riff(chunk("LIST", "some"), pcm16, chunk("data", "twelve bytes"))
		_, err := scan(failing{strings.NewReader(file), at}, int64(len(file)))
		if err != nil && err != io.ErrClosedPipe {
			t.Errorf("failing from byte %d: %v", at, err)
		}
		if at < 48 && err == nil { // up to the data chunk's header every byte counts
			t.Errorf("failing from byte %d: no error", at)
		}
	}
}

// failing can't read at or past a byte.
type failing struct {
	r  io.ReaderAt
	at int64
}

func (f failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > f.at {
		return 0, io.ErrClosedPipe
	}
	return f.r.ReadAt(p, off)
}

// sparse is a head followed by zeros up to size.
type sparse struct {
	head string
	size int64
}

func (s sparse) ReadAt(p []byte, off int64) (int, error) {
	n := int(min(int64(len(p)), max(0, s.size-off)))
	clear(p[:n])
	if off < int64(len(s.head)) {
		copy(p[:n], s.head[off:])
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// counting counts reads and the bytes asked for.
type counting struct {
	io.ReaderAt
	reads, bytes int
}

func (c *counting) ReadAt(p []byte, off int64) (int, error) {
	c.reads++
	c.bytes += len(p)
	return c.ReaderAt.ReadAt(p, off)
}

// Headers that claim gigabytes cost no more than honest ones.
func TestScanDoesNotAllocateByClaims(t *testing.T) {
	for name, c := range map[string]sparse{
		"2 GiB of data":            {riff(pcm16, "data"+le32(1<<31)), 1<<31 + 44},
		"2 GiB of data, 4 missing": {riff(pcm16, "data"+le32(1<<31)), 1<<31 + 40},
		"LIST of 2 GiB":            {riff("LIST" + le32(1<<31)), 60},
		"LIST of 4 GiB, present":   {riff(pcm16, "LIST"+le32(1<<32-2)), 5 << 30},
		"fmt of 4 GiB, present":    {riff("fmt "+le32(1<<32-2), fmtBody(tagPCM, 1, 1000, 2, 16)), 5 << 30},
		"chunks without end":       {riff(pcm16), 1 << 40},
	} {
		r := &counting{ReaderAt: c}
		_, err := scan(r, c.size)
		if r.reads > 2*maxChunks+10 || r.bytes > chunkHeader*r.reads+100 {
			t.Errorf("%s: %d reads of %d bytes (%v)", name, r.reads, r.bytes, err)
		}
		if allocs := testing.AllocsPerRun(1, func() { scan(c, c.size) }); allocs > 2*maxChunks+100 {
			t.Errorf("%s: %v allocations", name, allocs)
		}
	}
}

func TestConfirmNoticesADisagreement(t *testing.T) {
	file := riff(pcm16, chunk("data", "twelve bytes"))
	l := kit.Must(scan(strings.NewReader(file), int64(len(file))))(t)
	if !librarySound(l) {
		t.Fatal("the plainest file is not read twice")
	}
	for name, change := range map[string]func(*layout){
		"offset":   func(l *layout) { l.offset += 2 },
		"size":     func(l *layout) { l.size -= 2 },
		"channels": func(l *layout) { l.format.channels = 2 },
		"rate":     func(l *layout) { l.format.rate = 48000 },
	} {
		wrong := l
		change(&wrong)
		if err := confirm(strings.NewReader(file), wrong); err == nil || !strings.HasPrefix(err.Error(), "its header can be read in two ways: ") {
			t.Errorf("%s changed: %v", name, err)
		}
	}
}

// What go-audio/wav v1.1.0 reads wrong or slowly must never reach it.
func TestConfirmKeepsFromTheLibraryWhatItReadsWrong(t *testing.T) {
	data := chunk("data", "twelve bytes")
	for name, file := range map[string]string{
		"float":      riff(chunk("fmt ", fmtBody(tagFloat, 1, 48000, 4, 32)), data),
		"extensible": riff(chunk("fmt ", fmtBody(tagExtensible, 1, 48000, 4, 32)+extension(24, tagPCM, subFormatTail)), data),
		"RF64":       "RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(100)+le64(12)+le64(2)+le32(0)) + pcm16 + "data\xff\xff\xff\xfftwelve bytes",
		"odd data":   riff(chunk("fmt ", fmtBody(tagPCM, 1, 8000, 1, 8)), chunk("data", "xyz")),
		"LIST":       riff(chunk("LIST", "INFO"), pcm16, data),
		"smpl":       riff(pcm16, chunk("smpl", "1234"), data),
		"cue":        riff(pcm16, chunk("cue ", "1234"), data),
		"truncated":  riff(pcm16, "data"+le32(100)+"twelve bytes"),
		"open size":  riff(pcm16, "data"+le32(0)+"twelve bytes"),
		"fmt last":   riff(data, pcm16),
		"20 bits":    riff(chunk("fmt ", fmtBody(tagPCM, 2, 96000, 6, 20)), data),
		"long way":   riff(pcm16, chunk("junk", strings.Repeat("x", 1<<20)), data),
	} {
		l, err := scan(strings.NewReader(file), int64(len(file)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if librarySound(l) {
			t.Errorf("%s is handed to the library: %+v", name, l)
		}
	}
}

func FuzzScan(f *testing.F) {
	for _, s := range []string{
		"", "RIFF", riff(), riff(pcm16), riff(pcm16, chunk("data", "twelve bytes")),
		riff(chunk("LIST", "odd"), pcm16, "data"+le32(0)+"xyz"),
		riff(pcm16, "data"+le32(0xFFFFFFFF)+"xyz"),
		riff("LIST" + le32(1<<31)),
		riff(chunk("data", "12"), pcm16),
		riff(chunk("fmt ", fmtBody(tagExtensible, 1, 48000, 4, 32)+extension(24, tagPCM, subFormatTail)), chunk("data", "twelve bytes")),
		"RF64\xff\xff\xff\xffWAVE" + chunk("ds64", le64(100)+le64(12)+le64(2)+le32(0)) + pcm16 + "data\xff\xff\xff\xfftwelve bytes",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		r := &counting{ReaderAt: bytes.NewReader(file)}
		l, err := scan(r, int64(len(file)))
		if r.reads > 8*maxChunks {
			t.Fatalf("%d reads", r.reads)
		}
		if err != nil {
			return
		}
		if l.size <= 0 || l.offset < 20 || l.offset+l.size > int64(len(file)) || l.size%int64(l.format.align) != 0 {
			t.Fatalf("data outside the file: %+v of %d bytes", l, len(file))
		}
		if err := confirm(bytes.NewReader(file), l); err != nil {
			t.Fatalf("%v: %+v", err, l)
		}
		readFuzzed(t, file, l)
	})
}

// readFuzzed decodes every channel of an accepted file: nothing may be out of
// bounds, and nothing but finite numbers come out.
func readFuzzed(t *testing.T, file []byte, l layout) {
	body := append(bytes.Clone(file[l.offset:l.offset+l.size]), make([]byte, slack)...)
	dst := make([]float64, l.frames())
	for c := range l.format.channels {
		if decoderFor(l.format)(dst, body[c*l.format.container/8:], l.format.align); l.format.float {
			finite(dst)
		}
		for i, x := range dst {
			if !(math.Abs(x) <= maxMagnitude) || !l.format.float && math.Abs(x) > 1 {
				t.Fatalf("channel %d frame %d is %v", c+1, i, x)
			}
		}
	}
}
