package handlers

import (
	"fmt"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// sheetRoutes are what is printed, and the tables that other programs read.
func (s *server) sheetRoutes(e *gin.Engine) {
	e.GET("/commissions/:id/traveller", s.traveller)
	e.GET("/commissions/:id/parts.csv", s.partsTable)
	e.GET("/commissions/:id/plan.csv", s.commissionPlanTable)
	e.GET("/plan.csv", s.planTable)
	e.GET("/stations/:id/sheet", s.stationSheet)
	e.GET("/sheets", s.allSheets)
}

// stationSheet is what is set and done at one station on a day.
func (s *server) stationSheet(c *gin.Context) {
	r, st, err := s.stationAsked(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.sheets(c, r, []*models.Station{st}, stationHref(st.ID), st.Name)
}

// allSheets are those of every station at which something is planned on the day.
func (s *server) allSheets(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	var all []*models.Station
	for i := range r.snap.Stations {
		all = append(all, &r.snap.Stations[i])
	}
	s.sheets(c, r, all, "/stations", r.say.say("All stations"))
}

func (s *server) sheets(c *gin.Context, r *room, stations []*models.Station, back, backName string) {
	day, refused := r.dayAsked(c.Query("day"))
	here := c.Request.URL.Path
	href := func(d time.Time) string { return here + "?day=" + d.Format(time.DateOnly) }
	data := views.Sheets{Shop: r.say.shipped(r.snap.Shop.Name), Day: r.say.tell(phrase.Date(day)), Printed: r.dated(r.at), Back: back, BackName: backName,
		Earlier: href(day.AddDate(0, 0, -1)), Today: here, Later: href(day.AddDate(0, 0, 1)), OnlyHere: onlyHere(c)}
	status := http.StatusOK
	if refused != nil {
		status, data.Notice = statusOf(refused), r.say.sentence(refused)
	}
	queues := planner.Queues(r.snap, r.at)
	for _, st := range stations {
		sheet, err := r.sheet(st, queues[st.ID], views.Stretch{From: day, To: day.AddDate(0, 0, 1)}, origin(c))
		if err != nil {
			s.fail(c, err)
			return
		}
		if len(sheet.Runs) > 0 || len(stations) == 1 {
			data.Sheets = append(data.Sheets, sheet)
		}
	}
	s.page(c, status, "sheet", r.say.say("Setup sheet, %s", data.Day), data)
}

// dayAsked reads a day of the query: today, unless it says another.
func (r *room) dayAsked(text string) (time.Time, error) {
	today := midnight(r.say.now)
	if text == "" {
		return today, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, text, r.say.now.Location())
	if err != nil {
		return today, &models.Error{Code: models.Invalid, Field: "day", Value: text,
			Sentence: phrase.Of("Day: %q is no date. Write it like %s.", text, today.Format(time.DateOnly))}
	}
	return midnight(day), nil
}

// sheet tells what of a station's queue falls on a day.
func (r *room) sheet(st *models.Station, q *planner.Queue, day views.Stretch, origin string) (views.Sheet, error) {
	sheet := views.Sheet{Name: st.Name, Stands: r.setting(st.SetupID)}
	if st.Down {
		sheet.Down = r.say.say("Out of order.")
	}
	for i := range r.snap.Steps {
		if step := &r.snap.Steps[i]; step.StationID == st.ID && step.State == models.InHand {
			sheet.Hand = append(sheet.Hand, r.say.say("%[1]s has %[2]s in hand", r.who(step.PersonID), step.Name))
		}
	}
	for i := range q.Runs {
		run := q.Runs[i]
		row := views.SheetRun{}
		for k, id := range run.Steps {
			planned := planner.Expected(r.snap, id)
			if planned == nil || (views.Stretch{From: planned.SetupStart, To: planned.AttendedEnd}).Overlap(day).Empty() {
				continue
			}
			if len(row.Steps) == 0 {
				run.Setting = run.Setting && k == 0 // else it was set on a day before
				row.When = phrase.Clock(planned.SetupStart.In(day.From.Location()))
			}
			step, err := r.sheetStep(r.snap.Step(id), origin)
			if err != nil {
				return sheet, err
			}
			step.When, step.Station, step.Setup = phrase.Clock(planned.Start.In(day.From.Location())), "", ""
			row.Steps = append(row.Steps, step)
		}
		if len(row.Steps) == 0 {
			continue
		}
		row.Mark, row.Set = r.runMark(&run), run.Setting
		if setup := r.snap.Setup(run.SetupID); setup != nil {
			row.Instruction = setup.Instruction
		}
		sheet.Runs = append(sheet.Runs, row)
	}
	tellOnce(&sheet)
	if len(sheet.Runs) == 0 && st.Caution != "" {
		sheet.Cautions = []string{st.Caution}
	}
	return sheet, nil
}

// tellOnce has the cautions that all steps of a sheet share told at its head, and those
// that all of a run share before the run.
func tellOnce(sheet *views.Sheet) {
	var all []*views.SheetStep
	for i := range sheet.Runs {
		for k := range sheet.Runs[i].Steps {
			all = append(all, &sheet.Runs[i].Steps[k])
		}
	}
	sheet.Cautions = takeShared(all)
	for i := range sheet.Runs {
		run := &sheet.Runs[i]
		var own []*views.SheetStep
		for k := range run.Steps {
			own = append(own, &run.Steps[k])
		}
		run.Cautions = takeShared(own)
	}
}

// takeShared takes out of steps the cautions that all of them have.
func takeShared(steps []*views.SheetStep) []string {
	counted := map[string]int{}
	for _, st := range steps {
		for _, text := range st.Cautions {
			counted[text]++
		}
	}
	var shared []string
	for i, st := range steps {
		var own []string
		for _, text := range st.Cautions {
			switch {
			case counted[text] < len(steps):
				own = append(own, text)
			case i == 0:
				shared = append(shared, text)
			}
		}
		st.Cautions = own
	}
	return shared
}

// sheetStep tells a step on paper.
func (r *room) sheetStep(st *models.Step, origin string) (views.SheetStep, error) {
	step := views.SheetStep{Name: st.Name, Of: r.commission(st.CommissionID)}
	if station := r.snap.Station(st.StationID); station != nil {
		step.Station = station.Name
	}
	if st.FinishedAt != nil { // nobody goes to it any more
		step.Done = r.dated(*st.FinishedAt)
		return step, nil
	}
	step.Parts, step.Assemblies, step.Clamps, step.Cautions, step.Note = r.partRows(st), r.assembliesOf(st), r.clampsOf(st), r.cautionsOf(st), st.Note
	step.Time = []string{r.say.say("about %s", span(st.Attended))}
	if st.Hands > 1 {
		step.Time = append(step.Time, r.say.say("%d people", st.Hands))
	}
	if st.OpenTime > 0 {
		step.Time = append(step.Time, r.say.say("%s from first glue to last clamp", span(st.OpenTime)))
	}
	if st.Unattended > 0 {
		step.Time = append(step.Time, r.say.say("then %[1]s %[2]s", r.say.clockSpan(st.Unattended), r.say.rest(st.Rest)))
	}
	if setup := r.snap.SetupOf(st); setup != nil {
		step.Setup = setup.Instruction
	}
	var err error
	step.Code, err = qrCode(origin+stepHref(st.ID), fmt.Sprintf("%s, %s", st.Name, step.Of))
	return step, err
}
