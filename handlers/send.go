package handlers

import (
	"bytes"
	"compress/gzip"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"
)

// packFrom is from how many bytes an answer is compressed: below, the packet is
// sent anyway.
const packFrom = 1400

// send answers with data, compressed where the browser takes that and it pays:
// a workshop's Wi-Fi is slow and a drawing is long. Streams never come here.
func (s *server) send(c *gin.Context, status int, kind string, data []byte) {
	c.Header("Vary", "Accept-Encoding")
	if len(data) < packFrom || !takesGzip(c.GetHeader("Accept-Encoding")) {
		c.Data(status, kind, data)
		return
	}
	var out bytes.Buffer
	if err := pack(&out, data); err != nil {
		s.log.Error("compress an answer", "path", loggedPath(c), "error", err)
		c.Data(status, kind, data)
		return
	}
	c.Header("Content-Encoding", "gzip")
	c.Data(status, kind, out.Bytes())
}

// packers are kept, as each takes a megabyte to make.
var packers = sync.Pool{New: func() any {
	w, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // fails for levels that there are not
	return w
}}

// pack compresses data, quickly rather than well.
func pack(to *bytes.Buffer, data []byte) error {
	w := packers.Get().(*gzip.Writer)
	defer packers.Put(w)
	w.Reset(to)
	if _, err := w.Write(data); err != nil {
		return err
	}
	return w.Close()
}

// takesGzip reads an Accept-Encoding header (RFC 9110, section 12.5.3).
func takesGzip(header string) bool {
	for _, part := range strings.Split(header, ",") {
		coding, weight, _ := strings.Cut(part, ";")
		if strings.EqualFold(strings.TrimSpace(coding), "gzip") {
			q := strings.ReplaceAll(weight, " ", "")
			return q != "q=0" && q != "q=0.0" && q != "q=0.00" && q != "q=0.000"
		}
	}
	return false
}
