package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"faceside/models"
	_ "faceside/models/testrig/sameseed"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	red  = color.RGBA{200, 30, 30, 255}
	blue = color.RGBA{30, 30, 200, 255}
)

// halves is red at the left and blue at the right, with a green corner at the
// upper left.
func halves(width, height int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			switch {
			case x < width/4 && y < height/4:
				m.SetRGBA(x, y, color.RGBA{20, 180, 20, 255})
			case x < width/2:
				m.SetRGBA(x, y, red)
			default:
				m.SetRGBA(x, y, blue)
			}
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, m, &jpeg.Options{Quality: 95}))
	return out.Bytes()
}

func asPNG(t testing.TB, m image.Image) []byte {
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, m))
	return out.Bytes()
}

// tiff is what a camera writes: how it was held, and where.
func tiff(order binary.ByteOrder, orientation uint16) []byte {
	out := []byte("II*\x00")
	if order == binary.BigEndian {
		out = []byte("MM\x00*")
	}
	add := func(v any) {
		var b bytes.Buffer
		_ = binary.Write(&b, order, v) // into memory
		out = append(out, b.Bytes()...)
	}
	add(uint32(8))
	add(uint16(2))
	for _, entry := range [][3]uint16{{0x010f, 2, 0}, {0x0112, 3, orientation}} {
		add(entry[0])
		add(entry[1])
		add(uint32(1))
		add(entry[2])
		add(uint16(0))
	}
	add(uint32(0))
	return append(out, "GPSLatitude 47.5"...)
}

func withExif(data, exif []byte) []byte {
	body := append([]byte("Exif\x00\x00"), exif...)
	segment := append([]byte{0xff, 0xe1, byte((len(body) + 2) >> 8), byte(len(body) + 2)}, body...)
	return append(append(append([]byte{}, data[:2]...), segment...), data[2:]...)
}

func chunk(name string, body []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, name...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// corner says which corner of a kept photo is green.
func corner(t *testing.T, p *models.Photo) string {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(p.JPEG))
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, p.Width, p.Height), m.Bounds())
	for name, at := range map[string]image.Point{
		"upper left": {4, 4}, "upper right": {p.Width - 5, 4}, "lower left": {4, p.Height - 5}, "lower right": {p.Width - 5, p.Height - 5},
	} {
		if r, g, b, _ := m.At(at.X, at.Y).RGBA(); g > 2*r && g > 2*b {
			return name
		}
	}
	return "none"
}

func TestAPhotoIsPutUpright(t *testing.T) {
	for orientation, want := range map[uint16]string{
		0: "upper left", 1: "upper left", 2: "upper right", 3: "lower right", 4: "lower left",
		5: "upper left", 6: "upper right", 7: "lower right", 8: "lower left", 9: "upper left",
	} {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			exif := tiff(order, orientation)
			plain := asPNG(t, halves(80, 60))
			for format, data := range map[string][]byte{
				"jpeg": withExif(asJPEG(t, halves(80, 60)), exif),
				"png":  append(append(append([]byte{}, plain[:33]...), chunk("eXIf", exif)...), plain[33:]...),
			} {
				p, err := Read(data)
				require.NoError(t, err, "%s %d", format, orientation)
				assert.Equal(t, want, corner(t, p), "%s %d %s", format, orientation, order)
				if orientation >= 5 && orientation <= 8 {
					assert.Equal(t, []int{60, 80}, []int{p.Width, p.Height})
				}
				assert.NotContains(t, string(p.JPEG), "Exif", "nothing is kept of what the camera wrote")
				assert.NotContains(t, string(p.JPEG), "GPS")
			}
		}
	}
}

func TestAPhotoIsMadeSmall(t *testing.T) {
	for name, c := range map[string]struct{ width, height, wantWidth, wantHeight int }{
		"lying":     {4000, 3000, 1600, 1200},
		"standing":  {1500, 4500, 533, 1600},
		"small":     {640, 480, 640, 480},
		"one pixel": {1, 1, 1, 1},
		"a line":    {9000, 2, 1600, 1},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Read(asJPEG(t, halves(c.width, c.height)))
			require.NoError(t, err)
			assert.Equal(t, []int{c.wantWidth, c.wantHeight}, []int{p.Width, p.Height})
			assert.Len(t, p.Hash, 64)
		})
	}
}

func TestTheSamePhotoHasTheSameHash(t *testing.T) {
	data := asJPEG(t, halves(300, 200))
	first, err := Read(data)
	require.NoError(t, err)
	again, err := Read(withExif(data, tiff(binary.LittleEndian, 1)))
	require.NoError(t, err)
	assert.Equal(t, first.Hash, again.Hash, "what the camera wrote beside it makes no other photo")
	other, err := Read(asJPEG(t, halves(301, 200)))
	require.NoError(t, err)
	assert.NotEqual(t, first.Hash, other.Hash)
}

