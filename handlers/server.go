package handlers

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/planner"
	"faceside/views"
)

// Config is what the server is made of. The first five are needed.
type Config struct {
	Store     *models.Store
	Planner   *planner.Service
	Library   *pattern.Library
	Static    fs.FS // app.css, app.js, icons/ and vendor/
	Log       *slog.Logger
	Missing   []string      // files of static/vendor that are not there: plain HTML is served
	Heartbeat time.Duration // of the live stream; 0: 10 s
	// WallClock is the clock of this machine, which the tablets' are compared
	// with; the shop's own clock (the store's) may be an invented one. nil: time.Now.
	WallClock func() time.Time
	// Stopping is closed when the program is about to stop, so that the live
	// streams end at once and do not hold up http.Server.Shutdown; nil: never.
	Stopping <-chan struct{}
	// Hosts are the names and addresses by which the server may be asked, besides
	// those of loopback and the address that a connection came to.
	Hosts  []string
	Limits Limits // on what one device may ask; the zero value sets none
	// Backups tells how they stand; nil: none are made, as of an invented shop.
	Backups *models.Backups
	// Measures is where answers and taps are counted; nil: nowhere that is read.
	Measures prometheus.Registerer
	Trust    *Trust // what vouches for the server where it is served by TLS; nil: nothing
}

// server is what the actions share.
type server struct {
	store    *models.Store
	planner  *planner.Service
	library  *shelf
	log      *slog.Logger
	views    *views.Set
	hub      *hub
	readings *readings
	drawing  drawing
	assets   *assets
	missing  []string
	taken    takenForms
	aheads   aheads
	helps    helpsFound
	drawings litDrawings

	cutPlans cutPlans
	racked   takenForms // boards that were bought

	developing chan struct{} // room for one photo while it is decoded

	stopping  <-chan struct{}
	wallClock func() time.Time
	backups   *models.Backups
	measures  *measures

	protection *http.CrossOriginProtection
	hosts      hosts
	pace       *pace
	trust      *Trust
}

// New makes the handler of the whole application.
func New(cfg Config) (http.Handler, error) {
	s, err := newServer(cfg)
	if err != nil {
		return nil, fmt.Errorf("handlers: %w", err)
	}
	return s.routes(), nil
}

func newServer(cfg Config) (*server, error) {
	if cfg.Store == nil || cfg.Planner == nil || cfg.Library == nil || cfg.Static == nil || cfg.Log == nil {
		return nil, errors.New("config: Store, Planner, Library, Static and Log are all needed")
	}
	set, err := views.Load()
	if err != nil {
		return nil, err
	}
	files, err := newAssets(cfg.Static)
	if err != nil {
		return nil, err
	}
	library, err := newShelf(context.Background(), cfg.Library, cfg.Store)
	if err != nil {
		return nil, err
	}
	if cfg.Heartbeat <= 0 {
		cfg.Heartbeat = 10 * time.Second
	}
	if cfg.WallClock == nil {
		cfg.WallClock = time.Now
	}
	s := &server{
		store: cfg.Store, planner: cfg.Planner, library: library, log: cfg.Log,
		views: set, hub: newHub(cfg.Heartbeat), assets: files, missing: cfg.Missing,
		stopping: cfg.Stopping, wallClock: cfg.WallClock, developing: make(chan struct{}, 1),
		protection: http.NewCrossOriginProtection(), hosts: newHosts(cfg.Hosts), pace: newPace(cfg.Limits), trust: cfg.Trust,
		backups: cfg.Backups,
	}
	if cfg.Measures == nil {
		cfg.Measures = prometheus.NewRegistry()
	}
	if s.measures, err = newMeasures(cfg.Measures, s.hub.streams); err != nil {
		return nil, err
	}
	cfg.Store.OnChange(s.hub.tell)
	cfg.Planner.OnPromises(func() { s.hub.tell(models.Change{Kind: models.ChangedPromises}) })
	s.readings = newReadings(cfg.Store, s.hub)
	s.drawing = newDrawing()
	return s, nil
}

