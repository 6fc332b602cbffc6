// Faceside on the tablet: what plain HTML cannot do. Every screen works without it.
"use strict";

// newID is a version 4 UUID. crypto.randomUUID is missing where the page comes
// over plain HTTP from another machine, so the bytes are drawn by hand there.
function newID() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

// stamp gives every form of taps below root an id of this tablet's own. A form
// keeps its id until it is drawn anew, so a double tap is one tap.
function stamp(root) {
  for (const field of root.querySelectorAll("input[name=tap_id]")) field.value = newID();
}

// A tap says when it was made by the tablet's own clock.
document.addEventListener("submit", (e) => {
  const said = e.target.querySelector?.("input[name=said_at]");
  if (said) said.value = new Date().toISOString();
}, true);

document.addEventListener("htmx:after:swap", () => stamp(document));

// The stream of changes: the regions marked hx-trigger="shop-changed from:body"
// fetch themselves anew; here only its loss is shown.
const away = document.getElementById("away");
document.addEventListener("htmx:sse:after:connection", () => { away.hidden = true; });
for (const name of ["htmx:sse:error", "htmx:sse:close"]) {
  document.addEventListener(name, () => { away.hidden = false; });
}

stamp(document);
