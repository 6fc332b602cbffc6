package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // read
	"strconv"

	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp" // read

	"faceside/models"
	"faceside/models/phrase"
)

// The limits of what is read, and the size of what is kept.
const (
	MostBytes  = 20 << 20   // of the file
	MostPixels = 50_000_000 // of the picture, before it is decoded: a small file can say it has any number
	MostSide   = 1600       // of what is kept: a hairline crack can still be seen, and a thousand photos fit a backup
	quality    = 82
)

// Read makes a photo of a JPEG, PNG or WebP file. The sentence of a refusal says
// what is wrong with it, and its size and the limit.
func Read(data []byte) (*models.Photo, error) {
	if len(data) > MostBytes {
		return nil, TooLarge(int64(len(data)))
	}
	size, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, unreadable(data)
	}
	if int64(size.Width)*int64(size.Height) > MostPixels {
		return nil, refuse(fmt.Sprintf("%d × %d", size.Width, size.Height), "The picture has %d × %d pixels, that is %d million; at most %d million are read. Choose a smaller size in the camera.",
			size.Width, size.Height, int((int64(size.Width)*int64(size.Height)+500_000)/1_000_000), MostPixels/1_000_000)
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, refuse(format, "The picture (%s, %s) cannot be read to its end: it came damaged or broken off. Take it again.", format, models.Bytes(int64(len(data))))
	}
	return keep(upright(small(picture), orientation(data, format)))
}

// unreadable says what the file is, as far as that helps.
func unreadable(data []byte) error {
	if len(data) == 0 {
		return refuse("", "The file is empty: there is no picture in it.")
	}
	if len(data) >= 12 && string(data[4:8]) == "ftyp" { // ISO base media file format: HEIC, AVIF, video
		return refuse(string(data[8:12]), "The file (%s, %s) is a picture or video in a form that cannot be read here; JPEG, PNG and WebP can. Set the camera to JPEG.", string(printable(data[8:12])), models.Bytes(int64(len(data))))
	}
	return refuse("", "The file of %s is not a picture that can be read here; JPEG, PNG and WebP can.", models.Bytes(int64(len(data))))
}

// printable keeps letters and digits.
func printable(name []byte) []byte {
	return bytes.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return -1
	}, name)
}

// TooLarge refuses a file of so many bytes.
func TooLarge(bytes int64) error {
	return refuse(strconv.FormatInt(bytes, 10), "The photo is %s; at most %s are taken. Choose a smaller size in the camera.", models.Bytes(bytes), models.Bytes(MostBytes))
}

func refuse(value, format string, args ...any) error {
	return &models.Error{Code: models.Invalid, Field: "photo", Value: value, Sentence: phrase.Of(format, args...)}
}

// small makes a picture no larger than is kept, on white where it is clear.
func small(from image.Image) *image.RGBA {
	b := from.Bounds()
	width, height := b.Dx(), b.Dy()
	if most := max(width, height); most > MostSide {
		width, height = max(1, width*MostSide/most), max(1, height*MostSide/most)
	}
	to := image.NewRGBA(image.Rect(0, 0, width, height))
	draw.Draw(to, to.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	if width == b.Dx() && height == b.Dy() {
		draw.Draw(to, to.Bounds(), from, b.Min, draw.Over)
	} else {
		draw.CatmullRom.Scale(to, to.Bounds(), from, b, draw.Over, nil)
	}
	return to
}

// upright turns and mirrors a picture as its orientation says: 1 to 8, as in EXIF.
func upright(from *image.RGBA, orientation int) *image.RGBA {
	width, height := from.Bounds().Dx(), from.Bounds().Dy()
	if orientation < 2 || orientation > 8 {
		return from
	}
	across, down := width, height
	if orientation >= 5 {
		across, down = height, width
	}
	to := image.NewRGBA(image.Rect(0, 0, across, down))
	for y := range down {
		for x := range across {
			var fx, fy int
			switch orientation {
			case 2:
				fx, fy = width-1-x, y
			case 3:
				fx, fy = width-1-x, height-1-y
			case 4:
				fx, fy = x, height-1-y
			case 5:
				fx, fy = y, x
			case 6:
				fx, fy = y, height-1-x
			case 7:
				fx, fy = width-1-y, height-1-x
			case 8:
				fx, fy = width-1-y, x
			}
			copy(to.Pix[to.PixOffset(x, y):][:4], from.Pix[from.PixOffset(fx, fy):][:4])
		}
	}
	return to
}

// keep writes the picture as it is stored.
func keep(picture *image.RGBA) (*models.Photo, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("write the photo: %w", err)
	}
	sum := sha256.Sum256(out.Bytes())
	return &models.Photo{Hash: hex.EncodeToString(sum[:]), Width: picture.Rect.Dx(), Height: picture.Rect.Dy(), JPEG: out.Bytes()}, nil
}
