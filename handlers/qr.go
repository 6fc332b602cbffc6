package handlers

import (
	"fmt"
	"html/template"

	"github.com/yeqown/go-qrcode/v2"

	"faceside/views"
)

// qrCode draws an address as a code that a camera reads; title is for those who
// cannot see it.
func qrCode(address, title string) (template.HTML, error) {
	code, err := qrcode.NewWith(address, qrcode.WithErrorCorrectionLevel(qrcode.ErrorCorrectionMedium))
	if err != nil {
		return "", fmt.Errorf("draw the code of an address: %w", err)
	}
	var taken bitmap
	if err := code.Save(&taken); err != nil {
		return "", fmt.Errorf("draw the code of an address: %w", err)
	}
	return views.Code{Title: title, Dark: taken}.SVG(), nil
}

// bitmap keeps what the library would write to a picture.
type bitmap [][]bool

func (b *bitmap) Write(m qrcode.Matrix) error {
	*b = m.Bitmap()
	return nil
}

func (*bitmap) Close() error { return nil }
