package handlers

import (
	"html/template"
	"image/color"

	"github.com/boombuler/barcode/qr"

	"faceside/views"
)

// qrCode draws an address as a code that a camera reads; title is for those who
// cannot see it.
func qrCode(address, title string) (template.HTML, error) {
	code, err := qr.Encode(address, qr.M, qr.Auto)
	if err != nil {
		return "", refused("address", address, "The address has %d characters, which is more than a code for a camera holds.", len(address))
	}
	squares := code.Bounds()
	dark := make([][]bool, squares.Dy())
	for y := range dark {
		dark[y] = make([]bool, squares.Dx())
		for x := range dark[y] {
			dark[y][x] = code.At(x, y) == color.Black
		}
	}
	return views.Code{Title: title, Dark: dark}.SVG(), nil
}