// webpPixels is a WebP of 4 by 2 red pixels, from a browser's canvas.
var webpPixels = []byte("\x52\x49\x46\x46\x3e\x00\x00\x00\x57\x45\x42\x50\x56\x50\x38\x20\x32\x00\x00\x00\xd0\x01\x00\x9d\x01\x2a\x04\x00\x02\x00\x00\xc0\x12\x25\xa0\x02\x74\xba\x01\xf8\x00\x03\xb0\x00\xfe\xf9\x7d\xbf\xff\x4d\x23\xc6\x91\xe3\x48\xf9\x8b\x7f\xfb\xa0\x4f\xdd\x02\x7e\xe8\x13\xff\x73\x68\x00")

func TestWebPIsRead(t *testing.T) {
	p, err := Read(webpPixels)
	require.NoError(t, err)
	assert.Equal(t, []int{4, 2}, []int{p.Width, p.Height})
	odd := append(append(append([]byte{}, webpPixels[:12]...), "ABCD\x01\x00\x00\x00x\x00EXIF"...), binary.LittleEndian.AppendUint32(nil, uint32(len(tiff(binary.BigEndian, 6))))...)
	assert.Equal(t, 6, orientation(append(odd, tiff(binary.BigEndian, 6)...), "webp"), "a chunk of odd length is filled up")
}

// saysSize is a PNG of a few bytes that says it has so many pixels.
func saysSize(width, height uint32) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height)
	head = append(head, 8, 2, 0, 0, 0)
	return append(append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", head)...), chunk("IDAT", []byte{0x78, 0x9c, 1, 0, 0, 0xff, 0xff})...)
}

func TestPhotosThatAreRefused(t *testing.T) {
	whole := asJPEG(t, halves(400, 300))
	for name, c := range map[string]struct {
		data []byte
		say  string
	}{
		"nothing":       {nil, "The file is empty"},
		"a text":        {[]byte("Buy more clamps.\n"), "The file of 17 bytes is not a picture that can be read here; JPEG, PNG and WebP can."},
		"a script":      {[]byte("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"), "is not a picture"},
		"HEIC":          {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "(heic, 24 bytes)"},
		"broken off":    {whole[:len(whole)/2], "cannot be read to its end"},
		"a head alone":  {whole[:200], "is not a picture"},
		"too wide":      {saysSize(60000, 60000), "60000 × 60000 pixels, that is 3600 million; at most 50 million are read"},
		"just too many": {saysSize(10000, 5001), "at most 50 million are read"},
		"no data":       {saysSize(100, 100), "cannot be read to its end"},
		"too large":     {bytes.Repeat([]byte{0xff}, 25<<20), "The photo is 25 MB; at most 20 MB are taken."},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(c.data)
			require.Error(t, err)
			assert.Equal(t, models.Invalid, models.CodeOf(err))
			assert.Contains(t, err.Error(), c.say)
			assert.False(t, strings.Contains(err.Error(), "%!"), err.Error())
		})
	}
}

func TestUprightMovesEveryPixelOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width, height := rapid.IntRange(1, 9).Draw(t, "width"), rapid.IntRange(1, 9).Draw(t, "height")
		m := image.NewRGBA(image.Rect(0, 0, width, height))
		for i := range width * height {
			m.SetRGBA(i%width, i/width, color.RGBA{uint8(i), 7, 9, 255})
		}
		back := map[int]int{6: 8, 8: 6}
		o := rapid.IntRange(1, 8).Draw(t, "orientation")
		undo, ok := back[o]
		if !ok {
			undo = o // every other one undoes itself
		}
		again := upright(upright(m, o), undo)
		if again.Rect != m.Rect || !bytes.Equal(again.Pix, m.Pix) {
			t.Fatalf("orientation %d of %d × %d is not undone by %d", o, width, height, undo)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add(asJPEG(f, halves(12, 8)))
	f.Add(withExif(asJPEG(f, halves(12, 8)), tiff(binary.BigEndian, 6)))
	f.Add(asPNG(f, halves(12, 8)))
	f.Add(webpPixels)
	f.Add(saysSize(60000, 60000))
	f.Fuzz(func(t *testing.T, data []byte) {
		if size, _, err := image.DecodeConfig(bytes.NewReader(data)); err == nil && size.Width*size.Height > 1<<20 {
			t.Skip("larger pictures only take longer")
		}
		for _, format := range []string{"jpeg", "png", "webp"} {
			if o := orientation(data, format); o < 1 || o > 8 {
				t.Fatalf("orientation %d", o)
			}
		}
		p, err := Read(data)
		if err != nil {
			if models.CodeOf(err) != models.Invalid {
				t.Fatalf("no refusal but %v", err)
			}
			return
		}
		if p.Width > MostSide || p.Height > MostSide || p.Width < 1 || p.Height < 1 {
			t.Fatalf("%d × %d", p.Width, p.Height)
		}
	})
}
