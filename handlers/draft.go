package handlers

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/models/wood"
	"faceside/views"
)

const (
	draftDays   = 21 // from today to the promised date a new form proposes
	draftWeight = 3  // the weight it proposes
	draftSure   = 80 // how sure the date is that it tells first, of a hundred
)

// draft is a commission being thought out, or one more piece of a commission:
// nothing of it is saved.
type draft struct {
	room    *room
	pattern *pattern.Pattern
	shop    pattern.Shop
	in      pattern.Input
	about   models.Commission  // what it belongs to
	into    *models.Commission // what the piece is added to, nil for a new commission
	piece   string             // what the piece is called
	formID  string
	form    url.Values // as typed; nil when nothing was yet
	wrong   error      // what cannot be read of it
	sure    int        // how sure the date is to be that is told first
	effort  planner.Effort
}

// title is the pattern's, in the shop's language.
func (d *draft) title() string { return d.room.say.shipped(d.pattern.Title) }

// newDraft shows the form of a pattern at its defaults.
func (s *server) newDraft(c *gin.Context) {
	d, err := s.draftOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if d.into == nil {
		d.about = models.Commission{Name: d.title(), Weight: draftWeight,
			PromisedOn: d.room.say.now.AddDate(0, 0, draftDays).Format(time.DateOnly)}
	}
	data, _, err := s.draftData(c, d)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "draft", d.title(), data)
}

