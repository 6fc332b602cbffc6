package handlers

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// apiPath is where programs read the records. What is there changes nothing, and
// keeps its form as long as the number does: fields are added, none taken away.
const apiPath = "/api/v1"

const problemType = "application/problem+json"

//go:embed openapi.yaml
var openAPI []byte

// apiRoutes are what openapi.yaml describes; a test holds the two together.
func (s *server) apiRoutes(e *gin.Engine) {
	api := e.Group(apiPath)
	api.GET("/openapi.yaml", s.apiDescription)
	api.GET("/shop", s.apiAnswer(s.apiShop))
	api.GET("/commissions", s.apiAnswer(s.apiCommissions))
	api.GET("/commissions/:id", s.apiAnswer(s.apiCommission))
	api.GET("/steps", s.apiAnswer(s.apiSteps))
	api.GET("/steps/:id", s.apiAnswer(s.apiStep))
	api.GET("/stations", s.apiAnswer(s.apiStations))
	api.GET("/stations/:id", s.apiAnswer(s.apiStation))
	api.GET("/plan", s.apiAnswer(s.apiPlan))
	api.GET("/taps", s.apiAnswer(s.apiTaps))
}

// apiDescription is the description itself.
func (s *server) apiDescription(c *gin.Context) {
	s.sendTagged(c, "application/yaml", openAPI) // RFC 9512
}

// apiAnswer makes an action of what reads the records for one address.
func (s *server) apiAnswer(read func(*gin.Context) (any, error)) gin.HandlerFunc {
	return func(c *gin.Context) {
		data, err := read(c)
		if err == nil {
			var text []byte
			if text, err = json.Marshal(data); err == nil {
				s.sendTagged(c, "application/json", append(text, '\n'))
				return
			}
			err = fmt.Errorf("write the answer: %w", err)
		}
		s.fail(c, err)
	}
}

// sendTagged answers with data, or says that it is still what the program has. The tag
// is a weak one, since the same data may go compressed or not.
func (s *server) sendTagged(c *gin.Context, kind string, data []byte) {
	sum := sha256.Sum256(data)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	c.Header("ETag", "W/"+tag)
	c.Header("Cache-Control", "private, no-cache")
	if tagged(c.GetHeader("If-None-Match"), tag) {
		c.Status(http.StatusNotModified)
		return
	}
	s.send(c, http.StatusOK, kind, data)
}

// tagged compares weakly (RFC 9110, section 13.1.2).
func tagged(header, tag string) bool {
	for _, have := range strings.Split(header, ",") {
		have = strings.TrimSpace(have)
		if have == "*" || strings.TrimPrefix(have, "W/") == tag {
			return true
		}
	}
	return false
}

// isAPI says whether a program asks, and not a tablet.
func isAPI(c *gin.Context) bool {
	return c.Request.URL.Path == apiPath || strings.HasPrefix(c.Request.URL.Path, apiPath+"/")
}

// apiProblem is what went wrong, by RFC 9457.
type apiProblem struct {
	Type     string `json:"type"`
	Title    string `json:"title"`
	Status   int    `json:"status"`
	Detail   string `json:"detail"`
	Instance string `json:"instance"`
	Field    string `json:"field,omitempty"`
	Value    string `json:"value,omitempty"`
}

// failAPI tells a program what went wrong: the sentence is that of the screens, the
// field and its value stand by themselves.
func (s *server) failAPI(c *gin.Context, status int, sentence string, err error) {
	p := apiProblem{Type: "about:blank", Title: http.StatusText(status), Status: status, Detail: sentence, Instance: c.Request.URL.Path}
	var known *models.Error
	if errors.As(err, &known) {
		p.Field, p.Value = fieldName(known.Field), known.Value
	}
	text, err := json.Marshal(p)
	if err != nil {
		s.answer(c, http.StatusInternalServerError, nil, err)
		return
	}
	c.Data(status, problemType, append(text, '\n'))
	c.Abort()
}
