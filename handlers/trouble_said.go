package handlers

import (
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// troubleSaid reads what is said of trouble: the button that was tapped, and the
// fields that it counts on. A button is called by the kind and, where it says all
// there is to say, by that: "estimate:45", "spoiled:part:7".
func troubleSaid(c *gin.Context, req *models.TapRequest) error {
	if req.Kind != models.TapTrouble {
		return nil
	}
	kind, rest, said := strings.Cut(c.PostForm("trouble"), ":")
	if kind == "" && c.PostForm("from") == "trouble" {
		return refused("trouble", "", "Say what is wrong: tap one of the answers.")
	}
	if kind == "" || kind == "other" {
		return nil // as the note says
	}
	tr := &models.Trouble{Kind: models.TroubleKind(kind)}
	var err error
	switch tr.Kind {
	case models.TroubleSpoiled:
		err = spoiledSaid(c, tr, rest)
	case models.TroubleMissing:
		tr.ExpectedOn = strings.TrimSpace(c.PostForm("expected_day"))
	case models.TroubleHelp, models.TroubleHand:
		tr.HelperID, err = numberSaid("person", rest)
	case models.TroubleEstimate:
		tr.Left, err = leftSaid(c, rest, said)
	case models.TroubleOrder:
		if !said {
			rest = c.PostForm("first")
		}
		tr.FirstID, err = numberSaid("step", rest)
	}
	if err != nil {
		return err
	}
	req.Trouble = tr
	return nil
}

// spoiledSaid reads which parts: "part:7" is one of them, "all:3" an assembly;
// else the fields say how many of each.
func spoiledSaid(c *gin.Context, tr *models.Trouble, rest string) error {
	what, number, one := strings.Cut(rest, ":")
	if one {
		id, err := numberSaid("part", number)
		if what == "all" {
			tr.Assemblies = []models.ID{id}
		} else {
			tr.Parts = map[models.ID]int{id: 1}
		}
		return err
	}
	tr.Parts = map[models.ID]int{}
	for name, typed := range c.Request.PostForm {
		number, is := strings.CutPrefix(name, "count.")
		text := strings.TrimSpace(strings.Join(typed, ""))
		if !is || text == "" || text == "0" {
			continue
		}
		id, err := numberSaid("part", number)
		if err != nil {
			return err
		}
		if tr.Parts[id], err = strconv.Atoi(text); err != nil {
			return refused("parts", text, "%q is no number of spoiled parts: write for example 2.", text)
		}
	}
	return nil
}

// leftSaid reads how many minutes are left: from the button, else as typed.
func leftSaid(c *gin.Context, rest string, said bool) (int, error) {
	text := strings.TrimSpace(c.PostForm("left"))
	if said {
		n, err := strconv.Atoi(rest)
		if err != nil {
			return 0, refused("left", rest, "%q is no number of minutes.", rest)
		}
		return n, nil
	}
	minutes, ok := parseSpan(text)
	if !ok {
		return 0, refused("left", text, "%q is no span of time; write for example 45 min, 4 h or 7 days.", text)
	}
	return minutes, nil
}
