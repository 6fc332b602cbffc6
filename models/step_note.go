package models

import (
	"context"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"faceside/models/phrase"
)

// StepNote is what a maker wrote down or photographed at a step.
type StepNote struct {
	ID       string // made with the form, a UUID; the same id twice is one note
	StepID   ID
	PersonID ID
	Tablet   string
	Text     string
	Photo    *string // hash of the photo, nil for none
	At       time.Time
}

// Photo is a picture as it is kept: a JPEG without anything else the camera wrote.
type Photo struct {
	Hash   string `gorm:"primaryKey"` // SHA-256 of JPEG in hex
	Width  int    // pixels
	Height int
	JPEG   []byte `gorm:"column:jpeg"`
}

// stepNoteLimit is the longest note, in characters.
const stepNoteLimit = 2000

// stepNotesMost is how many notes a step can have.
const stepNotesMost = 200

// PhotosUsual is how many bytes the photos of a shop may take together, unless it says
// otherwise: those of some thousands, as they are made small. Each backup holds them all.
const PhotosUsual = 1 << 30

// LimitPhotos says how many bytes the photos may take together. What is kept stays.
func (s *Store) LimitPhotos(bytes int64) { s.photosMost.Store(bytes) }

// AddNote keeps a note with its photo, nil for none. The same photo at the same
// step is one: it keeps its first note, and a new text is added to it.
func (s *Store) AddNote(ctx context.Context, n StepNote, photo *Photo) error {
	n.Text = strings.TrimSpace(strings.ReplaceAll(n.Text, "\r\n", "\n"))
	if err := n.check(photo); err != nil {
		return err
	}
	return s.write(ctx, "keep the note", func(tx *gorm.DB) (*Change, error) {
		known, err := n.known(tx)
		if known || err != nil {
			return nil, err
		}
		if err := n.fits(tx); err != nil {
			return nil, err
		}
		n.At = s.Now()
		if photo != nil {
			if err := s.storePhoto(tx, photo); err != nil {
				return nil, err
			}
			n.Photo = &photo.Hash
			if added, err := n.addToSame(tx); added || err != nil {
				return &Change{Kind: ChangedNote, Step: n.StepID}, err
			}
		}
		if err := tx.Create(&n).Error; err != nil {
			return nil, fmt.Errorf("store note %s: %w", n.ID, err)
		}
		return &Change{Kind: ChangedNote, Step: n.StepID}, nil
	})
}

func (n *StepNote) check(photo *Photo) error {
	switch {
	case n.ID == "":
		return invalid("note_id", n.ID, "The note has no id of its own: load the page again.")
	case n.Text == "" && photo == nil:
		return invalid("text", n.Text, "There is nothing to keep: take a photo, or write something.")
	}
	return first(textAtMost("note_id", n.ID, tapIDLimit), textAtMost("tablet", n.Tablet, tabletLimit), textAtMost("text", n.Text, stepNoteLimit))
}

// known tells whether this note came before.
func (n *StepNote) known(tx *gorm.DB) (bool, error) {
	var same int64
	if err := tx.Model(&StepNote{}).Where("id = ?", n.ID).Count(&same).Error; err != nil {
		return false, fmt.Errorf("look for note %s: %w", n.ID, err)
	}
	return same > 0, nil
}

func (n *StepNote) fits(tx *gorm.DB) error {
	step, err := get[Step](tx, "step", n.StepID)
	if err != nil {
		return err
	}
	if _, err := get[Person](tx, "person", n.PersonID); err != nil {
		return err
	}
	var there int64
	if err := tx.Model(&StepNote{}).Where("step_id = ?", n.StepID).Count(&there).Error; err != nil {
		return fmt.Errorf("count the notes of step %d: %w", n.StepID, err)
	}
	if there >= stepNotesMost {
		return invalid("text", n.Text, "“%s” has %d notes already; take some away first.", step.Name, there)
	}
	return nil
}

// addToSame adds the text to the note that has this photo at this step, if one has.
func (n *StepNote) addToSame(tx *gorm.DB) (bool, error) {
	same, err := one[StepNote](tx.Where("step_id = ? AND photo = ?", n.StepID, n.Photo))
	if err != nil {
		return false, fmt.Errorf("look for the same photo: %w", err)
	}
	if same == nil {
		return false, nil
	}
	text := strings.TrimSpace(same.Text + "\n" + n.Text)
	if err := textAtMost("text", text, stepNoteLimit); err != nil {
		return true, err
	}
	if err := tx.Model(&StepNote{}).Where("id = ?", same.ID).Update("text", text).Error; err != nil {
		return true, fmt.Errorf("add to note %s: %w", same.ID, err)
	}
	return true, nil
}

