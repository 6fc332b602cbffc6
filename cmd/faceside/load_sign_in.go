package main

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"faceside/models"
)

// The cookies of who is signed in, and of a tablet that is enrolled.
const (
	sessionCookie = "faceside_session"
	keyCookie     = "faceside_key"
)

// barLoadShop has everybody sign in who comes to the shop in the folder dir, and returns
// the planner's passphrase.
func barLoadShop(ctx context.Context, dir string) (passphrase string, err error) {
	passphrase = rand.Text()
	return passphrase, onShop(ctx, dir, func(ctx context.Context, store *models.Store) error { return store.SetPassphrase(ctx, passphrase, 0) })
}

// loadDoor lets tablets and people in, through the screens by which a planner and makers
// do it.
type loadDoor struct {
	planner *loadTablet // the planner's browser
	pins    map[models.ID]string
	let     int // tablets, so far
}

// openDoor signs the planner in and has PINs drawn for the makers; nil where nobody has
// to sign in.
func openDoor(ctx context.Context, shop loadShop, address string) (*loadDoor, error) {
	if shop.passphrase == "" {
		return nil, nil
	}
	d := &loadDoor{planner: newLoadTablet(address, 0, 0, nil, nil), pins: map[models.ID]string{}}
	if err := d.planner.signIn(ctx, "/sign-in/planner", url.Values{"passphrase": {shop.passphrase}}); err != nil {
		return nil, err
	}
	for _, maker := range shop.makers {
		var err error
		if d.pins[maker], err = d.planner.secret(ctx, fmt.Sprintf("/shop/access/people/%d/pin", maker), nil); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// letIn enrols a tablet and signs its maker in.
func (d *loadDoor) letIn(ctx context.Context, t *loadTablet) error {
	if d == nil {
		return nil
	}
	d.let++
	code, err := d.planner.secret(ctx, "/shop/access/tablets", url.Values{"name": {fmt.Sprintf("Tablet %d", d.let)}})
	if err != nil {
		return err
	}
	if err := t.enrol(ctx, code); err != nil {
		return err
	}
	return t.signIn(ctx, fmt.Sprintf("/sign-in/people/%d", t.maker), url.Values{"pin": {d.pins[t.maker]}, "done": {"on"}})
}

// signIn sends a PIN or a passphrase, and keeps what the tablet shows from then on.
func (t *loadTablet) signIn(ctx context.Context, path string, form url.Values) error {
	answer, _, err := t.post(ctx, path, "", form)
	if err != nil {
		return err
	}
	for _, c := range answer.Cookies() {
		if c.Name == sessionCookie && c.Value != "" {
			t.shows = append(t.shows, &http.Cookie{Name: c.Name, Value: c.Value})
			return nil
		}
	}
	return fmt.Errorf("POST %s was answered %s, and nobody is signed in", path, answer.Status)
}

// enrol uses a code up.
func (t *loadTablet) enrol(ctx context.Context, code string) error {
	answer, body, err := t.post(ctx, "/enrol", "application/json", url.Values{"code": {code}})
	if err != nil {
		return err
	}
	var told struct{ Token string }
	if err := json.Unmarshal(body, &told); err != nil || told.Token == "" {
		return fmt.Errorf("POST /enrol was answered %s, without a key", answer.Status)
	}
	t.shows = append(t.shows, &http.Cookie{Name: keyCookie, Value: told.Token})
	return nil
}

// toldSecret is where the planner's screen tells a PIN or a code.
var toldSecret = regexp.MustCompile(`<div class="told-secret"><code>([^<]+)</code>`)

// secret has a PIN or a code made, and returns it.
func (t *loadTablet) secret(ctx context.Context, path string, form url.Values) (string, error) {
	answer, page, err := t.post(ctx, path, "", form)
	if err != nil {
		return "", err
	}
	found := toldSecret.FindSubmatch(page)
	if found == nil {
		return "", fmt.Errorf("POST %s was answered %s, and tells no secret", path, answer.Status)
	}
	return strings.ReplaceAll(string(found[1]), " ", ""), nil
}

// doorway follows nowhere: what a tablet is to show stands in the answer itself.
var doorway = &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

// post sends a form; accept says as what the answer is wanted, "" for a page.
func (t *loadTablet) post(ctx context.Context, path, accept string, form url.Values) (*http.Response, []byte, error) {
	req, err := t.request(ctx, http.MethodPost, path, strings.NewReader(form.Encode()))
	if err != nil {
		return nil, nil, err
	}
	req.Header.Del("Accept-Encoding") // it is read
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", accept)
	answer, err := doorway.Do(req)
	if err != nil {
		return nil, nil, err
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the answer to POST %s: %w", path, err)
	}
	return answer, body, nil
}