// routes is the one list of what the server answers.
func (s *server) routes() http.Handler {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.RedirectTrailingSlash = false // it would answer before anything below was asked
	e.Use(s.recovered, s.measured, s.timed, secured, s.ownName, s.ownSite, s.paced, s.plainDoor, s.limited, s.arrive, tablet, s.admitted)

	e.GET("/healthz", s.healthz)
	e.GET("/readyz", s.readyz)
	e.GET("/static/*name", s.static)
	e.GET("/sw.js", s.serviceWorker)
	e.GET(livePath, s.live)

	e.GET("/", s.bench)
	e.GET("/bench", s.inTurn, s.benchLive)
	e.GET("/bench/ahead", s.inTurn, s.ahead)
	e.POST("/who", s.who)
	e.POST("/tap", s.tap)
	e.POST("/taps/:id", s.answerTap)
	e.POST("/tablet", s.saveTablet)
	e.GET("/steps/:id", s.step)
	e.GET("/steps/:id/trouble", s.trouble)
	e.GET("/steps/:id/trouble/told", s.troubleTold)
	e.GET("/steps/:id/note", s.note)
	e.POST(notesPath, s.addNote)
	e.POST("/steps/:id/notes/remove", s.removeNote)
	e.GET("/photos/:name", s.photo)
	e.POST("/ticks", s.tick)
	e.POST("/steps/:id/pin", s.pinStep)
	e.POST("/steps/:id/unpin", s.unpinStep)
	e.GET("/gates", s.gates)
	e.GET("/gates/resting", s.inTurn, s.resting)
	e.GET("/week", s.week)

	e.GET("/commissions", s.commissions)
	e.GET("/commissions/new", s.patterns)
	e.GET("/commissions/new/:pattern", s.newDraft)
	e.POST("/commissions/new/:pattern/preview", s.previewDraft)
	e.POST("/commissions/new/:pattern", s.take)
	e.GET("/commissions/:id/add-piece", s.addPiecePatterns)
	e.GET("/commissions/:id/add-piece/:pattern", s.newDraft)
	e.POST("/commissions/:id/add-piece/:pattern/preview", s.previewDraft)
	e.POST("/commissions/:id/add-piece/:pattern", s.take)
	e.GET("/commissions/:id", s.commission)
	e.POST("/commissions/:id", s.saveCommission)
	e.POST("/commissions/:id/state", s.moveCommission)

	e.GET("/commissions/:id/keep", s.keepForm)
	e.POST("/commissions/:id/keep", s.keepPiece)
	s.editRoutes(e)
	s.stockRoutes(e)
	s.stationRoutes(e)
	s.steerRoutes(e)
	s.feedRoutes(e)
	s.sheetRoutes(e)
	s.apiRoutes(e)
	s.trustRoutes(e)
	s.doorRoutes(e)
	s.accessRoutes(e)

	e.GET(ownPatternsPath, s.ownPatterns)
	e.POST(ownPatternsPath, s.importPattern)
	e.GET("/patterns/:key/file", s.exportPattern)
	e.POST("/patterns/:key/remove", s.removePattern)

	e.GET("/shop", s.shop)
	e.POST("/shop", s.saveShop)
	e.POST("/shop/language", s.saveTongue)
	e.POST("/shop/hours", s.saveHours)
	e.POST("/shop/days-off", s.saveDayOff)
	e.POST("/shop/days-off/:id/remove", s.removeDayOff)
	for _, path := range []string{"", "/:id"} {
		e.POST("/shop/people"+path, s.savePerson)
		e.POST("/shop/stations"+path, s.saveStation)
		e.POST("/shop/clamps"+path, s.saveClamps)
		e.POST("/shop/glues"+path, s.saveGlue)
		e.POST("/shop/finishes"+path, s.saveFinish)
		e.POST("/shop/zones"+path, s.saveZone)
	}

	e.NoRoute(s.notFound)
	e.NoMethod(s.notAllowed)
	return e
}