// previewDraft shows parts, hours and forecasts for what is typed so far. Who types
// with script gets a first answer, and then asks for a better one; who presses a
// button waits for that.
func (s *server) previewDraft(c *gin.Context) {
	d, err := s.typedDraft(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if !swapped(c) || c.PostForm("answer") == "better" {
		d.effort = planner.Better
	}
	data, _, err := s.draftData(c, d)
	if err != nil {
		s.fail(c, err)
		return
	}
	switch {
	case swapped(c) && d.effort == planner.Better:
		s.fragment(c, http.StatusOK, "draft", "promised", data.Preview)
	case swapped(c):
		s.fragment(c, http.StatusOK, "draft", "previewed", data)
	case !data.Preview.Ready:
		s.page(c, http.StatusUnprocessableEntity, "draft", d.title(), data)
	default:
		s.page(c, http.StatusOK, "draft", d.title(), data)
	}
}

// draftOf finds the pattern the path names.
func (s *server) draftOf(c *gin.Context) (*draft, error) {
	key := c.Param("pattern")
	p := s.library.Pattern(key)
	if p == nil || !p.Piece {
		return nil, &models.Error{Code: models.NotFound, Field: "pattern", Value: key,
			Sentence: phrase.Of("There is no pattern called %q.", key)}
	}
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	d := &draft{room: r, pattern: p, shop: planner.PatternShop(r.records), in: pattern.Input{Pattern: key}, piece: p.Title, formID: uuid.NewString(),
		sure: draftSure, effort: planner.AtOnce}
	if c.Param("id") != "" {
		return d, s.addsTo(c, d)
	}
	return d, nil
}

// typedDraft reads the form of a draft.
func (s *server) typedDraft(c *gin.Context) (*draft, error) {
	d, err := s.draftOf(c)
	if err != nil {
		return nil, err
	}
	in, err := s.reader(c)
	if err != nil {
		return nil, err
	}
	if d.into == nil {
		in.about(&d.about)
		d.sure = in.sure()
	} else {
		d.piece = in.text("piece")
	}
	d.form = in.form
	if id := in.text("form_id"); id != "" {
		d.formID = id
	}
	d.in.Measures, d.in.Choices = map[string]string{}, map[string]string{}
	for _, m := range d.pattern.Measures {
		if text := in.decimal(measureField(m.Key)); text != "" {
			d.in.Measures[m.Key] = text
		}
	}
	for _, ch := range d.pattern.Choices {
		if text := in.text(choiceField(ch.Key)); text != "" {
			d.in.Choices[ch.Key] = text
		}
	}
	d.wrong = in.err()
	return d, nil
}

// sure reads how sure a date is to be; nothing chosen is as a new form has it.
func (r *reader) sure() int {
	text := r.text("sure")
	for _, confidence := range planner.Confidences {
		if text == strconv.Itoa(confidence) {
			return confidence
		}
	}
	if text != "" {
		r.refuse("sure", "%q is none of 50, 80 and 95.", text)
	}
	return draftSure
}

// sureField asks it.
func (d *draft) sureField() views.Field {
	f := views.Field{Name: "sure", Label: d.room.say.say("How sure the date is to be"), Kind: "select", Value: strconv.Itoa(d.sure),
		Help: d.room.say.say("So many of a hundred weeks played have it complete by then.")}
	for _, confidence := range planner.Confidences {
		f.Options = append(f.Options, views.Option{Value: strconv.Itoa(confidence), Name: d.room.say.sure(confidence)})
	}
	return f
}

// Measures and choices have names of their own in the form, so that a pattern
// may call one "name".
func measureField(key string) string { return "measure." + key }
func choiceField(key string) string  { return "choice." + key }

// draftData draws up the form with everything that is wrong beside its field,
// and builds the piece; built is nil where that is not possible.
func (s *server) draftData(c *gin.Context, d *draft) (data views.Draft, built *pattern.Built, err error) {
	form, err := s.library.Form(d.in, d.shop)
	if err != nil {
		return data, nil, fmt.Errorf("the form of %s: %w", d.pattern.Key, err)
	}
	data = views.Draft{
		Title: d.title(), Blurb: d.room.say.shipped(d.pattern.Blurb), FormID: d.formID,
		Action: draftHref(d.pattern.Key), Another: "/commissions/new", About: append(d.room.say.aboutFields(&d.about), d.sureField()),
		Measures: d.measureFields(form), Choices: d.choiceFields(form),
	}
	if d.into != nil {
		d.tellInto(&data)
	}
	if d.form != nil {
		data.About = retyped(data.About, d.form)
	}
	fields := slices.Concat(data.About, data.Measures)
	data.Notice = s.words(c).blame(fields, d.wrong)
	data.About, data.Measures = fields[:len(data.About)], fields[len(data.About):]
	d.checkPromise(data.About)
	built, err = s.library.Build(d.in, d.shop)
	if err != nil {
		data.Preview.Wrong = d.room.say.blamePattern(&data, err)
		return data, nil, nil
	}
	data.Preview.Href = data.Action + "/preview"
	s.preview(c, d, built, &data.Preview)
	return data, built, nil
}

func retyped(fields []views.Field, typed url.Values) []views.Field {
	for i := range fields {
		fields[i].Value = typed.Get(fields[i].Name)
	}
	return fields
}

// checkPromise says at once what the store would refuse on saving.
func (d *draft) checkPromise(fields []views.Field) {
	f := fieldNamed(fields, "promised_date")
	if f == nil || f.Error != "" {
		return
	}
	today := d.room.say.now.Format(time.DateOnly)
	if _, err := time.Parse(time.DateOnly, d.about.PromisedOn); err != nil {
		f.Error = d.room.say.say("%q is no date; write for example %s.", d.about.PromisedOn, today)
	} else if d.about.PromisedOn < today {
		f.Error = d.room.say.say("The promised date %s is past: today is %s.", d.room.say.date(d.about.PromisedOn), d.room.say.date(today))
	}
}

// blamePattern writes what is wrong with the measures and choices beside them,
// and returns what is about the whole.
func (w words) blamePattern(data *views.Draft, err error) string {
	var many *pattern.Errors
	if !errors.As(err, &many) {
		return w.sentence(err)
	}
	var whole []string
	beside := 0
	for _, one := range many.List {
		f := fieldNamed(data.Measures, measureField(one.Field))
		if f == nil {
			f = fieldNamed(data.Choices, choiceField(one.Field))
		}
		if f == nil || f.Error != "" {
			whole = append(whole, w.patternSays(one))
			continue
		}
		f.Error = w.patternSays(one)
		beside++
	}
	if len(whole) == 0 {
		return w.say("It cannot be built like this: look at the %d fields marked in the form.", beside)
	}
	return strings.Join(whole, " ")
}

// patternSays says what is wrong with the input of a pattern: in the words of the
// shipped data, or as a message of the catalogue.
func (w words) patternSays(wrong *pattern.FieldError) string {
	english := wrong.Error()
	if said := w.shipped(english); said != english {
		return said
	}
	return w.tell(wrong.Sentence)
}

func (d *draft) measureFields(form *pattern.Form) []views.Field {
	var fields []views.Field
	for _, m := range form.Measures {
		f := views.Field{Name: measureField(m.Key), Label: d.room.say.shipped(m.Name), Kind: "text", Mode: "text", Value: d.in.Measures[m.Key]}
		least, greatest := d.measured(m, m.LeastLength, m.LeastNumber), d.measured(m, m.GreatestLength, m.GreatestNumber)
		f.Help = strings.TrimSpace(d.room.say.shipped(m.Help) + " " + d.room.say.say("From %s to %s.", least, greatest))
		if d.form != nil {
			f.Value = d.form.Get(f.Name)
		}
		if f.Value == "" {
			f.Value = d.measured(m, m.DefaultLength, m.DefaultNumber)
		}
		fields = append(fields, f)
	}
	return fields
}

func (d *draft) measured(m pattern.Measure, l wood.Length, n float64) string {
	if m.IsLength {
		return d.room.say.length(l)
	}
	return d.room.say.figure(strconv.FormatFloat(n, 'f', -1, 64))
}

func (d *draft) choiceFields(form *pattern.Form) []views.Field {
	var fields []views.Field
	for _, ch := range form.Choices {
		f := views.Field{Name: choiceField(ch.Key), Label: d.room.say.shipped(ch.Name), Kind: "select", Help: d.room.say.shipped(ch.Help), Value: d.in.Choices[ch.Key]}
		if f.Value == "" {
			f.Value = ch.Default
		}
		for _, o := range ch.Options {
			f.Options = append(f.Options, views.Option{Value: o.Key, Name: d.room.say.shipped(o.Name)})
		}
		fields = append(fields, f)
	}
	return fields
}