// storePhoto keeps a photo; one that is kept already stays as it is.
func (s *Store) storePhoto(tx *gorm.DB, photo *Photo) error {
	var others int64 // SQLite reads no photo for its length
	if err := tx.Model(&Photo{}).Where("hash <> ?", photo.Hash).Select("coalesce(sum(length(jpeg)), 0)").Scan(&others).Error; err != nil {
		return fmt.Errorf("add up the photos: %w", err)
	}
	if bytes, most := int64(len(photo.JPEG)), s.photosMost.Load(); others+bytes > most {
		return &Error{Code: NoRoom, Field: "photo", Value: fmt.Sprint(bytes),
			Sentence: phrase.Of("The photo would take %[1]s, and the photos that are kept take %[2]s of the %[3]s that they may take together. Take notes with photos away that nobody needs any more.", Bytes(bytes), Bytes(others), Bytes(most))}
	}
	if err := tx.Clauses(clause.OnConflict{DoNothing: true}).Create(photo).Error; err != nil {
		return fmt.Errorf("store photo %s: %w", photo.Hash, err)
	}
	return nil
}

// Bytes says a number of bytes: "640 kB", "3.2 MB", "80 MB".
func Bytes(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d bytes", n)
	case n < 1<<20:
		return fmt.Sprintf("%d kB", (n+512)>>10)
	case n < 10<<20 && n%(1<<20) != 0:
		return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
	}
	return fmt.Sprintf("%d MB", (n+(1<<20)-1)>>20)
}

// RemoveNote takes a note of a step away, and its photo if no other note has it.
func (s *Store) RemoveNote(ctx context.Context, step ID, id string) error {
	return s.write(ctx, "take the note away", func(tx *gorm.DB) (*Change, error) {
		gone := tx.Where("id = ? AND step_id = ?", id, step).Delete(&StepNote{})
		if gone.Error != nil {
			return nil, fmt.Errorf("take note %s away: %w", id, gone.Error)
		}
		if gone.RowsAffected == 0 {
			return nil, &Error{Code: NotFound, Field: "note", Value: id, Sentence: phrase.Of("The note is not there any more.")}
		}
		err := tx.Where("hash NOT IN (SELECT photo FROM step_notes WHERE photo IS NOT NULL)").Delete(&Photo{}).Error
		if err != nil {
			return nil, fmt.Errorf("take away photos that no note has: %w", err)
		}
		return &Change{Kind: ChangedNote}, nil
	})
}

// NoteOfStep is a note with the size of its photo.
type NoteOfStep struct {
	StepNote      `gorm:"embedded"`
	Width, Height int // of the photo; 0 without one
}

// NotesOf reads the notes of each of the steps, the newest first.
func (s *Store) NotesOf(ctx context.Context, steps ...ID) (map[ID][]NoteOfStep, error) {
	all := map[ID][]NoteOfStep{}
	err := s.read(ctx, "read the notes", func(tx *gorm.DB) error {
		var notes []NoteOfStep
		err := tx.Table("step_notes n").Select("n.*, coalesce(p.width, 0) AS width, coalesce(p.height, 0) AS height").
			Joins("LEFT JOIN photos p ON p.hash = n.photo").Where("n.step_id IN ?", steps).Order("n.at DESC, n.rowid DESC").Find(&notes).Error
		for _, n := range notes {
			all[n.StepID] = append(all[n.StepID], n)
		}
		return err
	})
	return all, err
}

// PhotoOf reads a photo by its hash.
func (s *Store) PhotoOf(ctx context.Context, hash string) (*Photo, error) {
	var photo *Photo
	err := s.read(ctx, "read the photo", func(tx *gorm.DB) (err error) {
		photo, err = one[Photo](tx.Where("hash = ?", hash))
		if err == nil && photo == nil {
			err = &Error{Code: NotFound, Field: "photo", Value: hash, Sentence: phrase.Of("The photo is not there any more.")}
		}
		return err
	})
	return photo, err
}

// noNotes refuses a step that a maker wrote something down at.
func (e *editor) noNotes(s *Step) error {
	var notes int64
	if err := e.tx.Model(&StepNote{}).Where("step_id = ?", s.ID).Count(&notes).Error; err != nil {
		return fmt.Errorf("look for notes of step %d: %w", s.ID, err)
	}
	if notes > 0 {
		return conflict("step", s.Name, "“%s” has notes or photos: take those away first, or leave the step in.", s.Name)
	}
	return nil
}
