package photo

import (
	"bytes"
	"encoding/binary"
)

// orientation reads how a camera was held from what it wrote beside the picture:
// 1 to 8 as in EXIF (CIPA DC-008, tag 0x0112), 1 where nothing is said.
func orientation(data []byte, format string) int {
	switch format {
	case "jpeg":
		return inTIFF(exifOfJPEG(data))
	case "png":
		return inTIFF(exifOfPNG(data))
	case "webp":
		return inTIFF(exifOfWebP(data))
	}
	return 1
}

var exifHead = []byte("Exif\x00\x00")

// exifOfJPEG finds the APP1 segment (marker FF E1) that begins with Exif.
func exifOfJPEG(data []byte) []byte {
	for at := 2; at+4 <= len(data) && data[at] == 0xff; {
		marker := data[at+1]
		if marker == 0xff { // a filling byte
			at++
			continue
		}
		if marker == 0xda || marker == 0xd9 { // the picture begins, or the file ends
			return nil
		}
		length := int(binary.BigEndian.Uint16(data[at+2:]))
		if length < 2 || at+2+length > len(data) {
			return nil
		}
		if body := data[at+4 : at+2+length]; marker == 0xe1 && bytes.HasPrefix(body, exifHead) {
			return body[len(exifHead):]
		}
		at += 2 + length
	}
	return nil
}

// exifOfPNG finds the chunk eXIf, which holds the TIFF structure alone (PNG
// specification, third edition).
func exifOfPNG(data []byte) []byte {
	for at := 8; at+12 <= len(data); {
		length := int64(binary.BigEndian.Uint32(data[at:]))
		if int64(at)+12+length > int64(len(data)) {
			return nil
		}
		if string(data[at+4:at+8]) == "eXIf" {
			return data[at+8 : at+8+int(length)]
		}
		at += 12 + int(length)
	}
	return nil
}

// exifOfWebP finds the chunk EXIF of a RIFF file (RFC 9649). Some writers begin it
// as a JPEG's segment begins.
func exifOfWebP(data []byte) []byte {
	for at := 12; at+8 <= len(data); {
		length := int64(binary.LittleEndian.Uint32(data[at+4:]))
		if int64(at)+8+length > int64(len(data)) {
			return nil
		}
		if string(data[at:at+4]) == "EXIF" {
			return bytes.TrimPrefix(data[at+8:at+8+int(length)], exifHead)
		}
		at += 8 + int(length+length%2)
	}
	return nil
}

// inTIFF reads the orientation from the first directory of a TIFF structure.
func inTIFF(data []byte) int {
	if len(data) < 8 {
		return 1
	}
	var order binary.ByteOrder
	switch string(data[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 1
	}
	first := int64(order.Uint32(data[4:]))
	if first+2 > int64(len(data)) {
		return 1
	}
	entries := data[first:]
	const entry = 12
	for n, at := int(order.Uint16(entries)), 2; n > 0 && at+entry <= len(entries); n, at = n-1, at+entry {
		const orientationTag, short = 0x0112, 3
		if order.Uint16(entries[at:]) == orientationTag && order.Uint16(entries[at+2:]) == short {
			if o := int(order.Uint16(entries[at+8:])); o >= 1 && o <= 8 {
				return o
			}
			return 1
		}
	}
	return 1
}
