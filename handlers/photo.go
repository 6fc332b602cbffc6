package handlers

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/photo"
)

const (
	// beside is the most a form may send beside its photo, in bytes.
	beside = 64 << 10
	// drained is how much of a body that is too large is read all the same: a browser
	// that is cut off while it sends shows no answer, only that it was cut off.
	drained = 200 << 20
	// drainFor is how long that may take.
	drainFor = time.Minute
)

func photoHref(hash string) string { return "/photos/" + hash + ".jpg" }

// photo sends a photo. Its name is its content, so that it may be kept for good.
func (s *server) photo(c *gin.Context) {
	hash, ok := strings.CutSuffix(c.Param("name"), ".jpg")
	if !ok {
		s.notFound(c)
		return
	}
	etag := `"` + hash + `"`
	if c.GetHeader("If-None-Match") == etag {
		c.Status(http.StatusNotModified)
		return
	}
	p, err := s.store.PhotoOf(c.Request.Context(), hash)
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("ETag", etag)
	c.Header("Cache-Control", "private, max-age=31536000, immutable")
	c.Header("Content-Disposition", "inline")
	c.Data(http.StatusOK, "image/jpeg", p.JPEG)
}

// photoForm is a form with a photo in it.
type photoForm struct {
	fields map[string]string
	data   []byte // of the photo; empty where none was chosen
}

// readPhotoForm reads a multipart form piece by piece: no more than the limits of
// it are ever held.
func readPhotoForm(c *gin.Context) (photoForm, error) {
	form := photoForm{fields: map[string]string{}}
	most := int64(photo.MostBytes + beside)
	if c.Request.ContentLength > most {
		drain(c)
		return form, photo.TooLarge(c.Request.ContentLength)
	}
	c.Request.Body = http.MaxBytesReader(nil, c.Request.Body, drained)
	parts, err := c.Request.MultipartReader()
	if err != nil {
		return form, refused("form", "", "The form cannot be read: it is not written as a browser writes one.")
	}
	left := int64(beside)
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return form, nil
		}
		if err != nil {
			return form, brokenOff(err)
		}
		if err := form.read(c, part, &left); err != nil {
			return form, err
		}
	}
}

// read takes one part of the form; left is how much the other fields may still take.
func (f *photoForm) read(c *gin.Context, part *multipart.Part, left *int64) error {
	if part.FormName() == "photo" {
		data, err := io.ReadAll(io.LimitReader(part, photo.MostBytes+1))
		if err != nil {
			return brokenOff(err)
		}
		if len(data) > photo.MostBytes {
			rest, err := io.Copy(io.Discard, part)
			drain(c)
			if err != nil {
				return brokenOff(err)
			}
			return photo.TooLarge(int64(len(data)) + rest)
		}
		f.data = data
		return nil
	}
	text, err := io.ReadAll(io.LimitReader(part, *left+1))
	if err != nil {
		return brokenOff(err)
	}
	if *left -= int64(len(text)); *left < 0 {
		drain(c)
		return refused(part.FormName(), "", "What was written beside the photo is larger than %d kB; nothing was saved.", beside>>10)
	}
	f.fields[part.FormName()] = string(text)
	return readableForm(url.Values{part.FormName(): {string(text)}})
}

// brokenOff says that a form did not come to its end.
func brokenOff(err error) error {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return photo.TooLarge(tooBig.Limit)
	}
	return refused("photo", "", "The photo came broken off: the connection was lost while it was sent. Send it again.")
}

// drain reads what a browser is still sending, within limits.
func drain(c *gin.Context) {
	if err := http.NewResponseController(c.Writer).SetReadDeadline(time.Now().Add(drainFor)); err != nil {
		return // then it is cut off; there is nobody to tell
	}
	_, _ = io.Copy(io.Discard, io.LimitReader(c.Request.Body, drained)) // whatever comes of it, the answer is the same
}

// makePhoto reads what a camera gave, one at a time: a large picture takes
// hundreds of megabytes while it is decoded. It is nil where none was chosen.
func (s *server) makePhoto(c *gin.Context, data []byte) (*models.Photo, error) {
	if len(data) == 0 {
		return nil, nil
	}
	select {
	case s.developing <- struct{}{}:
		defer func() { <-s.developing }()
	case <-c.Request.Context().Done():
		return nil, fmt.Errorf("wait for another photo: %w", c.Request.Context().Err())
	}
	return photo.Read(data)
}
